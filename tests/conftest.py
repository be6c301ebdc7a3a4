"""What all tests share: marks by folder, long tests on demand, no network, the versions in use."""

from __future__ import annotations

import importlib.util
import os
import platform
import socket
import sys
from collections.abc import Generator, Iterator
from importlib.metadata import version
from pathlib import Path

import hypothesis
import pytest

from tests import searching

TESTS = Path(__file__).resolve().parent
SOURCE = TESTS.parent / "src"
SOME_S = 10.0
"""What a test that is marked long takes, where its mark says nothing."""
LOOPBACK = ("127.", "::1", "localhost")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="also run the tests marked long")


def pytest_configure(config: pytest.Config) -> None:
    if importlib.util.find_spec("backreef") is None:
        sys.path.insert(0, str(SOURCE))
        os.environ["PYTHONPATH"] = os.pathsep.join(filter(None, (str(SOURCE), os.environ.get("PYTHONPATH"))))
    # The browser of some tests keeps an event loop in this thread; the store would refuse to work beside it.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    # The same examples on every run, so that a failure can be repeated; --long looks for new ones.
    hypothesis.settings.register_profile("repeatable", deadline=None, derandomize=True, database=None)
    hypothesis.settings.register_profile(
        "searching", deadline=None, max_examples=searching.WITH_LONG, print_blob=True
    )
    hypothesis.settings.load_profile("searching" if config.getoption("--long") else "repeatable")
    if config.getoption("--long") and hasattr(config.option, "maxschedchunk"):
        config.option.maxschedchunk = (
            1  # else one worker gets all that begins the row, and that are the longest
        )


def pytest_report_header() -> str:
    libraries = ", ".join(f"{name} {version(name)}" for name in ("numpy", "llvmlite"))
    return (
        f"backreef on Python {platform.python_version()}, {libraries}; {processor()}, {os.cpu_count()} cores"
    )


def processor() -> str:
    """Name the processor as the system does, for timings and last digits depend on it."""
    described = Path("/proc/cpuinfo")
    if described.exists():
        for line in described.read_text(encoding="utf-8", errors="replace").splitlines():
            if line.startswith("model name"):
                return line.partition(":")[2].strip()
    return platform.processor() or platform.machine()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark each test after its folder, and leave out the long ones unless they were asked for."""
    for item in items:
        folder = item.path.relative_to(TESTS).parts[0]
        if f"{folder}:" in " ".join(config.getini("markers")):
            item.add_marker(folder)
        if item.get_closest_marker("long") and not config.getoption("--long"):
            item.add_marker(pytest.mark.skip(reason="long; python3 go.py test --long runs it"))
    if config.getoption("--long"):
        items.sort(key=takes_s, reverse=True)


def takes_s(item: pytest.Item) -> float:
    """About how long a test takes, by its mark; what takes longest begins first, so that no worker waits."""
    long = item.get_closest_marker("long")
    return float(long.args[0] if long.args else SOME_S) if long else 0.0


@pytest.hookimpl(wrapper=True)
def pytest_pyfunc_call(pyfuncitem: pytest.Function) -> Generator[None, object, object]:
    """Let a search of `--long` end in time, and keep how far it came."""
    searching.ended.clear()
    try:
        if not hypothesis.is_hypothesis_test(pyfuncitem.obj):
            return (yield)
        said = pyfuncitem.get_closest_marker("search_s")
        longest_s = said.args[0] if said and pyfuncitem.config.getoption("--long") else None
        with searching.bounded(pyfuncitem.obj, longest_s):
            yield
        return True
    finally:
        pyfuncitem.user_properties.extend(("search", one.words()) for one in searching.ended)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Say how far each search of `--long` came."""
    if not config.getoption("--long"):
        return
    came = [
        f"{report.nodeid}: {value}"
        for reports in (terminalreporter.getreports("passed"), terminalreporter.getreports("failed"))
        for report in reports
        for name, value in report.user_properties
        if name == "search" and report.when == "call"
    ]
    if came:
        terminalreporter.write_sep("=", "how far searches came")
        for line in sorted(came):
            terminalreporter.write_line(line)


@pytest.fixture(scope="session", autouse=True)
def no_network() -> Iterator[None]:
    """Refuse every connection that leaves this machine."""
    connect = socket.socket.connect

    def guarded(self: socket.socket, address: tuple[str, int]) -> None:
        if self.family in (socket.AF_INET, socket.AF_INET6) and not address[0].startswith(LOOPBACK):
            raise RuntimeError(f"a test tried to reach {address[0]}; tests use no network")
        connect(self, address)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(socket.socket, "connect", guarded)
        yield
