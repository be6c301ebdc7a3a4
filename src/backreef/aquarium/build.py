"""A plan file that passed the schema, as a `Plan`: ids given, phrases read, defaults taken and noted."""

from __future__ import annotations

from collections.abc import Iterable

from backreef.aquarium.build_tank import build_tank, note_reading
from backreef.aquarium.closures import Span, read_closures
from backreef.aquarium.crosscheck import assign_ids
from backreef.aquarium.dates import horizon_days, horizon_end
from backreef.aquarium.defaults import Assumptions
from backreef.aquarium.document import Table
from backreef.aquarium.faults import Faults
from backreef.aquarium.limits import all_keys
from backreef.aquarium.phrases import (
    Unreadable,
    condition_notes,
    read_gate,
    read_hour,
    read_presence,
    read_rhythm,
)
from backreef.aquarium.plan import (
    EVERY_WEEKDAY,
    AnimalEntry,
    BandGoal,
    ClosedRule,
    DefaultTaken,
    DeviceEntry,
    Goals,
    Helper,
    Keeper,
    Meal,
    Optimise,
    Plan,
    PresenceWindow,
    Rhythm,
    Upkeep,
    Wish,
)
from backreef.aquarium.schema import (
    AnimalTable,
    BandTable,
    ClosedTable,
    DeviceTable,
    GoalsTable,
    MealTable,
    PlanFile,
    UpkeepTable,
)
from backreef.aquarium.series import read_series, series_of
from backreef.catalogue.entries import Catalogue, Unknown, Value

PLUMBED = "plumbed"
"""In `DeviceEntry.numbers` of a top-off that is joined to a water line."""
_OF_A_DEVICE = (
    "hopper", "portion", "cells", "area", "volume", "light_par", "media", "reservoir", "dose", "flow",
    "power", "battery", "share_per_day", "alkalinity_per_day", "carbon_per_day",
)  # fmt: skip


def build_plan(file: PlanFile, document: Table, catalogue: Catalogue, faults: Faults) -> Plan:
    """The plan of a checked file; what only shows now is added to the faults."""
    assumed = Assumptions()
    ids = {name: assign_ids(document, name) for name in ("animals", "meals", "upkeep", "devices")}
    there = any(animal.arrives_on is None and animal.gate is None for animal in file.animals)
    tank = build_tank(file.tank, animals_there=there, assumed=assumed, faults=faults)
    keeper = _keeper(file, assumed, faults)
    animals = [_animal(one, ids["animals"][n], n, file, assumed) for n, one in enumerate(file.animals)]
    meals = [_meal(one, ids["meals"][n], n, assumed) for n, one in enumerate(file.meals)]
    builder = _UpkeepBuilder(catalogue, assumed, faults)
    upkeep = [builder.build(one, ids["upkeep"][n], n) for n, one in enumerate(file.upkeep)]
    devices = [_device(one, ids["devices"][n]) for n, one in enumerate(file.devices)]
    _note_lengths(animals, catalogue, assumed)
    goals = _goals(file.goals, assumed)
    return Plan(
        file=faults.file,
        name=tank.name,
        story=file.story.strip(),
        catalogue=file.catalogue.strip(),
        start_on=file.start_on,
        horizon_days=horizon_days(file.start_on, years=goals.horizon_years),
        tank=tank,
        keeper=keeper,
        animals=tuple(animals),
        meals=tuple(meals),
        upkeep=tuple(upkeep),
        devices=tuple(devices),
        goals=goals,
        assumptions=assumed.sorted(),
    )


def _keeper(file: PlanFile, assumed: Assumptions, faults: Faults) -> Keeper:
    table = file.keeper
    minutes = table.minutes_per_month
    presence: Iterable[tuple[PresenceWindow, ...]] = (
        table.presence if table.presence is not None else [read_presence(assumed.text("keeper.presence"))]
    )
    windows = tuple(window for windows in presence for window in windows)
    span = Span(
        first_on=file.start_on,
        last_on=horizon_end(file.start_on, years=file.goals.horizon),
        presence=windows,
        time_zone=table.time_zone,
    )
    return Keeper(
        name=table.name or assumed.text("keeper.name"),
        minutes_per_month=minutes if minutes is not None else assumed.value("keeper.minutes_per_month"),
        presence=windows,
        closed=tuple(
            one for number, rule in enumerate(table.closed) for one in _closed(rule, number, span, faults)
        ),
        helpers=tuple(
            Helper(
                name=helper.name,
                tasks=tuple(helper.tasks),
                weekdays=helper.days if helper.days is not None else EVERY_WEEKDAY,
                when_closed=helper.when_closed,
                minutes_per_visit=helper.minutes_per_visit,
                first_on=helper.first,
                last_on=helper.last,
                at_hour=helper.at,
                until_hour=helper.until,
            )
            for helper in table.helpers
        ),
        refuses=tuple(table.refuses),
        wishes=tuple(
            Wish(text=wish.text, weight=wish.weight, species=tuple(wish.species)) for wish in table.wishes
        ),
        stops_after=dict(table.stops_after),
        money=table.money,
        prices=dict(table.prices),
        time_zone=table.time_zone,
    )


