"""Names as file names and ids: small letters, digits and underscores."""

from __future__ import annotations

import re
import unicodedata

_LONGEST = 40


def slug_of(name: str, otherwise: str = "own") -> str:
    """A name as it may stand in a file's name."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode("ascii").lower()
    return re.sub(r"[^a-z0-9]+", "_", plain).strip("_")[:_LONGEST] or otherwise
