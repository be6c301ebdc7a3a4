"""Whole numbers as a form or an address sends them."""

from __future__ import annotations

import re

_PLAIN = re.compile(r"[0-9]{1,9}")
NO_ROW = 0
"""Stands for what is no number; no row of a table has it."""


def plain_number(text: str) -> int | None:
    """A number of plain digits; None for anything else, be it digits of another script or far too many."""
    return int(text) if _PLAIN.fullmatch(text) else None


def row_number(text: str) -> int:
    """The number of a row of a table; one that no row has where it is none."""
    found = plain_number(text)
    return NO_ROW if found is None else found
