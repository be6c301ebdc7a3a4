"""The small phrases of a plan file, read into plain objects: days, hours, rhythms, conditions and gates.

Each reader takes what the keeper wrote and either returns an object or raises `Unreadable` with a sentence
that says what was found and what would be understood.
"""

from __future__ import annotations

import re
from datetime import date
from typing import NamedTuple
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from backreef.aquarium.limits import limit
from backreef.aquarium.plan import (
    EVERY_WEEKDAY,
    Comparison,
    Condition,
    PresenceWindow,
    Rhythm,
    Sighting,
)
from backreef.aquarium.series import find_series, read_series, series_words
from backreef.errors import BackreefError
from backreef.units import UnitError, parse_quantity

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
SHORT_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_ORDINALS = {
    "first": 1, "1st": 1, "second": 2, "2nd": 2, "third": 3, "3rd": 3, "fourth": 4, "4th": 4, "last": -1,
}  # fmt: skip
_GROUPS = {
    "every day": EVERY_WEEKDAY, "daily": EVERY_WEEKDAY, "all week": EVERY_WEEKDAY,
    "weekdays": (0, 1, 2, 3, 4), "weekends": (5, 6), "weekend": (5, 6),
}  # fmt: skip
_SIGNS: dict[str, Comparison] = {
    "<=": "<=", ">=": ">=", "≤": "<=", "≥": ">=", "<": "<", ">": ">", "below": "<", "under": "<",
    "above": ">", "over": ">",
}  # fmt: skip
_COMPARED = re.compile(
    r"(?P<word>.+?)\s*(?P<sign><=|>=|≤|≥|<|>|\bbelow\b|\bunder\b|\babove\b|\bover\b)\s*(?P<rest>.+)"
)
_LAST_TEST = re.compile(r"\s*,?\s*(?:at|in) the last test\s*$", re.IGNORECASE)
_THINGS = {
    "film algae": "film_algae", "film": "film_algae", "diatoms": "film_algae", "turf algae": "turf_algae",
    "turf": "turf_algae", "hair algae": "turf_algae", "pods": "pods", "copepods": "pods",
    "detritus": "detritus",
}  # fmt: skip
LAST_MINUTE = 24 * 60


class Unreadable(BackreefError):
    """A phrase of the plan was not understood; the message says what would be."""


class MonthDays(NamedTuple):
    """A stretch of days of every year, both ends included."""

    first_month: int
    first_day: int
    last_month: int
    last_day: int


class MealDays(NamedTuple):
    """The weekdays of a meal, and whether it is left out when nobody is there."""

    weekdays: tuple[int, ...]
    only_when_present: bool


def read_weekday(word: str) -> int:
    """The weekday of a name such as 'Tue', 'Tuesday' or 'Tuesdays': 0 for Monday."""
    plain = word.strip().lower().removesuffix(".")
    for number, name in enumerate(WEEKDAYS):
        if len(plain) >= len("mon") and f"{name}s".startswith(plain):
            return number
    raise Unreadable(f"'{word.strip()}' is no weekday; write Mon, Tue, Wed, Thu, Fri, Sat or Sun")


def read_weekdays(text: str) -> tuple[int, ...]:
    """The weekdays of 'Tue, Thu', 'Mon-Fri', 'every day', 'weekdays' or 'weekends', Monday first."""
    plain = " ".join(text.lower().split())
    if plain in _GROUPS:
        return _GROUPS[plain]
    found: set[int] = set()
    for part in re.split(r"\s*,\s*|\s+and\s+", plain):
        first, dash, last = part.partition("-")
        start = read_weekday(first)
        length = (read_weekday(last) - start) % len(WEEKDAYS) if dash else 0
        found |= {(start + step) % len(WEEKDAYS) for step in range(length + 1)}
    return tuple(sorted(found))


def write_weekdays(weekdays: tuple[int, ...]) -> str:
    """The weekdays as `read_weekdays` reads them."""
    return "every day" if weekdays == EVERY_WEEKDAY else ", ".join(SHORT_WEEKDAYS[day] for day in weekdays)


def read_hour(text: str) -> float:
    """The decimal hour of '8:30', '8.30', '17' or '24:00'. [h]"""
    match = re.fullmatch(r"\s*(\d{1,2})(?:[:.](\d{2}))?\s*", text)
    if match is None:
        raise Unreadable(f"'{text}' is no time of day; write it as '08:30'")
    minutes = int(match[1]) * 60 + int(match[2] or 0)
    if minutes > LAST_MINUTE or int(match[2] or 0) >= 60:  # noqa: PLR2004  minutes of an hour
        raise Unreadable(f"'{text}' is no time of day; hours run from 0:00 to 24:00")
    return minutes / 60