def _closed(rule: ClosedTable, number: int, span: Span, faults: Faults) -> tuple[ClosedRule, ...]:
    """One rule, or as many as a calendar has stretches of closed days."""
    if rule.calendar is not None:
        try:
            return read_closures(rule.calendar, plan_file=faults.file, span=span)
        except Unreadable as refusal:
            faults.add(("keeper", "closed", number, "calendar"), str(refusal))
            return ()
    return (_closed_rule(rule),)


def _closed_rule(rule: ClosedTable) -> ClosedRule:
    label = rule.label or ""
    if rule.country is not None:
        return ClosedRule(
            kind="public_holidays", label=label or "public holiday", country=rule.country, region=rule.region
        )
    if rule.weekday is not None:
        return ClosedRule(kind="weekday", label=label or "closed weekday", weekday=rule.weekday)
    if rule.every_year is not None:
        days = rule.every_year
        return ClosedRule(
            kind="yearly",
            label=label or "closed every year",
            first_month=days.first_month,
            first_day=days.first_day,
            last_month=days.last_month,
            last_day=days.last_day,
        )
    return ClosedRule(kind="dates", label=label or "closed", first_on=rule.first, last_on=rule.last)


def _animal(
    table: AnimalTable, own_id: str, number: int, file: PlanFile, assumed: Assumptions
) -> AnimalEntry:
    gate = read_gate(table.gate) if table.gate is not None else None
    arrives_on = table.arrives_on
    key = f"animals[{number}]"
    if gate is not None and arrives_on is None:
        arrives_on = file.start_on
        _note_plain(assumed, f"{key}.arrives_on", str(arrives_on), "a gate without a date opens at any time")
    if table.gate is not None and gate is not None:
        for condition in gate.conditions:
            note_reading(f"{key}.gate", condition_notes(condition.text), assumed)
        for sighting in gate.sightings:
            if sighting.thing is None:
                _note_plain(
                    assumed,
                    f"{key}.gate (sight)",
                    f"'{sighting.text}' is taken as seen",
                    "no forecast can watch it",
                )
    return AnimalEntry(
        id=own_id,
        species=table.species,
        count=table.count,
        length_cm=table.length,
        arrives_on=arrives_on,
        quarantine_d=table.quarantine,
        treated=table.treated,
        sex=table.sex,
        gate=table.gate,
        gate_conditions=gate.conditions if gate else (),
        gate_sightings=gate.sightings if gate else (),
        why=table.why,
    )


def _note_plain(assumed: Assumptions, key: str, value: str, why: str) -> None:
    assumed.note(
        DefaultTaken(
            key=key,
            value=value,
            unit="",
            low=None,
            high=None,
            status="practice",
            source=f"our choice: {why}",
            changes="When the animals arrive.",
        )
    )


def _note_lengths(animals: list[AnimalEntry], catalogue: Catalogue, assumed: Assumptions) -> None:
    """Note the usual size where the plan gives no length."""
    for number, animal in enumerate(animals):
        usual = catalogue.species[animal.species].purchase_length_cm
        if animal.length_cm is not None or isinstance(usual, Unknown):
            continue
        assumed.note(
            DefaultTaken(
                key=f"animals[{number}].length",
                value=f"{usual.value:g}",
                unit="cm",
                low=usual.low,
                high=usual.high,
                status=usual.status,
                source=usual.source or "common practice, no source",
                changes="Small animals need more food for their mass and more time to fill the tank.",
            )
        )


