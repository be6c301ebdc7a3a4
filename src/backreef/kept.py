"""What took time to make and may be thrown away at any time: compiled code, calendars of public holidays."""

from __future__ import annotations

import os
import sys
import tempfile
from contextlib import suppress
from pathlib import Path


def cache_folder() -> Path:
    """Give the folder of what is kept: BACKREEF_CACHE, XDG_CACHE_HOME, or the platform's usual place."""
    chosen = os.environ.get("BACKREEF_CACHE")
    if chosen:
        return Path(chosen)
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local")) / "backreef"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches" / "backreef"
    return Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache")) / "backreef"


def keep(place: Path, content: bytes) -> None:
    """Write under another name, then rename: no half-written file is ever read. Do without if we may not."""
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=place.parent, suffix=".part")
    except OSError:
        return
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        Path(name).replace(place)
    except OSError:  # as on a full disk, which a part of a file would fill further
        with suppress(OSError):
            Path(name).unlink(missing_ok=True)