def write_hour(hour: float) -> str:
    """The hour of the day as '08:30'."""
    minutes = round(hour * 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def read_time_zone(text: str) -> str:
    """A name of the time zone database, as 'Europe/London'."""
    try:
        return ZoneInfo(text.strip()).key
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise Unreadable(
            f"'{text}' is no time zone; write its name of continent and city, as 'Europe/London'"
        ) from None


def read_presence(text: str) -> tuple[PresenceWindow, ...]:
    """The windows of 'Tue-Fri 9:00-19:00'; without hours, the whole day."""
    match = re.fullmatch(r"\s*(?P<days>.*?[a-zA-Z])\s*(?P<hours>\d[\d:. ]*-\s*\d[\d:. ]*)?\s*", text)
    if match is None:
        raise Unreadable(f"'{text}' is not days with hours; write it as 'Tue-Fri 9:00-19:00'")
    first, _, last = (match["hours"] or "0:00-24:00").partition("-")
    from_hour, to_hour = read_hour(first), read_hour(last)
    if to_hour <= from_hour:
        raise Unreadable(
            f"'{text}' ends before it begins; a night is written as two: 'Mon 18-24' and 'Tue 0-6'"
        )
    return tuple(
        PresenceWindow(weekday=day, from_hour=from_hour, to_hour=to_hour)
        for day in read_weekdays(match["days"])
    )


def read_meal_days(text: str) -> MealDays:
    """The days of 'every day', 'Tue, Thu', 'when present' or 'Mon-Fri when present'."""
    days, present = _cut_present(text)
    return MealDays(read_weekdays(days) if days else EVERY_WEEKDAY, present)


def write_meal_days(weekdays: tuple[int, ...], *, only_when_present: bool) -> str:
    """The days as `read_meal_days` reads them."""
    return write_weekdays(weekdays) + (" when present" if only_when_present else "")


def _cut_present(text: str) -> tuple[str, bool]:
    plain = " ".join(text.lower().split())
    cut = re.sub(r"\s*(?:when|if) (?:we are |somebody is |i am )?present$", "", plain)
    return cut, cut != plain


def read_rhythm(text: str) -> Rhythm:
    """The rhythm of '14 days', 'Tue and Fri', '2 weeks on Thursday', 'first Tuesday of every 3 months'."""
    plain, present = _cut_present(text)
    plain = "1 day" if plain in ("every day", "daily") else plain.removeprefix("every ")
    monthly = re.fullmatch(
        r"(?:the )?(\w+) ([a-z]+)(?: of (?:every|each) (?:(\d{1,3}) months?|month))?", plain
    )
    if monthly is not None and monthly[1] in _ORDINALS:
        return Rhythm(
            kind="monthly",
            text=text,
            weekdays=(read_weekday(monthly[2]),),
            nth=_ORDINALS[monthly[1]],
            every_months=_at_least_one(monthly[3], text),
            only_when_present=present,
        )
    weeks = re.fullmatch(r"(?:(\d{1,3}) )?weeks? on (.+)", plain)
    if weeks is not None:
        days = read_weekdays(weeks[2])
        every = _at_least_one(weeks[1], text)
        return Rhythm(kind="weekly", text=text, weekdays=days, every_weeks=every, only_when_present=present)
    if re.fullmatch(r"[\d.]*\s*(?:day|week|fortnight|month|year)s?", plain):
        return Rhythm(kind="interval", text=text, every_days=_days(plain, text), only_when_present=present)
    try:
        return Rhythm(kind="weekly", text=text, weekdays=read_weekdays(plain), only_when_present=present)
    except Unreadable:
        raise Unreadable(
            f"'{text}' is no rhythm; write '14 days', 'Thursday', 'Tue and Fri', '2 weeks on Thursday', "
            "'first Tuesday' or 'last Friday of every 3 months'"
        ) from None


def write_nth(nth: int) -> str:
    """The word for the nth weekday of a month, as `read_rhythm` reads it."""
    return next(word for word, number in _ORDINALS.items() if number == nth)


def _at_least_one(number: str | None, text: str) -> int:
    if number is not None and int(number) < 1:
        raise Unreadable(f"'{text}' never comes round; the number must be 1 or more")
    return int(number or 1)


def _days(plain: str, text: str) -> float:
    """The days of '14 days' or 'month'."""
    try:
        days = parse_quantity(plain if plain[0].isdigit() else f"1 {plain}", dimension="time", token="d")
    except UnitError as unread:
        raise Unreadable(str(unread)) from None
    longest = limit("rhythm_days")
    if not 1 <= days <= longest:
        raise Unreadable(f"'{text}' is no rhythm for a tank; it lies between 1 and {longest:.0f} days")
    return days


def read_condition(text: str) -> Condition:
    """The condition of 'nitrate > 15 mg/L NO3 at the last test'."""
    match = _COMPARED.fullmatch(_LAST_TEST.sub("", text.strip()))
    if match is None:
        raise Unreadable(f"'{text}' compares nothing; write it as 'nitrate > 15 mg/L NO3 at the last test'")
    word = match["word"].strip().lower()
    if find_series(word) is None:
        raise Unreadable(f"'{match['word'].strip()}' is no water quantity; write one of {series_words()}")
    reading = read_series(word, match["rest"].strip())
    sign = _SIGNS[match["sign"]]
    return Condition(series=reading.series, comparison=sign, value=reading.value, text=text)


def condition_notes(text: str) -> tuple[str, ...]:
    """What had to be assumed to read a condition, such as the basis of a bare mg/L."""
    match = _COMPARED.fullmatch(_LAST_TEST.sub("", text.strip()))
    return read_series(match["word"].strip().lower(), match["rest"].strip()).notes if match else ()


class Gate(NamedTuple):
    """A gate in parts: what can be compared, and what is to be seen."""

    conditions: tuple[Condition, ...]
    sightings: tuple[Sighting, ...]


def read_gate(text: str) -> Gate:
    """The gate of 'nitrate < 20 mg/L NO3 and film algae visible'; unknown sights are kept as notes."""
    conditions: list[Condition] = []
    sightings: list[Sighting] = []
    for part in re.split(r"\s+and\s+|\s*[,;]\s*", text.strip()):
        if _COMPARED.fullmatch(part):
            conditions.append(read_condition(part))
        elif part:
            sightings.append(_sighting(part))
    if not conditions and not sightings:
        raise Unreadable("a gate that says nothing is always open; leave the key out")
    return Gate(tuple(conditions), tuple(sightings))


def _sighting(part: str) -> Sighting:
    """'film algae visible', 'no hair algae', 'detritus gone'; any other sight has no thing."""
    plain = " ".join(part.lower().split())
    gone = re.fullmatch(
        r"(?:no (?P<none>.+?)(?: visible| seen| left)?|(?P<gone>.+?) (?:gone|not visible|not seen))", plain
    )
    seen = re.fullmatch(r"(?P<seen>.+?) (?:is |are )?(?:visible|seen(?: twice)?|showing)", plain)
    if gone is not None:
        return Sighting(thing=_THINGS.get(gone["none"] or gone["gone"]), seen=False, text=part)
    thing = _THINGS.get(seen["seen"]) if seen is not None else None
    return Sighting(thing=thing, seen=True, text=part)


def read_month_days(text: str) -> MonthDays:
    """The stretch of '2 Aug to 15 Aug' or '12-23 to 01-02'; a single day stands for itself."""
    first, _, last = text.partition(" to ")
    start = _month_day(first, text)
    end = _month_day(last, text) if last else start
    return MonthDays(*start, *end)


def write_month_days(days: MonthDays) -> str:
    """The stretch as `read_month_days` reads it."""
    return f"{days.first_month:02d}-{days.first_day:02d} to {days.last_month:02d}-{days.last_day:02d}"


def _month_day(text: str, whole: str) -> tuple[int, int]:
    plain = text.strip().lower()
    numbers = re.fullmatch(r"(\d{1,2})-(\d{1,2})", plain)
    words = re.fullmatch(r"(\d{1,2})\.? ([a-z]{3,9})|([a-z]{3,9}) (\d{1,2})", plain)
    month, day = 0, 0
    if numbers is not None:
        month, day = int(numbers[1]), int(numbers[2])
    elif words is not None:
        name = words[2] or words[3]
        month = MONTHS.index(name[:3]) + 1 if name[:3] in MONTHS else 0
        day = int(words[1] or words[4])
    if not _is_month_day(month, day):
        raise Unreadable(f"'{whole}' holds no day of every year; write '2 Aug to 15 Aug' or '08-02 to 08-15'")
    return month, day


def _is_month_day(month: int, day: int) -> bool:
    leap_year = 2000
    try:
        date(leap_year, month, day)
    except ValueError:
        return False
    return True
