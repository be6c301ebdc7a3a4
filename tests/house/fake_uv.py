"""A stand-in for the installer: makes environments without the network, as slowly or badly as it is told to.

It notes each call in `calls.txt` beside it. `behave.txt` beside it may say how fetching goes: `hang` (as long
as it says so) or `fail` (with a message).
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent


def main(arguments: list[str]) -> int:
    if arguments == ["--version"]:
        return 0
    with (HERE / "calls.txt").open("a", encoding="utf-8") as calls:
        calls.write(" ".join(arguments) + "\n")
    if arguments[0] == "venv":
        python, folder = arguments[2:4]
        return subprocess.run([python, "-m", "venv", "--without-pip", folder], check=False).returncode
    while behaviour() == "hang":
        time.sleep(0.02)
    if behaviour() == "fail":
        sys.stdout.write("error: no route to the registry\n")
        return 2
    return 0


def behaviour() -> str:
    """How the next fetch is to go."""
    path = HERE / "behave.txt"
    return path.read_text(encoding="utf-8") if path.exists() else ""


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
