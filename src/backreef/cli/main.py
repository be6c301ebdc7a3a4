"""Where the program starts: hardly anything is imported before somebody listens for Ctrl-C."""

from __future__ import annotations

import gc
import sys

from backreef.cli.interrupt import INTERRUPTED

OBJECTS_BETWEEN_COLLECTIONS = 200_000
"""Python looks for garbage after so many new objects. A forecast lays out some hundred thousand events and
throws none away; looking as often as by default took a sixth of the demo's time."""


def main() -> int:
    """Run the command line and give its exit code."""
    gc.set_threshold(OBJECTS_BETWEEN_COLLECTIONS)
    try:
        from backreef.cli.app import run

        return run(sys.argv[1:])
    except KeyboardInterrupt:
        return INTERRUPTED
