"""What is kept of a tank: readings, feedings, chores, additions, deaths, sightings, notes and photographs.

An `Entry` is one of these things with its tank, its moment and who wrote it down. It is never changed:
a correction or a withdrawal is a further revision of the same id, so that what stood before can be read.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from datetime import datetime
from typing import ClassVar, Literal

from backreef.errors import BackreefError

Sign = Literal["=", "<", ">"]
SIGNS: tuple[Sign, ...] = ("=", "<", ">")
LONGEST_TEXT = 4000
"""Letters of the longest text that one entry takes."""


class BadEntry(BackreefError):
    """An entry that cannot be: the message says what of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One measurement of the water."""

    kind: ClassVar[str] = "reading"
    series: str
    """Name with canonical unit and basis, as nitrate_mg_n_per_l."""
    value: float
    """In the unit of the series' name."""
    sign: Sign = "="
    """'<' where the kit showed less than it can tell, '>' where it showed more."""
    written: str
    """As it was written down, with the unit and basis of the kit."""
    kit: str | None = None
    """Id of the kind of kit; None: not said."""
    assumed: tuple[str, ...] = ()
    """What had to be assumed to read it, in words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Feeding:
    """A feeding that differed from the plan."""

    kind: ClassVar[str] = "feeding"
    portion_ratio: float | None = None
    """Given over planned: 2 for double, 0 for nothing; None: the amount says it."""
    food: str | None = None
    """Food id of the catalogue; None: whatever the plan feeds."""
    amount_g: float | None = None
    """As fed."""
    written: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Chore:
    """A piece of work that was done."""

    kind: ClassVar[str] = "chore"
    task: str
    """Task id of the catalogue."""
    minutes: float | None = None
    """As long as it truly took; None: not said."""
    share_frac: float | None = None
    """Share of the water changed or of the algae taken out."""
    volume_l: float | None = None
    amount_g: float | None = None
    written: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Addition:
    """Animals that came."""

    kind: ClassVar[str] = "addition"
    count: int
    name: str
    """As they were called."""
    species: str | None = None
    """Species id of the catalogue; None: not to be told from the name."""
    animal: str | None = None
    """Id of the plan's animals that these belong to; None: not to be told."""
    length_cm: float | None = None
    written: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Death:
    """Animals that died or were lost."""

    kind: ClassVar[str] = "death"
    count: int
    name: str
    """As they were called."""
    species: str | None = None
    """Species id of the catalogue; None: not to be told from the name."""
    animal: str | None = None
    """Id of the plan's animals that these belonged to; None: not to be told."""
    written: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sighting:
    """Something that was looked for: algae by kind and cover, pods at night, an animal eating or not."""

    kind: ClassVar[str] = "sighting"
    thing: str
    """A thing of `data/words.csv`, or 'eating'."""
    seen: bool
    """False: looked for and not there; for 'eating': did not eat."""
    cover_frac: float | None = None
    """Share of the surface that it covers; None: not said."""
    at_night: bool = False
    name: str | None = None
    """Whom it is about, as written; None: nobody in particular."""
    species: str | None = None
    animal: str | None = None
    written: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """Free words."""

    kind: ClassVar[str] = "note"
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Photograph:
    """A picture kept beside the store, under the name of what it holds."""

    kind: ClassVar[str] = "photograph"
    sha256: str
    """Of the picture as it is kept, without what the camera had written into it."""
    media_type: str
    width_count: int
    """Columns of picture elements."""
    height_count: int
    """Rows of picture elements."""
    caption: str = ""


What = Reading | Feeding | Chore | Addition | Death | Sighting | Note | Photograph
KINDS: dict[str, type[What]] = {
    kind.kind: kind for kind in (Reading, Feeding, Chore, Addition, Death, Sighting, Note, Photograph)
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One revision of one thing in the log."""

    id: str
    revision: int = 1
    """1 for what was written first; each correction, withdrawal or undoing is the next."""
    tank: str
    at: datetime
    """When it happened, with its time zone."""
    whole_day: bool = False
    """Only the day is known; `at` is then noon of it."""
    what: What
    withdrawn: bool = False
    """It no longer counts."""
    logged_at: datetime
    """When this revision was written."""
    who: str
    """Who wrote this revision."""
    why: str = ""
    """Why it was corrected; empty for the first."""
    batch: str
    """Common to all that was written down in one go."""
    undoes: str = ""
    """The batch that this revision takes back; empty where it takes back none."""

    def __post_init__(self) -> None:
        if self.at.utcoffset() is None or self.logged_at.utcoffset() is None:
            raise BadEntry("an entry's moments need a time zone")
        if self.revision < 1:
            raise BadEntry(f"revision {self.revision} of an entry; the first is 1")
        for name in ("id", "tank", "who", "batch"):
            if not getattr(self, name).strip():
                raise BadEntry(f"an entry without its {name}")
            _check_letters(f"the {name} of an entry", getattr(self, name))
        _check(self.what)


def _check(what: What) -> None:
    """Refuse numbers that are none, counts below one and texts without end."""
    for one in fields(what):
        value = getattr(what, one.name)
        if isinstance(value, float) and not math.isfinite(value):
            raise BadEntry(f"the {one.name} of a {what.kind} is not a number")
        if one.name.endswith("count") and value < 1:
            raise BadEntry(f"the {one.name} of a {what.kind} is {value}; it is 1 or more")
        if isinstance(value, str) and len(value) > LONGEST_TEXT:
            raise BadEntry(f"the {one.name} of a {what.kind} is longer than {LONGEST_TEXT} letters")
        if isinstance(value, str):
            _check_letters(f"the {one.name} of a {what.kind}", value)


def _check_letters(what: str, text: str) -> None:
    """Refuse what a database could not keep."""
    if "\0" in text:
        raise BadEntry(f"{what} holds a null character; leave it out")
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise BadEntry(f"{what} holds letters that are none; write it anew") from None
