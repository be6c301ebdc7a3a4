#!/usr/bin/env python3
"""Start backreef, or its tests, from a fresh clone.

    python3 go.py demo                   any verb of backreef: demo, check, forecast, ...
    python3 go.py test [--long] [...]    the tests; what follows goes to pytest

The first start prepares an environment of its own in this folder (.venv, or .venv-dev for the tests) out of
the hash-locked requirements; later starts go straight to the program. Nothing outside this folder is changed,
but for the installer's cache of what it fetched.

Standard library only, and readable by Python 3.8, so that it can say what is missing.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

ROOT = Path(__file__).resolve().parent
TOOLS = ROOT / ".tools"
STAMP = "prepared-by-go.txt"
EXACTLY = ["--require-hashes", "--only-binary", ":all:", "-r"]
WINDOWS = os.name == "nt"
SCRIPTS = "Scripts" if WINDOWS else "bin"
EXE = ".exe" if WINDOWS else ""
# Not the Python of an environment, which may be the very one that is to be rebuilt.
BASE_PYTHON: str = getattr(sys, "_base_executable", sys.executable)

SETUP_FAILED = 3
INTERRUPTED = 130

TOO_OLD = """\
backreef needs Python 3.11 or newer; this is Python {found} ({where}).
  Debian 12, Ubuntu 24.04, Fedora or newer: python3 is new enough; older ones: sudo apt install python3.11
  macOS:    brew install python
  Windows:  winget install Python.Python.3.13
Then start go.py with that Python, for example: python3.13 go.py demo"""

NO_PIP = """\
Once, to fetch what backreef is built on, Python's pip is needed, and this Python ({where}) has neither pip
nor the module that brings it. Install it with one of these, then run the same command again:
  Debian, Ubuntu:  sudo apt install python3-venv
  Fedora:          sudo dnf install python3-pip
  macOS:           brew install python
  Windows:         run the Python installer again, choose Modify, and tick pip"""

RUN_BACKREEF = """\
import sys
from backreef.cli.main import main
sys.argv[0] = "python3 go.py"
sys.exit(main())"""


class SetupFailed(Exception):
    """The environment could not be prepared; the message says why and what to do."""


def main(arguments: list[str]) -> int:
    """Prepare what is missing, then turn into the program that was asked for."""
    if sys.version_info < (3, 11):
        found = ".".join(str(part) for part in sys.version_info[:3])
        say(TOO_OLD.format(found=found, where=sys.executable))
        return SETUP_FAILED
    testing = arguments[:1] == ["test"]
    kind = "-dev" if testing else ""
    try:
        python = prepare(ROOT / f".venv{kind}", ROOT / f"requirements{kind}.txt")
    except (SetupFailed, OSError) as trouble:
        say(str(trouble))
        return SETUP_FAILED
    except KeyboardInterrupt:
        say("Stopped. The same command will pick it up again.")
        return INTERRUPTED
    if testing:
        os.chdir(ROOT)
        return become([str(python), "-P", "-m", "pytest", *pytest_arguments(arguments[1:])])
    return become([str(python), "-P", "-c", RUN_BACKREEF, *arguments])


def pytest_arguments(arguments: list[str]) -> list[str]:
    """Spread the whole suite over the cores and one more, as tests wait; take single ones as they are."""
    whole_suite = all(argument == "--long" for argument in arguments)
    return ["-n", str((os.cpu_count() or 1) + 1), *arguments] if whole_suite else arguments


def become(command: Sequence[str]) -> int:
    """Replace this process by the command, so that signals and exit codes pass untouched."""
    environment = dict(os.environ)
    environment.pop("PYTHONDONTWRITEBYTECODE", None)  # else every start would compile all libraries anew
    if not WINDOWS:
        os.execve(command[0], list(command), environment)
    process = subprocess.Popen(command, env=environment)
    while process.returncode is None:
        with suppress(KeyboardInterrupt):  # the program got it too, and decides
            process.wait()
    return process.returncode


def prepare(folder: Path, requirements: Path) -> Path:
    """Give the Python of the environment in `folder`, which holds exactly what `requirements` lists."""
    python = folder / SCRIPTS / ("python" + EXE)
    if not is_ready(folder, python, requirements):
        with one_at_a_time():
            if not is_ready(folder, python, requirements):
                build(folder, python, requirements)
    return python


def is_ready(folder: Path, python: Path, requirements: Path) -> bool:
    """Tell whether the environment was finished for these requirements and this Python."""
    try:
        return (folder / STAMP).read_text(encoding="utf-8") == fingerprint(requirements) and python.exists()
    except OSError:
        return False


def fingerprint(requirements: Path) -> str:
    """Give what the environment depends on in one line: the requirements and the Python."""
    digest = hashlib.sha256(requirements.read_bytes()).hexdigest()
    return "{} {}-{}.{}\n".format(digest, sys.implementation.name, *sys.version_info[:2])


def build(folder: Path, python: Path, requirements: Path) -> None:
    """Make the environment from nothing; the stamp comes last, so a half-made one never passes for ready."""
    import shutil
    import sysconfig

    started = time.monotonic()
    say(f"Preparing {folder.name} here; only a first start, or one after an update, takes this long.")
    uv = find_uv()
    if folder.exists():
        (folder / STAMP).unlink(missing_ok=True)
        shutil.rmtree(folder)
    run([uv, "venv", "--python", BASE_PYTHON, str(folder)], "making the environment")
    fetch = [uv, "pip", "install", "--python", str(python), *EXACTLY, str(requirements)]
    run(fetch, "fetching and unpacking the libraries")
    site = sysconfig.get_path("purelib", "venv", {"base": str(folder), "platbase": str(folder)})
    (Path(site) / "backreef.pth").write_text(os.path.relpath(ROOT / "src", site) + "\n", encoding="utf-8")
    unfinished = folder / (STAMP + ".new")
    unfinished.write_text(fingerprint(requirements), encoding="utf-8")
    unfinished.replace(folder / STAMP)
    say(f"Ready after {time.monotonic() - started:.0f} s.")


def find_uv() -> str:
    """Give a working uv, the installer: the one fetched before, the one on the path, or a fresh one."""
    import shutil

    ours = TOOLS / SCRIPTS / ("uv" + EXE)
    for candidate in (str(ours), shutil.which("uv")):
        if candidate and works([candidate, "--version"]):
            return candidate
    fetch = [*find_pip(), "install", "--no-user", "--upgrade", "--target", str(TOOLS)]
    run([*fetch, *EXACTLY, str(ROOT / "requirements-uv.txt")], "fetching the installer uv")
    return str(ours)


def find_pip() -> list[str]:
    """Give a command that runs pip: this Python's own, or one that this Python can bring along."""
    if works([BASE_PYTHON, "-m", "pip", "--version"]):
        return [BASE_PYTHON, "-m", "pip"]
    if not works([BASE_PYTHON, "-c", "import ensurepip, venv"]):
        raise SetupFailed(NO_PIP.format(where=BASE_PYTHON))
    folder = TOOLS / "pip"
    run([BASE_PYTHON, "-m", "venv", "--clear", str(folder)], "unpacking pip")
    return [str(folder / SCRIPTS / ("python" + EXE)), "-m", "pip"]