def _meal(table: MealTable, own_id: str, number: int, assumed: Assumptions) -> Meal:
    key = f"meals[{number}]"
    times = table.times
    if times is None:
        times = [read_hour(assumed.text("meals.times", of=f"{key}.times"))]
    pause = table.pump_pause
    return Meal(
        id=own_id,
        food=table.food,
        grams_as_fed=table.amount,
        enough_for=table.enough_for,
        who=tuple(table.who),
        by=table.by,
        times=tuple(sorted(times)),
        weekdays=table.days.weekdays if table.days else EVERY_WEEKDAY,
        only_when_present=table.days.only_when_present if table.days else False,
        pump_pause_min=pause
        if pause is not None
        else assumed.value("meals.pump_pause", of=f"{key}.pump_pause"),
    )


class _UpkeepBuilder:
    """Makes upkeep entries; the usual rhythm of a task comes from the catalogue."""

    def __init__(self, catalogue: Catalogue, assumed: Assumptions, faults: Faults) -> None:
        self._tasks = catalogue.tasks
        self._assumed = assumed
        self._faults = faults

    def build(self, table: UpkeepTable, own_id: str, number: int) -> Upkeep:
        """One entry."""
        if table.when is not None:
            note_reading(f"upkeep[{number}].when", condition_notes(table.when.text), self._assumed)
        kind, amount = table.amount if table.amount is not None else ("", None)
        return Upkeep(
            id=own_id,
            task=table.task,
            share_frac=table.share,
            amount_g=amount if kind == "g" else None,
            amount_l=amount if kind == "l" else None,
            rhythm=table.every if table.every is not None else self._usual(table.task, number),
            by=table.by,
            when=table.when,
            minutes=table.minutes,
            at_hour=table.at,
            within_days=table.within,
        )

    def _usual(self, task: str, number: int) -> Rhythm:
        """The catalogue's interval of a task; a fault where it has none."""
        usual = self._tasks[task].every_days
        if not isinstance(usual, Value):
            message = f"is missing, and {task} has no usual interval ({usual.reason}); write it, as '30 days'"
            self._faults.add(("upkeep", number, "every"), message)
            return read_rhythm("1 day")
        text = f"{usual.value:g} days"
        self._assumed.note(
            DefaultTaken(
                key=f"upkeep[{number}].every",
                value=text,
                unit="",
                low=usual.low,
                high=usual.high,
                status=usual.status,
                source=usual.source or "common practice, no source",
                changes="Minutes a month, and how soon a drift or a fault is noticed.",
            )
        )
        return read_rhythm(text)


def number_name(key: str) -> str:
    """The name with unit of a device's number: hopper_g for hopper."""
    token = all_keys()[f"devices[].{key}"].token or "count"
    if not key.endswith("_per_day"):
        return f"{key}_{token}"
    return f"{key.removesuffix('_per_day')}_{token}" + ("" if token.endswith("_per_d") else "_per_d")


def device_number_names() -> dict[str, str]:
    """Key in the plan file -> name with unit in `DeviceEntry.numbers`."""
    return {key: number_name(key) for key in _OF_A_DEVICE}


def _device(table: DeviceTable, own_id: str) -> DeviceEntry:
    numbers = {name: getattr(table, key) for key, name in device_number_names().items()}
    numbers |= {PLUMBED: 1.0} if table.plumbed else {}
    return DeviceEntry(
        id=own_id,
        kind=table.kind,
        count=table.count,
        numbers={name: float(value) for name, value in numbers.items() if value is not None},
        on_at=table.on_at,
        hours=table.hours,
    )


def _goals(table: GoalsTable, assumed: Assumptions) -> Goals:
    horizon = table.horizon
    return Goals(
        bands={name: band for word, one in table.bands.items() for name, band in [_band(word, one)]},
        horizon_years=horizon if horizon is not None else assumed.value("goals.horizon"),
        optimise=table.optimise or _optimise(assumed),
        keep=tuple(table.keep),
    )


def _optimise(assumed: Assumptions) -> Optimise:
    assumed.text("goals.optimise")
    return "fewest_hands"


def _band(word: str, table: BandTable) -> tuple[str, BandGoal]:
    """Name with unit, and the bounds in that unit."""
    bounds = {
        name: read_series(word, str(text)).value
        for name in ("act_low", "act_high", "harm_low", "harm_high")
        if (text := getattr(table, name)) is not None
    }
    return series_of(word).series, BandGoal(**bounds)
