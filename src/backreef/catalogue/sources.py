"""Where numbers come from: one `Source` per key, and four words that say how far a number may be trusted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Status = Literal["published", "memory", "practice", "calc"]
STATUSES: tuple[Status, ...] = ("published", "memory", "practice", "calc")
STATUS_MEANING: dict[Status, str] = {
    "published": "stands in the source given",
    "memory": "remembered; the source named is the one it is believed to come from",
    "practice": "common practice, no source",
    "calc": "worked out by us from the numbers and sources named",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Something a value rests on; `seen` says how much of it was read."""

    key: str
    text: str
    """Authors, year, title and where it appeared, as plain text."""
    kind: str
    """paper, data set, book, guideline, page, practice or own work."""
    seen: str