def works(command: Sequence[str]) -> bool:
    """Tell whether the command runs and ends well."""
    with suppress(OSError):
        return subprocess.run(command, capture_output=True, check=False).returncode == 0
    return False


def run(command: Sequence[str], doing: str) -> None:
    """Run a step of the preparation, quietly while all is well; show what it said when it fails."""
    environment = {"UV_SYSTEM_CERTS": "true", **os.environ, "UV_PYTHON_DOWNLOADS": "never"}
    process = subprocess.Popen(
        command,
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
        close_fds=False,  # a step that outlives us inherits the lock and keeps it until it is done
    )
    started = time.monotonic()
    try:
        while process.returncode is None:
            try:
                output, _ = process.communicate(timeout=10)
            except subprocess.TimeoutExpired:
                say(f"  still {doing} ({time.monotonic() - started:.0f} s)")
    except BaseException:
        process.kill()
        process.wait()
        raise
    if process.returncode != 0:
        said = "\n".join("  | " + line for line in output.strip().splitlines()[-20:])
        raise SetupFailed(
            f"Preparing stopped while {doing}. What the installer said:\n{said}\n"
            "Mostly this is the network, a full disk, or missing certificates (package ca-certificates).\n"
            "The same command will try again."
        )


@contextmanager
def one_at_a_time() -> Iterator[None]:
    """Let one start prepare while others wait; the lock ends with the process that holds it and its steps."""
    TOOLS.mkdir(exist_ok=True)
    with (TOOLS / "lock").open("a") as handle:
        if not try_lock(handle.fileno()):
            say("Another start is preparing this folder already; waiting until it is done.")
            while not try_lock(handle.fileno()):
                time.sleep(0.2)
        os.set_inheritable(handle.fileno(), True)
        yield


def try_lock(descriptor: int) -> bool:
    """Take the lock if nobody has it."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as trouble:  # any other than these two: a file system without locks, so go on as if alone
        return not isinstance(trouble, (BlockingIOError, PermissionError))
    return True


def say(words: str) -> None:
    """Speak to the person, never to the program that reads our output."""
    print(words, file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
