"""When something happened: 'yesterday 18:30', 'Tue', '2 hours ago', '2027-03-02 8:15'."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from backreef.aquarium.phrases import Unreadable, read_hour, read_weekday
from backreef.errors import BackreefError
from backreef.logbook.changes import Moment
from backreef.units import UnitError, parse_quantity

Localise = Callable[[datetime], datetime]
EARLIEST_YEAR = 1970
NOON = time(12)
_DAYS_AGO = {"today": 0, "yesterday": 1}
_UNDERSTOOD = "write '18:30', 'yesterday 18:30', 'Tue 8:00', '2 hours ago' or '2027-03-02 18:30'"


class NoMoment(BackreefError):
    """A moment that cannot be read or cannot be."""


def clock_of(now: datetime) -> Localise:
    """What gives a clock time its time zone: the tank's place, where `now` is told in that, or this one."""
    zone = now.tzinfo
    return (lambda clock: clock.replace(tzinfo=zone)) if isinstance(zone, ZoneInfo) else datetime.astimezone


def read_moment(text: str, now: datetime, localise: Localise | None = None) -> Moment:
    """The moment that a text means, in the clock of the tank's place or of this one.

    `localise` gives a clock time its time zone; without it, `now` says which.

    Raises
    ------
    NoMoment
        If it is none, lies in the future or long ago.
    """
    moment = _read(" ".join(text.split()), now, localise or clock_of(now))
    if moment.at > now and not (moment.whole_day and moment.at.date() == now.date()):
        read = f"{moment.at:%Y-%m-%d %H:%M}"
        where = "" if read == text.strip() else f", {read}"
        raise NoMoment(f"'{text}' lies in the future{where}; {_UNDERSTOOD}")
    if moment.at.year < EARLIEST_YEAR:
        raise NoMoment(f"'{text}' is before {EARLIEST_YEAR}; {_UNDERSTOOD}")
    return moment


def _read(text: str, now: datetime, localise: Localise) -> Moment:
    if text.lower() in ("", "now"):
        return Moment(at=now)
    ago = re.fullmatch(r"(?:about )?(.+) ago", text, re.IGNORECASE)
    if ago is not None:
        return Moment(at=_before(now, _seconds(ago[1], text), text))
    written = _iso(text, localise)
    if written is not None:
        return written
    first, _, rest = text.partition(" ")
    day = _day(first, now)
    if day is None:
        return Moment(at=_at_clock(now.date(), text, text, localise))
    if not rest:
        return Moment(at=_local(datetime.combine(day, NOON), text, localise), whole_day=True)
    return Moment(at=_at_clock(day, rest, text, localise))


def _iso(text: str, localise: Localise) -> Moment | None:
    if re.fullmatch(r"\d{4}-\d{1,2}-\d{1,2}", text) or re.match(r"\d{4}-\d{1,2}-\d{1,2}[ T]", text):
        year_month_day, _, clock = text.replace("T", " ", 1).partition(" ")
        try:
            day = date(*(int(part) for part in year_month_day.split("-")))
        except ValueError:
            raise NoMoment(f"'{text}': the calendar has no such day") from None
        if not clock:
            return Moment(at=_local(datetime.combine(day, NOON), text, localise), whole_day=True)
        try:
            zoned = datetime.fromisoformat(f"{day.isoformat()} {clock}")
        except ValueError:
            return Moment(at=_at_clock(day, clock, text, localise))
        return Moment(at=zoned if zoned.tzinfo is not None else _local(zoned, text, localise))
    return None


def _day(word: str, now: datetime) -> date | None:
    """The day of 'yesterday' or of the last Tuesday, today's included."""
    if word.lower() in _DAYS_AGO:
        return now.date() - timedelta(days=_DAYS_AGO[word.lower()])
    try:
        weekday = read_weekday(word)
    except Unreadable:
        return None
    return now.date() - timedelta(days=(now.weekday() - weekday) % 7)


def _at_clock(day: date, clock: str, text: str, localise: Localise) -> datetime:
    try:
        hour = read_hour(clock)
    except Unreadable:
        raise NoMoment(f"'{text}' is no moment; {_UNDERSTOOD}") from None
    midnight = datetime.combine(day, time())
    return _local(midnight + timedelta(minutes=round(hour * 60)), text, localise)


def _local(clock: datetime, text: str, localise: Localise) -> datetime:
    try:
        return localise(clock)
    except (OverflowError, OSError, ValueError):
        raise NoMoment(f"'{text}' is out of all calendars; {_UNDERSTOOD}") from None


def _before(now: datetime, ago_s: float, text: str) -> datetime:
    try:
        return now - timedelta(seconds=ago_s)
    except OverflowError:
        raise NoMoment(f"'{text}' is no moment; {_UNDERSTOOD}") from None


def _seconds(amount: str, text: str) -> float:
    first, _, rest = amount.partition(" ")
    words = {"a": "1", "an": "1", "one": "1", "two": "2", "three": "3", "half": "0.5"}
    try:
        return parse_quantity(f"{words.get(first.lower(), first)} {rest}", dimension="time", token="s")
    except UnitError:
        raise NoMoment(f"'{text}' is no moment; {_UNDERSTOOD}") from None
