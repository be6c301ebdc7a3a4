"""What an event of a calendar file may ask for: refused is what nobody means, or takes minutes to lay out.

The format lets an event repeat every second, last for centuries or begin in the year 1. No closed day does.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta
from typing import Any

from backreef.aquarium.phrases import Unreadable

FIRST_YEAR = 1900
LONGEST = timedelta(days=3660)
LONGEST_REPEATED = timedelta(days=366)
MOST_A_YEAR = 10_000
"""Occurrences a year of all events together: a few seconds for the longest plan."""
_EACH_YEAR = {"DAILY": 366, "WEEKLY": 53, "MONTHLY": 12, "YEARLY": 1}
_WITHIN = {"DAILY": 1, "WEEKLY": 7, "MONTHLY": 31, "YEARLY": 366}
MOST_RULES = 500
_LONGEST_MONTH = {2: 29, 4: 30, 6: 30, 9: 30, 11: 30}
_OF_THE_CLOCK = ("BYHOUR", "BYMINUTE", "BYSECOND")


def check_rules(events: Iterable[Any], calendar: str) -> None:
    """Refuse events that cannot be laid out, or not in time.

    Raises
    ------
    Unreadable
        With what is wrong and what to do.
    """
    a_year = repeated = 0
    for event in events:
        rules = list(_rules(event))
        for complaint in _complaints(event, rules):
            raise Unreadable(f"'{calendar}': '{name_of(event)}' {complaint}; mend it there")
        repeated += len(rules)
        a_year += sum(_occurrences_a_year(rule) for rule in rules)
    if a_year > MOST_A_YEAR or repeated > MOST_RULES:
        raise Unreadable(
            f"'{calendar}' lays out more than {MOST_A_YEAR:,} events a year, or has more than {MOST_RULES} "
            "that repeat; export a calendar with the closed days alone"
        )


def name_of(event: Any) -> str:  # noqa: ANN401  the library's type
    """What an event calls itself."""
    return str(event.get("SUMMARY", "")) or "an event without a name"


def _rules(event: Any) -> Iterator[Any]:  # noqa: ANN401  as above
    for key in ("RRULE", "EXRULE"):
        found = event.get(key, [])
        yield from found if isinstance(found, list) else [found]


def _complaints(event: Any, rules: list[Any]) -> Iterator[str]:  # noqa: ANN401  as above
    twice = [key for key in ("DTSTART", "DTEND", "DURATION") if isinstance(event.get(key), list)]
    if twice:
        yield f"says {' and '.join(twice)} twice"
        return
    start = event["DTSTART"]
    if start.dt.year < FIRST_YEAR:
        yield f"begins before {FIRST_YEAR}"
    longest = LONGEST_REPEATED if rules else LONGEST
    if _length(event, start.dt) > longest:
        yield f"lasts longer than {longest.days} days"
    for rule in rules:
        if _only(rule, "FREQ") not in _EACH_YEAR:
            yield f"repeats {_only(rule, 'FREQ') or 'nobody knows how often'}, which no closed day does"
        for key in ("INTERVAL", "COUNT"):
            if key in rule and not (isinstance(_only(rule, key), int) and _only(rule, key) >= 1):
                yield f"repeats with {key} {_only(rule, key)}; it is 1 or more"
        if _never(rule):
            yield "repeats on a day that its months do not have"
        if any(len(rule.get(key, [])) > 1 for key in _OF_THE_CLOCK):
            yield "repeats several times a day, which no closed day does"


def _never(rule: Any) -> bool:  # noqa: ANN401  as above
    """Whether its days of the month are in none of its months; laying that out takes until the year 9999."""
    months = [int(month) for month in rule.get("BYMONTH", [])] or [1]
    days = [abs(int(day)) for day in rule.get("BYMONTHDAY", [])] or [1]
    return all(day > _LONGEST_MONTH.get(month, 31) for month in months for day in days)


def _length(event: Any, start: date | datetime) -> timedelta:  # noqa: ANN401  as above
    if "DURATION" in event:
        return abs(event["DURATION"].dt)  # type: ignore[no-any-return]
    end = event["DTEND"].dt if "DTEND" in event else start
    return date(end.year, end.month, end.day) - date(start.year, start.month, start.day)


def _occurrences_a_year(rule: Any) -> int:  # noqa: ANN401  as above
    often = _only(rule, "FREQ")
    narrowed = [key for key in rule if key.startswith("BY") and key not in (*_OF_THE_CLOCK, "BYMONTH")]
    each = _WITHIN[often] if narrowed and often != "WEEKLY" else max(1, len(rule.get("BYDAY", [])))
    found = -(-_EACH_YEAR[often] * min(each, _WITHIN[often]) // (_only(rule, "INTERVAL") or 1))
    return int(min(found, _only(rule, "COUNT") or found))


def _only(rule: Any, key: str) -> Any:  # noqa: ANN401  as above
    found = rule.get(key, [])
    return found[0] if len(found) == 1 else None
