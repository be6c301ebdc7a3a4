"""Mistakes that only show between keys: names of nothing, doubles, dates and sizes that contradict.

These checks read the raw document, so that they also find their mistakes in a file that the schema refuses.
They pass over whatever has the wrong type: that is the schema's fault to tell.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from datetime import date
from itertools import pairwise

from backreef.aquarium.crosscheck_keeper import (
    check_keeper,
)
from backreef.aquarium.dates import horizon_end
from backreef.aquarium.document import Table, day_of, each, table, tables
from backreef.aquarium.faults import Faults, near
from backreef.aquarium.limits import all_keys, limit
from backreef.aquarium.places import Path
from backreef.aquarium.plan import BY_HAND
from backreef.aquarium.series import all_series, find_series, read_series
from backreef.catalogue.entries import Catalogue
from backreef.catalogue.find import Kind, find
from backreef.units import UnitError, parse_quantity

LISTS = {"animals": "species", "meals": "food", "upkeep": "task", "devices": "kind", "foods": "like"}
"""Each list of the plan, and the key whose id names an entry that has none."""
_SHELVES: dict[str, Kind] = {
    "animals": "species",
    "meals": "foods",
    "upkeep": "tasks",
    "devices": "devices",
    "foods": "foods",
}
_ONE: dict[str, str] = {"species": "animal", "foods": "food", "tasks": "task", "devices": "device"}
_FEEDER = "feeder"
_PAIR = 2


def cross_check(document: Table, catalogue: Catalogue, faults: Faults) -> None:
    """Every fault between keys, and every id that the catalogue does not have."""
    ids = {name: assign_ids(document, name) for name in LISTS}
    _doubles(document, faults)
    _catalogue_ids(document, catalogue, faults)
    _animals(document, faults)
    _meals(document, catalogue, ids, faults)
    _upkeep(document, ids, faults)
    check_keeper(document, faults)
    _display(document, faults)
    _bands(document, faults)


def assign_ids(document: Table, name: str) -> dict[int, str]:
    """The id of each entry of a list: its own, or what it is of, with a number where that is taken."""
    entries = list(tables(document, name))
    ids = {number: entry["id"] for number, entry in entries if isinstance(entry.get("id"), str)}
    taken = set(ids.values())
    for number, entry in entries:
        base = entry.get(LISTS[name])
        if number in ids or not isinstance(base, str):
            continue
        new, count = base, 1
        while new in taken:
            count += 1
            new = f"{base}_{count}"
        ids[number] = new
        taken.add(new)
    return ids


def _doubles(document: Table, faults: Faults) -> None:
    for name in LISTS:
        first: dict[str, int] = {}
        for number, entry in tables(document, name):
            own = entry.get("id")
            if not isinstance(own, str):
                continue
            if own in first:
                faults.add(
                    (name, number, "id"),
                    f"'{own}' is already the id of {name}[{first[own]}]; give it another",
                )
            first.setdefault(own, number)
            if name == "devices" and own == BY_HAND:
                faults.add((name, number, "id"), "'hand' means a person; give the device another id")


def _known(found: object, catalogue: Catalogue, kind: Kind, faults: Faults) -> str | None:
    """A complaint if the catalogue has no entry of this id."""
    known: Mapping[str, object] = getattr(catalogue, kind)
    if not isinstance(found, str) or found in known:
        return None
    what = _ONE[kind]
    if not faults.may_hint():
        return f"'{found}' is no {what} of the catalogue"
    meant = find(catalogue, kind, found)
    ids = ([meant.entry.id] if meant.entry else []) + list(meant.near)
    if not ids:
        return f"'{found}' is no {what} of the catalogue; 'backreef catalogue' lists all {len(known)}"
    others = f" or {ids[1]}" if len(ids) > 1 and not meant.entry else ""
    return f"'{found}' is no {what} of the catalogue; did you mean {ids[0]}{others}?"


def _catalogue_ids(document: Table, catalogue: Catalogue, faults: Faults) -> None:
    places: list[tuple[Path, object, Kind]] = []
    for name, kind in _SHELVES.items():
        key = LISTS[name]
        places += [((name, number, key), entry.get(key), kind) for number, entry in tables(document, name)]
    keeper = table(document, "keeper")
    places += [(("keeper", "refuses", n), word, "tasks") for n, word in each(keeper.get("refuses"))]
    places += [(("keeper", "stops_after", word), word, "tasks") for word in table(keeper, "stops_after")]
    places += [
        (("keeper", "prices", word), word, "species")
        for word in table(keeper, "prices")
        if word not in catalogue.devices
    ]
    for number, helper in tables(keeper, "helpers"):
        path: Path = ("keeper", "helpers", number, "tasks")
        places += [((*path, n), word, "tasks") for n, word in each(helper.get("tasks"))]
    for number, wish in tables(keeper, "wishes"):
        path = ("keeper", "wishes", number, "species")
        places += [((*path, n), word, "species") for n, word in each(wish.get("species"))]
    for place, found, kind in places:
        if complaint := _known(found, catalogue, kind, faults):
            faults.add(place, complaint)


def _animals(document: Table, faults: Faults) -> None:
    start = _start(document, faults)
    end = _end(start, document)
    total = 0
    for number, entry in tables(document, "animals"):
        count = entry.get("count", 1)
        _sex(entry.get("sex"), count, ("animals", number, "sex"), faults)
        total += count if isinstance(count, int) and 0 < count <= limit("animals") else 0
        arrives = day_of(entry.get("arrives_on"))
        if arrives is None or start is None:
            continue
        path: Path = ("animals", number, "arrives_on")
        if arrives < start:
            faults.add(
                path,
                f"{arrives} is before start_on ({start}); leave it out for animals that are already there",
            )
        elif end is not None and arrives > end:
            faults.add(
                path,
                f"{arrives} is after the last day that is judged ({end}); lengthen goals.horizon",
            )
    if total > limit("animals"):
        faults.add(("animals",), f"are {total} in all, but at most {limit('animals'):.0f} are read")


def _sex(sex: object, count: object, path: Path, faults: Faults) -> None:
    """A pair is two, a harem three or more."""
    if sex == "pair" and isinstance(count, int) and count != _PAIR:
        faults.add(
            path,
            f"is 'pair', but count is {count}; write count = {_PAIR}, or two entries with the sex of each",
        )
    if sex == "harem" and isinstance(count, int) and count <= _PAIR:
        faults.add(path, f"is 'harem', one male with females, but count is {count}; 3 or more")


def _start(document: Table, faults: Faults) -> date | None:
    """The first day, if the calendar does not end before any horizon does."""
    start = day_of(document.get("start_on"))
    latest_year = date.max.year - math.ceil(all_keys()["goals.horizon"].highest or 0.0) - 1
    if start is not None and start.year > latest_year:
        faults.add(
            ("start_on",),
            f"{start} is so late that the calendar ends before the plan; write a year up to {latest_year}",
        )
        return None
    return start


def _end(start: date | None, document: Table) -> date | None:
    """The last day, where there is one: a horizon that nobody believes is for the schema to refuse."""
    horizon = table(document, "goals").get("horizon")
    if start is None:
        return None
    if horizon is None:
        return horizon_end(start)
    key = all_keys()["goals.horizon"]
    try:
        years = parse_quantity(str(horizon), dimension=key.dimension, token=key.token)
    except UnitError:
        return None
    return horizon_end(start, years=years) if key.highest is None or years <= key.highest else None


def _by(path: Path, by: object, devices: Iterable[str], faults: Faults) -> bool:
    """Whether `by` names a device; a fault where it names nothing."""
    known = list(devices)
    if not isinstance(by, str) or by == BY_HAND:
        return False
    if by not in known:
        listed = f"; devices of this plan: {', '.join(known)}" if known else "; this plan has no devices"
        listed += "; what a person gives is by 'hand', of helpers by whoever may do that task"
        faults.add(
            path, f"'{by}' is neither 'hand' nor a device of this plan{near(by, [*known, BY_HAND]) or listed}"
        )
    return by in known


def _meals(document: Table, catalogue: Catalogue, ids: dict[str, dict[int, str]], faults: Faults) -> None:
    kinds = {ids["devices"].get(number): entry.get("kind") for number, entry in tables(document, "devices")}
    animals = set(ids["animals"].values())
    for number, entry in tables(document, "meals"):
        path: Path = ("meals", number)
        if ("amount" in entry) == ("enough_for" in entry):
            both = "both are given" if "amount" in entry else "neither is given"
            faults.add(path, f"needs either amount or enough_for; {both}")
        if "who" in entry and "enough_for" not in entry:
            faults.add((*path, "who"), "goes with enough_for only; an amount is for all who find it")
        for index, who in each(entry.get("who")):
            if isinstance(who, str) and who not in animals:
                hint = near(who, animals) or f"; animals of this plan: {', '.join(sorted(animals))}"
                faults.add((*path, "who", index), f"'{who}' is no animal of this plan{hint}")
        if _by((*path, "by"), entry.get("by"), ids["devices"].values(), faults):
            device = catalogue.devices.get(str(kinds[entry["by"]]))
            if device is not None and device.device_class != _FEEDER:
                faults.add(
                    (*path, "by"),
                    f"'{entry['by']}' is no feeder but {device.name.lower()}; name a feeder or 'hand'",
                )


def _upkeep(document: Table, ids: dict[str, dict[int, str]], faults: Faults) -> None:
    for number, entry in tables(document, "upkeep"):
        _by(("upkeep", number, "by"), entry.get("by"), ids["devices"].values(), faults)
        if "share" in entry and "amount" in entry:
            faults.add(
                ("upkeep", number, "amount"), "says the same as share in another way; keep one of the two"
            )


def _display(document: Table, faults: Faults) -> None:
    display = table(document, "tank").get("display")
    if not isinstance(display, dict):
        return
    sides = [name for name in ("length", "width", "height") if name in display]
    if "volume" not in display and len(sides) < len(("length", "width", "height")):
        given = f"only {' and '.join(sides)} given" if sides else "nothing is given"
        faults.add(("tank", "display"), f"needs volume, or length, width and height; {given}")


def _bands(document: Table, faults: Faults) -> None:
    bands = table(table(document, "goals"), "bands")
    for word, band in bands.items():
        path: Path = ("goals", "bands", word)
        if find_series(word) is None:
            words = [one.word for one in all_series()]
            allowed = f"; write one of {', '.join(words)}"
            faults.add(path, f"'{word}' is no water quantity{near(word, words) or allowed}")
        elif isinstance(band, dict):
            _band(path, word, band, faults)


def _band(path: Path, word: str, band: Table, faults: Faults) -> None:
    """Bounds that cannot be read, or stand in the wrong order."""
    read: dict[str, float] = {}
    for name in ("harm_low", "act_low", "act_high", "harm_high"):
        text = band.get(name)
        if text is None or isinstance(text, bool | list | dict):
            continue
        try:
            read[name] = read_series(word, str(text)).value
        except UnitError as refusal:
            faults.add((*path, name), str(refusal))
    names = list(read)
    for lower, upper in pairwise(names):
        if read[lower] > read[upper]:
            faults.add(
                (*path, upper), f"is below {lower}; the order is harm_low, act_low, act_high, harm_high"
            )
