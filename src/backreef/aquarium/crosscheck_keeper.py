"""Cross checks of the keeper: helpers and their stays, closed days, holiday places."""

from __future__ import annotations

import csv
import pathlib
from functools import cache

from backreef.aquarium.closures import check_calendar
from backreef.aquarium.document import Table, day_of, each, table, tables
from backreef.aquarium.faults import Faults
from backreef.aquarium.phrases import Unreadable, read_hour, read_time_zone, write_hour
from backreef.aquarium.places import Path
from backreef.aquarium.plan import BY_HAND

_HOLIDAY_PLACES = pathlib.Path(__file__).parent / "data" / "holiday_places.csv"
_CLOSED_KINDS = ("country", "weekday", "every_year", "calendar", "first")


def check_keeper(document: Table, faults: Faults) -> None:
    """Every fault of the keeper's part: closed days, helpers, and work that is refused and yet asked."""
    keeper = table(document, "keeper")
    for number, rule in tables(keeper, "closed"):
        _closed(("keeper", "closed", number), rule, keeper, faults)
    for number, helper in tables(keeper, "helpers"):
        _in_order(("keeper", "helpers", number), helper, faults)
        _stays(("keeper", "helpers", number), helper, faults)
    refused = [word for _, word in each(keeper.get("refuses"))]
    for number, entry in tables(document, "upkeep"):
        if (
            entry.get("by", BY_HAND) == BY_HAND
            and entry.get("task") in refused
            and not is_helped(keeper, entry["task"])
        ):
            faults.add(
                ("upkeep", number, "task"),
                f"'{entry['task']}' is to be done by hand, but keeper.refuses lists it; drop one of them",
            )


def is_helped(keeper: Table, task: str) -> bool:
    """Whether a helper takes on the task."""
    return any(not helper.get("tasks") or task in helper["tasks"] for _, helper in tables(keeper, "helpers"))


def _closed(path: Path, rule: Table, keeper: Table, faults: Faults) -> None:
    kinds = [key for key in _CLOSED_KINDS if key in rule]
    if "last" in rule and "first" not in rule:
        faults.add((*path, "last"), "needs first beside it")
    elif len(kinds) != 1:
        given = f"{' and '.join(kinds)} are given" if kinds else "none is given"
        faults.add(
            path, f"needs exactly one of country, weekday, every_year, calendar, or first with last; {given}"
        )
    _place(path, rule, faults)
    if isinstance(rule.get("calendar"), str):
        try:
            zone = _zone(keeper.get("time_zone"))
            check_calendar(rule["calendar"], plan_file=faults.file, time_zone=zone)
        except Unreadable as refusal:
            faults.add((*path, "calendar"), str(refusal))
    if "first" in rule and "last" not in rule:
        faults.add((*path, "first"), "needs last beside it; for a single day write the same date twice")
    _in_order(path, rule, faults)


def _in_order(path: Path, rule: Table, faults: Faults) -> None:
    first, last = day_of(rule.get("first")), day_of(rule.get("last"))
    if first is not None and last is not None and last < first:
        faults.add((*path, "last"), f"{last} is before first ({first}); swap them")


def _stays(path: Path, helper: Table, faults: Faults) -> None:
    """A helper who stays until an hour comes at an earlier one."""
    come, leave = _hour(helper.get("at")), _hour(helper.get("until"))
    if "until" in helper and "at" not in helper:
        faults.add((*path, "until"), "needs at beside it: the hour at which they come")
    elif come is not None and leave is not None and leave <= come:
        words = f"{write_hour(leave)} is not after at ({write_hour(come)}); write a later hour, or drop it"
        faults.add((*path, "until"), words)


def _hour(written: object) -> float | None:
    """The hour, where it can be read; elsewhere the schema says why not."""
    try:
        return read_hour(written) if isinstance(written, str) else None
    except Unreadable:
        return None


def _zone(written: object) -> str | None:
    """The time zone, where it can be read; elsewhere the schema says why not."""
    try:
        return read_time_zone(written) if isinstance(written, str) else None
    except Unreadable:
        return None


@cache
def _places() -> dict[str, tuple[str, ...]]:
    """Countries whose public holidays are known, with their regions."""
    with _HOLIDAY_PLACES.open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(file)
        return {row["country"]: tuple(filter(None, row["regions"].split(";"))) for row in rows}


def _place(path: Path, rule: Table, faults: Faults) -> None:
    """A country or a region whose public holidays nobody here knows."""
    country, region = rule.get("country"), rule.get("region")
    if "region" in rule and "country" not in rule:
        faults.add((*path, "region"), "needs country beside it")
    if not isinstance(country, str):
        return
    if country not in _places():
        same = f"; did you mean '{country.upper()}'?" if country.upper() in _places() else ""
        message = (
            f"'{country}' is no country whose holidays are known{same or '; write its two letters, as GB'}"
        )
        faults.add((*path, "country"), message)
    elif isinstance(region, str) and region not in _places()[country]:
        regions = ", ".join(_places()[country]) or "none, leave it out"
        faults.add((*path, "region"), f"'{region}' is no region of {country}; known are {regions}")
