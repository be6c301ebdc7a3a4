"""Work that is killed and starved, each in a fork of this process, so that it starts at once."""

from __future__ import annotations

import os
import random
import signal
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

LONGEST_S = 120.0
FEW, MANY = 4, 300
"""Rounds in the suite, and with `--long`."""


def forked(work: Callable[[], int]) -> int:
    """Start some work in a process of its own; its number."""
    pid = os.fork()
    if pid == 0:
        code = 99
        try:
            quiet = os.open(os.devnull, os.O_RDWR)
            for stream in (0, 1, 2):
                os.dup2(quiet, stream)
            code = work()
        finally:
            os._exit(code)
    return pid


def command(*arguments: str | Path, folder: Path) -> int:
    """Start a command in a folder; its number. Its forecast is the stand-in of the tests."""

    def work() -> int:
        from backreef.cli.app import run
        from backreef.usecases import forecast
        from tests.cli_world import stand_in

        os.chdir(folder)
        forecast.default_judge = lambda: stand_in
        sys.argv = ["backreef"]
        return run([str(argument) for argument in arguments])

    return forked(work)


def ended(pid: int) -> int:
    """The exit code of a process that ends by itself; -9 where it was killed."""
    until = time.monotonic() + LONGEST_S
    while time.monotonic() < until:
        found, status = os.waitpid(pid, os.WNOHANG)
        if found:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.002)
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    raise AssertionError("it goes on and on")


def killed(pid: int, draws: random.Random, longest_s: float) -> int:
    """Kill a process with no warning at a random moment; its exit code, if it was done by then."""
    time.sleep(draws.uniform(0.0, longest_s))
    os.kill(pid, signal.SIGKILL)
    _, status = os.waitpid(pid, 0)
    return os.waitstatus_to_exitcode(status)


def how_long_s(start: Callable[[], int]) -> float:
    """How long some work takes when it is let alone."""
    began_s = time.monotonic()
    ended(start())
    return time.monotonic() - began_s


def told(rounds: int, what: str, **counts: int) -> None:
    """Say what was counted, for the table; -rP shows it."""
    print(f"{what}: {rounds} rounds, {', '.join(f'{name} {count}' for name, count in counts.items())}")  # noqa: T201


def damaged(path: Path, draws: random.Random) -> None:
    """Overwrite a stretch of a file, or cut it off, as a failing disk does."""
    content = bytearray(path.read_bytes())
    first = draws.randrange(len(content))
    if draws.random() < 0.2:
        path.write_bytes(bytes(content[:first]))
        return
    stretch = content[first : first + draws.choice((1, 16, 512, 4096))]
    content[first : first + len(stretch)] = draws.randbytes(len(stretch))
    path.write_bytes(bytes(content))


@contextmanager
def mounted(folder: Path, size: str) -> Iterator[Path | None]:
    """A small disk of its own on a folder; None where none can be mounted."""
    import subprocess

    folder.mkdir()
    done = None
    if os.name != "nt" and os.geteuid() == 0:
        mount = ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(folder)]
        done = subprocess.run(mount, capture_output=True, check=False)
    if done is None or done.returncode != 0:
        yield None
        return
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=False)


def closed_to_writing(folder: Path) -> bool:
    """Let nobody write on a mounted disk, not even root; whether that was possible."""
    import subprocess

    remount = ["mount", "-o", "remount,ro", str(folder)]
    return subprocess.run(remount, capture_output=True, check=False).returncode == 0
