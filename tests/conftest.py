"""What all tests share: marks by folder, long tests on demand, no network, the versions in use."""

from __future__ import annotations

import importlib.util
import os
import platform
import socket
import sys
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path

import hypothesis
import pytest

TESTS = Path(__file__).resolve().parent
SOURCE = TESTS.parent / "src"
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
    hypothesis.settings.register_profile("searching", deadline=None, max_examples=2000, print_blob=True)
    hypothesis.settings.load_profile("searching" if config.getoption("--long") else "repeatable")


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
