"""Where the program starts: hardly anything is imported before somebody listens for Ctrl-C."""

from __future__ import annotations

import atexit
import gc
import sys

from backreef.cli.interrupt import INTERRUPTED

OBJECTS_BETWEEN_COLLECTIONS = 600_000
"""Python looks for garbage after so many new objects. A forecast lays out some hundred thousand events and
throws none away; looking as often as by default took a sixth of the demo's time."""

HANDS_ON_S = 0.0005
"""So long a thread keeps the interpreter to itself while another asks for it. Marches ask often and briefly,
and plans are laid out beside them: with the usual ten times as long they stand still more."""


def main() -> int:
    """Run the command line and give its exit code."""
    gc.set_threshold(OBJECTS_BETWEEN_COLLECTIONS)
    sys.setswitchinterval(HANDS_ON_S)
    atexit.register(gc.freeze)  # else whatever ends looks for garbage once more, for a tenth of a second
    try:
        from backreef.cli.app import run

        return run(sys.argv[1:])
    except KeyboardInterrupt:
        return INTERRUPTED
