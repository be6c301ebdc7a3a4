"""The starter, tried in a small checkout with a stand-in for the installer, so that no network is needed."""

from __future__ import annotations

import ast
import os
import resource
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.house.repository import ROOT

pytestmark = pytest.mark.skipif(os.name == "nt", reason="the stand-in for the installer is a shell script")

PROGRAM = """\
import os, sys, time
def main():
    verb = sys.argv[1]
    if verb == "exit":
        return int(sys.argv[2])
    if verb == "sleep":
        print("asleep", flush=True)
        time.sleep(60)
    no_bytecode = os.environ.get("PYTHONDONTWRITEBYTECODE")
    print(os.getpid(), sys.argv[0], sys.argv[1:], os.getcwd(), no_bytecode, sep="|")
"""
REAL_PYTHON = getattr(sys, "_base_executable", sys.executable)


@dataclass(frozen=True)
class Checkout:
    """A folder with go.py in it and a stand-in for the installer on the path."""

    root: Path
    tools: Path

    def start(self, *arguments: str, **settings: str) -> subprocess.Popen[str]:
        environment = {
            "PATH": f"{self.tools}{os.pathsep}{os.defpath}",
            "HOME": str(self.root),
            "PYTHONDONTWRITEBYTECODE": "1",
            **settings,
        }
        return subprocess.Popen(
            [REAL_PYTHON, str(self.root / "go.py"), *arguments],
            cwd=self.root.parent,
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def run(self, *arguments: str, **settings: str) -> tuple[int, str, str]:
        process = self.start(*arguments, **settings)
        out, err = process.communicate(timeout=60)
        return process.returncode, out, err

    def behave(self, how: str) -> None:
        (self.tools / "behave.txt").write_text(how, encoding="utf-8")

    def calls(self) -> list[str]:
        path = self.tools / "calls.txt"
        return path.read_text(encoding="utf-8").splitlines() if path.exists() else []

    def wait_for_calls(self, count: int) -> None:
        deadline = time.monotonic() + 30
        while len(self.calls()) < count:
            assert time.monotonic() < deadline, "the installer was not called"
            time.sleep(0.02)


@pytest.fixture
def checkout(tmp_path: Path) -> Checkout:
    root, tools = tmp_path / "a reef", tmp_path / "tools"
    (root / "src" / "backreef" / "cli").mkdir(parents=True)
    (root / "src" / "backreef" / "cli" / "main.py").write_text(PROGRAM, encoding="utf-8")
    shutil.copy(ROOT / "go.py", root)
    for kind in ("", "-dev", "-uv"):
        (root / f"requirements{kind}.txt").write_text("# nothing\n", encoding="utf-8")
    tools.mkdir()
    shutil.copy(ROOT / "tests" / "house" / "fake_uv.py", tools)
    uv = tools / "uv"
    uv.write_text(f'#!/bin/sh\nexec "{REAL_PYTHON}" "{tools}/fake_uv.py" "$@"\n', encoding="utf-8")
    uv.chmod(0o755)
    return Checkout(root=root, tools=tools)


def test_it_prepares_once_and_is_quiet_afterwards(checkout: Checkout) -> None:
    code, _, err = checkout.run("demo")
    assert code == 0
    assert "Preparing .venv" in err
    assert [call.split()[0] for call in checkout.calls()] == ["venv", "pip"]

    code, _, err = checkout.run("demo")

    assert (code, err) == (0, "")
    assert len(checkout.calls()) == 2


def test_it_installs_by_hash_and_nothing_that_must_be_built(checkout: Checkout) -> None:
    checkout.run("demo")
    install = checkout.calls()[1]
    assert "--require-hashes" in install
    assert "--only-binary :all:" in install
    assert install.endswith("requirements.txt")


def test_it_becomes_the_program(checkout: Checkout) -> None:
    checkout.run("exit", "0")
    process = checkout.start("forecast", "my plan.toml", "--json", "-")
    out, _ = process.communicate(timeout=60)
    pid, name, arguments, folder, no_bytecode = out.strip().split("|")
    assert int(pid) == process.pid
    assert name == "python3 go.py"
    assert arguments == "['forecast', 'my plan.toml', '--json', '-']"
    assert folder == str(checkout.root.parent)
    assert no_bytecode == "None"


@pytest.mark.parametrize("code", [0, 1, 2, 3, 77])
def test_it_passes_the_exit_code_on(checkout: Checkout, code: int) -> None:
    assert checkout.run("exit", str(code))[0] == code


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_it_passes_signals_on(checkout: Checkout, number: signal.Signals) -> None:
    process = checkout.start("sleep")
    assert process.stdout is not None
    assert process.stdout.readline() == "asleep\n"
    process.send_signal(number)
    process.communicate(timeout=10)
    assert process.returncode == -number


def test_a_second_start_waits_for_the_first_and_says_so(checkout: Checkout) -> None:
    checkout.behave("hang")
    first = checkout.start("exit", "5")
    checkout.wait_for_calls(2)
    second = checkout.start("exit", "6")
    assert second.stderr is not None
    assert "waiting until it is done" in second.stderr.readline()

    checkout.behave("")

    _, first_err = first.communicate(timeout=60)
    second.communicate(timeout=60)
    assert (first.returncode, second.returncode) == (5, 6)
    assert "waiting" not in first_err
    assert len(checkout.calls()) == 2


def test_an_interrupted_preparation_is_done_again_from_the_start(checkout: Checkout) -> None:
    checkout.behave("hang")
    process = checkout.start("demo")
    checkout.wait_for_calls(2)
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=10)
    assert process.returncode == 130
    assert "Stopped" in err
    assert "Traceback" not in err

    checkout.behave("")

    assert checkout.run("exit", "4")[0] == 4
    assert [call.split()[0] for call in checkout.calls()] == ["venv", "pip", "venv", "pip"]


