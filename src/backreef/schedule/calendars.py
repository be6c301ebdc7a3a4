"""Public holidays of a place, as the calendars of the library `holidays` have them.

That library reads the calendars of all countries before it tells of one, which takes longer than reading a
plan. What it told is kept in the folder of caches, by the version of the library, and read there next time.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from datetime import date
from functools import cache
from importlib.util import find_spec
from pathlib import Path

from backreef.errors import BackreefError
from backreef.kept import cache_folder, keep

Days = tuple[tuple[date, str], ...]


class UnknownCalendar(BackreefError):
    """The public holidays of a place are asked for that the calendars here do not know."""

    def __init__(self, country: str | None, region: str | None, detail: str) -> None:
        place = country or "(no country)"
        place = f"{place}-{region}" if region else place
        super().__init__(
            f"keeper.closed: no calendar of public holidays for '{place}' ({detail}); give the two-letter "
            "code of the country and, where it has its own days, of the region, or list the days by date"
        )


@cache
def public_holidays(country: str | None, region: str | None, first_year: int, last_year: int) -> Days:
    """Public holidays of a place with their names, in English where the calendar has them so."""
    if not country:
        raise UnknownCalendar(country, region, "no country is given")
    place = _place(country, region, first_year, last_year)
    found = None if place is None else _kept(place)
    if found is None:
        found = _told(country, region, first_year, last_year)
        if place is not None:
            keep(place, json.dumps([(on.isoformat(), name) for on, name in found]).encode())
    return found


def _told(country: str, region: str | None, first_year: int, last_year: int) -> Days:
    """What the library says."""
    import holidays

    years = range(first_year, last_year + 1)
    try:
        spoken = holidays.country_holidays(country, subdiv=region).supported_languages
        language = next((each for each in ("en_US", "en_GB") if each in spoken), None)
        found = holidays.country_holidays(country, subdiv=region, years=years, language=language)
    except NotImplementedError as error:
        raise UnknownCalendar(country, region, str(error)) from error
    return tuple(sorted((on, name) for on, name in found.items()))


def _place(*asked: object) -> Path | None:
    """Where an answer is kept, by the question, this file and the library's version; None: nowhere."""
    library = find_spec("holidays")
    if library is None or library.origin is None:
        return None
    digest = hashlib.sha256(repr(asked).encode())
    try:
        for file in (Path(library.origin).with_name("version.py"), Path(__file__)):
            digest.update(file.read_bytes())
    except OSError:
        return None
    return cache_folder() / f"holidays-{digest.hexdigest()[:24]}.json"


def _kept(place: Path) -> Days | None:
    """What was kept; None where there is nothing, or not what was put there."""
    try:
        found = json.loads(place.read_bytes())
        return tuple((date.fromisoformat(on), str(name)) for on, name in _pairs(found))
    except (OSError, ValueError):
        return None


def _pairs(found: object) -> Iterable[tuple[str, str]]:
    if not isinstance(found, list) or not all(_is_pair(each) for each in found):
        raise ValueError("this is no list of days and names")
    return found


def _is_pair(each: object) -> bool:
    return isinstance(each, list) and len(each) == 2 and all(isinstance(part, str) for part in each)  # noqa: PLR2004
