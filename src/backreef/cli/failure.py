"""What is said when the program itself fails: one calm line, and a file with the details."""

from __future__ import annotations

import os
import platform
import sys
import tempfile
import traceback
from collections.abc import Mapping, Sequence

DEBUG = "BACKREEF_DEBUG"


def failure_text(error: BaseException, arguments: Sequence[str], environment: Mapping[str, str]) -> str:
    """What to tell the keeper, after the details have been written down."""
    details = "".join(traceback.format_exception(error))
    if environment.get(DEBUG) == "1":
        return details
    what = " ".join(str(error).split()) or type(error).__name__
    report = _report(details, arguments)
    try:
        handle, name = tempfile.mkstemp(prefix="backreef-failure-", suffix=".txt")
        with os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace") as file:
            file.write(report)
    except OSError:
        where = f"set {DEBUG}=1 to see the details"
    else:
        where = f"please report it with the details in {name}"
    return f"backreef failed, not your plan: {what[:300]}; {where}\n"


def _report(details: str, arguments: Sequence[str]) -> str:
    from backreef import __version__

    machine = f"{sys.platform} {platform.machine()}"
    return "\n".join(
        [
            f"backreef {__version__}, Python {platform.python_version()}, {machine}",
            f"arguments: {' '.join(arguments)}",
            "",
            details,
        ]
    )