def test_a_killed_start_leaves_its_lock_to_the_step_that_outlives_it(checkout: Checkout) -> None:
    checkout.behave("hang")
    killed = checkout.start("demo")
    checkout.wait_for_calls(2)
    killed.kill()
    killed.communicate()
    next_one = checkout.start("exit", "4")
    assert next_one.stderr is not None
    assert "waiting until it is done" in next_one.stderr.readline()

    checkout.behave("")

    next_one.communicate(timeout=60)
    assert next_one.returncode == 4
    assert len(checkout.calls()) == 4


def test_a_failed_fetch_is_explained_and_tried_again(checkout: Checkout) -> None:
    checkout.behave("fail")
    code, out, err = checkout.run("demo")
    assert (code, out) == (3, "")
    assert "no route to the registry" in err
    assert "try again" in err
    assert "Traceback" not in err

    checkout.behave("")

    assert checkout.run("exit", "0")[0] == 0


def test_other_requirements_make_another_environment(checkout: Checkout) -> None:
    checkout.run("demo")
    leftover = checkout.root / ".venv" / "leftover.txt"
    leftover.touch()
    (checkout.root / "requirements.txt").write_text("# something\n", encoding="utf-8")
    assert "Preparing .venv" in checkout.run("demo")[2]
    assert not leftover.exists()


def test_an_environment_whose_python_has_gone_is_made_again(checkout: Checkout) -> None:
    checkout.run("demo")
    (checkout.root / ".venv" / "bin" / "python").unlink()
    assert "Preparing .venv" in checkout.run("demo")[2]


def test_a_checkout_may_be_moved(checkout: Checkout) -> None:
    checkout.run("demo")
    moved = Checkout(root=checkout.root.rename(checkout.root.parent / "elsewhere"), tools=checkout.tools)
    assert moved.run("exit", "9")[0] == 9


def test_the_tests_have_an_environment_of_their_own(checkout: Checkout) -> None:
    _, _, err = checkout.run("test", "tests/house", "-q")
    assert "Preparing .venv-dev" in err
    assert "No module named pytest" in err  # the stand-in installs nothing
    assert not (checkout.root / ".venv").exists()


def without(tmp_path: Path, *modules: str) -> str:
    """A folder that hides modules from every Python that has it on its path."""
    hidden = tmp_path / "hidden"
    hidden.mkdir()
    for module in modules:
        (hidden / f"{module}.py").write_text(f"raise ImportError('no {module}')\n", encoding="utf-8")
    return str(hidden)


def test_it_says_what_to_install_where_pip_and_venv_are_missing(checkout: Checkout, tmp_path: Path) -> None:
    (checkout.tools / "uv").unlink()
    hidden = without(tmp_path, "pip", "ensurepip")
    code, out, err = checkout.run("demo", PYTHONPATH=hidden)
    assert (code, out) == (3, "")
    for words in ("sudo apt install python3-venv", "sudo dnf install python3-pip", "brew", "Windows"):
        assert words in err
    assert "Traceback" not in err


def test_it_fetches_the_installer_where_there_is_none(checkout: Checkout, tmp_path: Path) -> None:
    (checkout.tools / "uv").rename(checkout.tools / "elsewhere")
    stub = tmp_path / "stub"
    stub.mkdir()
    (stub / "pip.py").write_text(
        "import pathlib, shutil, sys\n"
        "if '--target' in sys.argv:\n"
        "    assert '--require-hashes' in sys.argv and sys.argv[-1].endswith('requirements-uv.txt')\n"
        "    target = pathlib.Path(sys.argv[sys.argv.index('--target') + 1]) / 'bin'\n"
        "    target.mkdir()\n"
        f"    shutil.copy({str(checkout.tools / 'elsewhere')!r}, target / 'uv')\n",
        encoding="utf-8",
    )
    assert checkout.run("exit", "8", PYTHONPATH=str(stub))[0] == 8
    assert (checkout.root / ".tools" / "bin" / "uv").exists()


def test_it_says_which_python_it_needs() -> None:
    # Older Pythons are rare on a test machine, so one is made up.
    code = (
        "import collections, runpy, sys\n"
        "sys.version_info = collections.namedtuple('V', 'major minor micro')(3, 8, 18)\n"
        "sys.argv = ['go.py', 'demo']\n"
        f"runpy.run_path({str(ROOT / 'go.py')!r}, run_name='__main__')\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False, text=True)
    assert done.returncode == 3
    assert "needs Python 3.11 or newer; this is Python 3.8.18" in done.stderr
    assert "Debian" in done.stderr


def test_it_can_be_read_by_python_3_8() -> None:
    ast.parse((ROOT / "go.py").read_text(encoding="utf-8"), feature_version=(3, 8))


def test_a_warm_start_costs_next_to_nothing(checkout: Checkout) -> None:
    checkout.run("exit", "0")
    python = str(checkout.root / ".venv" / "bin" / "python")
    through_go = min(processor_s([REAL_PYTHON, str(checkout.root / "go.py"), "exit", "0"]) for _ in range(5))
    directly = min(processor_s([python, "-P", "-c", "import sys"]) for _ in range(5))
    assert through_go - directly < 0.2


def processor_s(command: list[str]) -> float:
    """What the command takes of a processor, however busy the machine is."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, check=True, env={"PATH": os.defpath})
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
