"""Where the program starts: hardly anything is imported before somebody listens for Ctrl-C."""

from __future__ import annotations

import sys

from backreef.cli.interrupt import INTERRUPTED


def main() -> int:
    """Run the command line and give its exit code."""
    try:
        from backreef.cli.app import run

        return run(sys.argv[1:])
    except KeyboardInterrupt:
        return INTERRUPTED
