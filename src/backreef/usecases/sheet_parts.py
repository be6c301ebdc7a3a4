"""How the parts of an away sheet come out of a plan: the lines that fit it, filled with its numbers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from backreef.aquarium.phrases import write_hour
from backreef.aquarium.plan import AnimalEntry, Plan
from backreef.catalogue.entries import Catalogue
from backreef.judgement.cautions import applying
from backreef.judgement.water import water_bands
from backreef.schedule.away import Absence, away_plan
from backreef.schedule.build import Schedule
from backreef.schedule.chores import Chore
from backreef.schedule.people import KEEPER
from backreef.simulation.day_light import HOURS, day_light
from backreef.usecases.sheet_page import Sheet, SheetVisit, Trouble, sheet_words
from backreef.usecases.sheet_steps import Amounts, preparations, step_of
from backreef.usecases.work import lay_out

CALL_LINES = 3
FISH = "fish"
HIDING = ("burrow", "cave", "crevice", "hidden", "hole", "in the sand")


def write_sheet(plan: Plan, catalogue: Catalogue, absence: Absence, *, calls: tuple[str, ...]) -> Sheet:
    """The sheet of an absence."""
    away = away_plan(plan, absence)
    schedule = lay_out(away, catalogue)
    there = [
        entry for entry in away.animals if entry.arrives_on is None or entry.arrives_on < absence.first_on
    ]
    amounts = Amounts(away, schedule, catalogue, absence)
    filled = _facts(away, schedule, catalogue, there)
    lines = _Lines(away, catalogue, there, filled)
    visits = _visits(away, schedule, absence, amounts)
    each_time = _common(visits)
    return Sheet(
        tank=away.name,
        keeper=away.keeper.name,
        absence=absence,
        visits=tuple(_without(visit, each_time) for visit in visits),
        looks=_looks(away, there, catalogue, filled),
        each_time=each_time,
        seen=tuple(_seen(there, catalogue)),
        leave=tuple(str(line["says"]).format_map(filled) for line in lines.of("leave")),
        normal=tuple(str(line["says"]).format_map(filled) for line in lines.of("normal")),
        troubles=tuple(
            Trouble(sign=str(line["sign"]).format_map(filled), do=str(line["do"]).format_map(filled))
            for line in lines.of("trouble")
        ),
        calls=calls or ("",) * CALL_LINES,
        cautions=tuple(_cautions(away, catalogue)),
        undone=tuple(_undone(schedule, absence, plan=away)),
        before=preparations(amounts, visits),
    )


# --- what is to be done -------------------------------------------------------------------------------------


def _visits(plan: Plan, schedule: Schedule, absence: Absence, amounts: Amounts) -> tuple[SheetVisit, ...]:
    """The days of each helper; days with the same work stand together."""
    first = absence.first_day(plan)
    by_day: dict[tuple[int, str], list[Chore]] = defaultdict(list)
    for chore in schedule.chores:
        day = chore.done_day
        if day is None or not first <= day < first + absence.days:
            continue
        if chore.look or chore.merged_into is not None or not _by_people(chore, plan):
            continue
        by_day[day, chore.by].append(chore)
    alike: dict[tuple[str, tuple[str, ...], tuple[str, ...]], list[tuple[int, float]]] = {}
    for (day, who), chores in sorted(by_day.items()):
        ordered = sorted(chores, key=lambda chore: (chore.hour, chore.task_id))
        steps = tuple(dict.fromkeys(step_of(c, amounts) for c in ordered if c.condition is None))
        only_if = tuple(
            f"{step_of(c, amounts)} (if {c.condition.text})" for c in ordered if c.condition is not None
        )
        minutes = sum(chore.minutes + chore.setup_minutes for chore in chores)
        alike.setdefault((who, steps, only_if), []).append((day, minutes))
    return tuple(
        SheetVisit(
            days=tuple(schedule.presence.on(day) for day, _ in days),
            who=who,
            steps=steps,
            only_if=only_if,
            minutes=max(minutes for _, minutes in days),
        )
        for (who, steps, only_if), days in alike.items()
    )


def _common(visits: Sequence[SheetVisit]) -> tuple[str, ...]:
    """Steps of every visit, where there are several."""
    if len(visits) < 2:  # noqa: PLR2004  one visit has nothing in common with another
        return ()
    return tuple(step for step in visits[0].steps if all(step in visit.steps for visit in visits))


def _without(visit: SheetVisit, each_time: Sequence[str]) -> SheetVisit:
    return replace(visit, steps=tuple(step for step in visit.steps if step not in each_time))


def _by_people(chore: Chore, plan: Plan) -> bool:
    return chore.by == KEEPER or any(chore.by == helper.name for helper in plan.keeper.helpers)


def _undone(schedule: Schedule, absence: Absence, *, plan: Plan) -> Iterator[str]:
    """Chores that cannot wait and that nobody can do while the keeper is away."""
    first = absence.first_day(plan)
    for chore in schedule.chores:
        if chore.done_day is None and not chore.look and first <= chore.due_day < first + absence.days:
            condition = "" if chore.condition is None else f", if {chore.condition.text}"
            yield f"{schedule.presence.on(chore.due_day)}: {chore.name}{condition}"


# --- the lines that fit the plan ----------------------------------------------------------------------------


class _Lines:
    """Chooses the lines of the table that fit a plan."""

    def __init__(
        self, plan: Plan, catalogue: Catalogue, there: Sequence[AnimalEntry], filled: Mapping[str, str]
    ) -> None:
        self.devices = {device.kind for device in plan.devices}
        self.kinds = {catalogue.species[entry.species].kind for entry in there}
        self.pauses = any(meal.pump_pause_min > 0 for meal in plan.meals)
        self.filled = filled

    def of(self, part: str) -> Iterator[Mapping[str, Any]]:
        """The lines of one part, in the order of the table."""
        for line in sheet_words()[part]:
            if self._fits(line):
                yield line

    def _fits(self, line: Mapping[str, Any]) -> bool:
        kinds = set(line.get("kinds", self.kinds))
        devices = set(line.get("devices", self.devices))
        unwanted = set(line.get("without_devices", ()))
        return (
            (kinds == self.kinds or bool(kinds & self.kinds))
            and (devices == self.devices or bool(devices & self.devices))
            and not unwanted & self.devices
            and line.get("pauses", self.pauses) == self.pauses
            and line.get("hides", bool(self.filled["hiders"])) == bool(self.filled["hiders"])
        )


def _facts(
    plan: Plan, schedule: Schedule, catalogue: Catalogue, there: Sequence[AnimalEntry]
) -> dict[str, str]:
    """What the lines are filled with."""
    light = day_light(plan)
    warm = next(band for band in water_bands(plan) if band.series == "temperature_c")
    hours = sorted({hour for meal in plan.meals if meal.by in schedule.meals.feeders for hour in meal.times})
    refugium = light.refugium or (0.0, 0.0)
    hiders = [
        catalogue.species[entry.species].common_name
        for entry in there
        if catalogue.species[entry.species].kind == FISH and _hides(catalogue.species[entry.species].zone)
    ]
    return {
        "cold": f"{warm.act_low:g}" if warm.act_low is not None else f"{plan.tank.temperature_c - 2:.0f}",
        "hot": f"{warm.act_high:g}" if warm.act_high is not None else f"{plan.tank.temperature_c + 2:.0f}",
        "light_on": write_hour(light.on_at_h % HOURS),
        "light_off": write_hour(light.off_at_h % HOURS),
        "refugium_on": write_hour(refugium[0]),
        "refugium_off": write_hour(sum(refugium) % HOURS),
        "feeder_hours": _listed([write_hour(hour) for hour in hours]),
        "pause": f"{max((meal.pump_pause_min for meal in plan.meals), default=0.0):.0f}",
        "hiders": _listed(hiders),
    }


def _hides(zone: str) -> bool:
    return any(word in zone for word in HIDING)


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else ""


def _looks(
    plan: Plan, there: Sequence[AnimalEntry], catalogue: Catalogue, filled: Mapping[str, str]
) -> tuple[str, ...]:
    words = sheet_words()["looks"]
    looks = [str(line).format_map(filled) for line in words["always"]]
    if any(catalogue.species[entry.species].kind == FISH for entry in there):
        looks.append(str(words["animals"]))
    if plan.tank.lid != "open":
        looks.append(str(words["cover"]))
    return tuple(looks)


def _seen(there: Sequence[AnimalEntry], catalogue: Catalogue) -> Iterator[str]:
    counts: dict[str, int] = defaultdict(int)
    for entry in there:
        species = catalogue.species[entry.species]
        if species.kind == FISH:
            counts[species.common_name] += entry.count
    yield from (f"{count} x {name}" for name, count in counts.items())


def _cautions(plan: Plan, catalogue: Catalogue) -> Iterator[str]:
    """The short form of the cautions that concern a sitter, the gravest first."""
    words = sheet_words()["cautions"]
    for caution, who in applying(plan, catalogue):
        if caution.id in words and caution.id != "always":
            yield str(words[caution.id]).format(who=_listed(who))
    yield str(words["always"])
