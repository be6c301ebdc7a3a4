"""Rehearse an absence: hour by hour with nothing wrong, then with each mishap and with plausible pairs."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any

from backreef.aquarium.plan import DeviceEntry, Plan
from backreef.catalogue.entries import Catalogue, Unknown, known
from backreef.errors import Fault, InputFaults
from backreef.judgement.advice import advice_of
from backreef.judgement.findings import allowed_frac
from backreef.judgement.least_food import with_least_food
from backreef.judgement.mishap_marches import AS_IT_COMES, Marching, Softened, marching, together
from backreef.judgement.mishaps import Case, amount, cases_of, mishap_table
from backreef.judgement.rehearsal import LEAST_HEADS, Chance, Mishap, Mitigation, Outcome, Rehearsal
from backreef.judgement.rehearsed import came_of, first_by_it
from backreef.judgement.risks import IntArray, Seen, look
from backreef.judgement.scene import Scene
from backreef.schedule.away import FROM, Absence, away_plan
from backreef.simulation.day_light import HOURS
from backreef.simulation.draws import Draws
from backreef.simulation.prepared import Prepared, prepare
from backreef.simulation.windows import NOTHING, Kept, Stretch, keep_state, march_stretch
from backreef.working.record import told_number
from backreef.working.steps import About, InItsUnit

Progress = Callable[[str, int, int], None]
Helped = Callable[[str], Marching | None]
"""A mitigation by its id -> how things go with it; None where it does nothing here."""
AFTERWARDS_DAYS = 2
NOTHING_WRONG = "nothing_wrong"
"""Stands for the absence itself where the id of a mishap is asked for."""


def rehearse_plan(
    plan: Plan,
    catalogue: Catalogue,
    absence: Absence,
    *,
    members: int,
    seed: int,
    progress: Progress | None = None,
) -> Rehearsal:
    """The rehearsal of an absence."""
    return _Rehearsing(plan, catalogue, absence, Draws(seed, members)).run(progress)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """One mishap of a rehearsal, or nothing going wrong, as it was marched."""

    seen: Seen
    begins_h: int
    """The beginning of the mishap, from leaving. [h]"""
    case: Case | None
    """The mishap; of a pair the one that begins; None with nothing going wrong."""
    first_h: IntArray
    """(members,) hour at which an animal comes to risk that would not without it; `NEVER` for none."""
    outcome: Outcome
    against: Seen | None
    """The same with nothing going wrong; None for that itself."""
    scene: Scene


def chance_of(scene: Scene, mishap: str) -> Chance | None:
    """How likely a mishap or pair of an absence is; None where this absence has it not."""
    cases = cases_of(scene)
    known = {case.id: case.chance for case in cases}
    known |= {str(entry["id"]): _chance_of_both(entry, pair) for entry, pair in _pairs(cases, scene)}
    return known.get(mishap)


def try_one(
    plan: Plan, catalogue: Catalogue, absence: Absence, mishap: str, draws: Draws, *, helped_by: str = ""
) -> Tried | None:
    """One mishap or pair of a rehearsal by its id, and as a mitigation leaves it.

    None where this absence has it not, or the mitigation does nothing against it.
    """
    return _Rehearsing(plan, catalogue, absence, draws).one(mishap, helped_by)


def minutes_of(mitigation: str, plan: Plan, catalogue: Catalogue) -> InItsUnit:
    """Work of the keeper that a mitigation takes for one absence. [min]"""
    entry = mishap_table()["mitigations"][mitigation]
    return _minutes(entry, catalogue, owned=_owned(entry, plan))


class _Rehearsing:
    """One absence with what all its trials share."""

    def __init__(self, plan: Plan, catalogue: Catalogue, absence: Absence, draws: Draws) -> None:
        away = away_plan(with_least_food(plan, catalogue), absence)
        first_day = absence.first_day(away)
        if first_day < 1:
            words = (
                "the absence begins on the plan's first day, before anything is known; begin it a day later"
            )
            raise InputFaults([Fault(file=plan.file, line=None, key=FROM, message=words)])
        until_day = min(away.horizon_days, first_day + absence.days + AFTERWARDS_DAYS)
        short = replace(away, horizon_days=until_day)
        self.draws = draws
        self.scene = Scene(
            plan=short,
            catalogue=catalogue,
            absence=absence,
            prepared=_without_jams(prepare(short, catalogue)),
            first_day=first_day,
        )
        self.stretch = Stretch(first_day=first_day, until_day=until_day)

    def _leave(self) -> None:
        """March to the leaving, and the absence with nothing going wrong."""
        scene = self.scene
        self.kept: Kept = keep_state(scene.prepared, self.draws, scene.first_day)
        self.calm = self._seen(Marching(prepared=scene.prepared, trial=NOTHING))

    def one(self, mishap: str, helped_by: str = "") -> Tried | None:
        """March one mishap or pair, or nothing going wrong; None where this absence has it not."""
        scene = self.scene
        cases = cases_of(scene)
        found = {str(entry["id"]): pair for entry, pair in _pairs(cases, scene)}
        found |= {case.id: (case,) for case in cases}
        if mishap != NOTHING_WRONG and mishap not in found:
            return None
        self._leave()
        if mishap == NOTHING_WRONG:
            seen, against, case, begins = self.calm.without_chance, None, None, 0
        else:
            some = found[mishap]
            case = min(some, key=lambda each: each.begins_h)
            marched = self._some(some, helped_by)
            if marched is None:
                return None
            seen = self._seen(marched)
            against, begins = self.calm, case.begins_h
        return Tried(
            seen=seen,
            begins_h=begins,
            case=case,
            first_h=first_by_it(seen, against),
            outcome=came_of(seen, begins, against=against),
            against=against,
            scene=scene,
        )

    def _some(self, some: tuple[Case, ...], helped_by: str = "") -> Marching | None:
        """One mishap or several at once, as a mitigation leaves them; None where it does nothing."""
        left = tuple(self._left(helped_by, case) for case in some)
        if helped_by and all(each == AS_IT_COMES for each in left):
            return None
        return marching(some[0], self.scene, left[0]) if len(some) == 1 else together(some, self.scene, left)

    def run(self, progress: Progress | None) -> Rehearsal:
        """March everything."""
        scene = self.scene
        self._leave()
        cases = cases_of(scene)
        pairs = list(_pairs(cases, scene))
        total = len(cases) + len(pairs)
        found = []
        for number, case in enumerate(cases):
            found.append(self._mishap(case))
            _tell(progress, number + 1, total)
        for number, (entry, pair) in enumerate(pairs):
            found.append(self._pair(entry, pair))
            _tell(progress, len(cases) + number + 1, total)
        return Rehearsal(
            plan_name=scene.plan.name,
            plan_file=scene.plan.file,
            first_on=scene.absence.first_on,
            until_on=scene.absence.until_on,
            members=self.draws.members,
            seed=self.draws.seed,
            nothing_wrong=came_of(self.calm.without_chance, 0, against=None),
            nobody_there_for=tuple(_nobody_there(scene)),
            mishaps=tuple(sorted(found, key=_soonest)),
            sitter_weekdays=scene.absence.sitter_weekdays,
            advice=advice_of(found[: len(cases)]),
            allowed_frac=allowed_frac(),
        )

    def _seen(self, what: Marching) -> Seen:
        return look(march_stretch(what.prepared, self.stretch, self.kept, what.trial), self.scene.hours)

    def _mishap(self, case: Case) -> Mishap:
        outcome = came_of(self._seen(marching(case, self.scene)), case.begins_h, against=self.calm)

        def helped(name: str) -> Marching | None:
            return self._some((case,), name)

        return Mishap(
            id=case.id,
            what=case.what,
            begins_at=self._at(case.begins_h),
            lasts_h=case.ends_h - case.begins_h,
            chance=case.chance,
            chance_from=case.word,
            outcome=outcome,
            mitigations=self._mitigations(tuple(case.entry["against"]), helped, case.begins_h, outcome),
        )

    def _pair(self, entry: Mapping[str, Any], pair: tuple[Case, ...]) -> Mishap:
        begins = min(case.begins_h for case in pair)
        outcome = came_of(self._seen(together(pair, self.scene)), begins, against=self.calm)

        def helped(name: str) -> Marching | None:
            return self._some(pair, name)

        names = tuple(dict.fromkeys(name for case in pair for name in case.entry["against"]))
        return Mishap(
            id=str(entry["id"]),
            what=str(entry["what"]),
            begins_at=self._at(begins),
            lasts_h=max(case.ends_h for case in pair) - begins,
            chance=_chance_of_both(entry, pair),
            chance_from="both at once" if "share_frac" not in entry else str(entry["share_frac"]["place"]),
            outcome=outcome,
            mitigations=self._mitigations(names, helped, begins, outcome),
        )

    def _at(self, hours: float) -> datetime:
        return datetime.combine(self.scene.absence.first_on, time()) + timedelta(hours=hours)

    def _left(self, name: str, case: Case) -> Softened:
        """What a mitigation leaves of a case; all of it where it is none against that."""
        if name not in case.entry["against"]:
            return AS_IT_COMES
        return _softened(mishap_table()["mitigations"][name], case, self.scene)

    def _mitigations(
        self, names: tuple[str, ...], helped: Helped, begins_h: int, before: Outcome
    ) -> tuple[Mitigation, ...]:
        """Those that help, the most for the work first; of what harms nobody none is tried."""
        if before.harm_heads <= LEAST_HEADS:
            return ()
        tried = [self._mitigation(name, helped(name), begins_h, before) for name in names]
        useful = [each for each in tried if each is not None and each.harm_avoided_heads > LEAST_HEADS]
        return tuple(sorted(useful, key=lambda each: (-each.heads_per_hour_of_work, each.id)))

    def _mitigation(
        self, name: str, helped: Marching | None, begins_h: int, before: Outcome
    ) -> Mitigation | None:
        if helped is None:
            return None
        entry = mishap_table()["mitigations"][name]
        after = came_of(self._seen(helped), begins_h, against=self.calm)
        device = str(entry.get("device", ""))
        owned = _owned(entry, self.scene.plan)
        return Mitigation(
            id=name,
            what=str(entry["says"]),
            minutes=_minutes(entry, self.scene.catalogue, owned=owned),
            device="" if owned or not device else device,
            device_name="" if owned or not device else self.scene.catalogue.devices[device].name,
            price="" if owned or not device else self.scene.catalogue.devices[device].cost_band,
            harm_avoided_heads=before.harm_heads - after.harm_heads,
            hours_to_risk_after=after.hours_to_risk,
            share_at_risk_after=after.share_at_risk,
        )


def _about_minutes(entry: Mapping[str, Any]) -> About:
    row = entry["minutes"]
    return About(
        symbol="minutes",
        key=f"judgement.mishaps.mitigations.minutes.{entry['says']}",
        kind="constant",
        what=f"work of: {entry['says']}",
        unit=row["unit"],
        low=float(row["low"]),
        high=float(row["high"]),
        source=row["source"],
        place=row.get("place", "judgement/data/mishaps.toml"),
        status=row["status"],
    )


def _tell(progress: Progress | None, done: int, total: int) -> None:
    if progress is not None:
        progress("one mishap after another", done, total)


def _soonest(mishap: Mishap) -> tuple[float, float, str]:
    hours, chance = mishap.outcome.hours_to_risk, mishap.chance
    likely = chance.high if chance.value is None else chance.value
    return math.inf if hours is None else hours, -likely, mishap.id


def _without_jams(prepared: Prepared) -> Prepared:
    """The same, with feeders that never jam by chance: a rehearsal lets them jam on purpose."""
    keeper = prepared.keeper
    never = Unknown(reason="rehearsed apart")
    feeders = {name: replace(traits, jam_per_portion=never) for name, traits in keeper.meals.feeders.items()}
    return replace(prepared, keeper=replace(keeper, meals=replace(keeper.meals, feeders=feeders)))


def _nobody_there(scene: Scene) -> Iterator[str]:
    """Chores without a condition that fall in the absence and that nobody can do in time."""
    last = scene.first_day + scene.absence.days
    missed: dict[str, list[date]] = {}
    for chore in scene.prepared.keeper.chores:
        undone = chore.done_day is None and not chore.look and chore.condition is None
        if undone and scene.first_day <= chore.due_day < last:
            missed.setdefault(chore.name, []).append(scene.prepared.keeper.presence.on(chore.due_day))
    for name, days in missed.items():
        first, latest = (f"{on.day} {on:%B %Y}" for on in (days[0], days[-1]))
        yield f"{name}: {first}" if len(days) == 1 else f"{name}: {len(days)} times, {first} to {latest}"


def _pairs(cases: tuple[Case, ...], scene: Scene) -> Iterator[tuple[Mapping[str, Any], tuple[Case, ...]]]:
    """The pairs of the table whose mishaps this plan can have.

    Of several feeders the one that gives most is taken; where the table names one mishap twice, all of them.
    """
    for entry in mishap_table()["pairs"]:
        first, second = (_of(cases, name, scene) for name in entry["of"])
        if entry["of"][0] == entry["of"][1]:
            if len(first) > 1:
                yield entry, first
        elif first and second:
            yield entry, (first[0], second[0])


def _of(cases: tuple[Case, ...], name: str, scene: Scene) -> tuple[Case, ...]:
    """The cases of a mishap, that of the feeder which gives most first."""
    named = [case for case in cases if case.entry["id"] == name]
    return tuple(sorted(named, key=lambda case: -_grams_per_day(case, scene)))


def _chance_of_both(entry: Mapping[str, Any], pair: tuple[Case, ...]) -> Chance:
    """Both by chance; or, where one reason brings both, its share of the first."""
    one, other = pair[0].chance, pair[1].chance
    if "share_frac" in entry:
        share = entry["share_frac"]
        other = Chance(low=float(share["low"]), value=float(share["value"]), high=float(share["high"]))
    value = None if one.value is None or other.value is None else one.value * other.value
    return Chance(low=one.low * other.low, value=value, high=one.high * other.high)


def _softened(entry: Mapping[str, Any], case: Case, scene: Scene) -> Softened:
    """What a mitigation leaves of a mishap."""
    share = amount(entry, "share_frac") if "share_frac" in entry else 1.0
    until = math.inf
    if entry.get("ends") == "midway":
        until = scene.absence.days // 2 * HOURS + HOURS / 2
    elif "hours" in entry:
        until = case.begins_h + amount(entry, "hours")
    most = math.inf
    if "needed_ratio" in entry:
        per_day = _grams_per_day(case, scene)
        most = amount(entry, "needed_ratio") * per_day * (scene.absence.days - case.begins_h / HOURS)
    until = until if until > case.begins_h else math.inf
    return Softened(share_frac=share, until_h=until, most_g=most, devices=tuple(_added(entry, scene)))


def _added(entry: Mapping[str, Any], scene: Scene) -> Iterator[DeviceEntry]:
    """The device that a mitigation adds; as many as this volume of water needs."""
    if "adds" not in entry:
        return
    added = entry["adds"]
    count = 1
    if "per_l" in added:
        count = math.ceil(scene.plan.tank.water_volume_l / amount(added, "per_l"))
    numbers, kind = {"battery_h": amount(entry, "battery_h")}, str(added["kind"])
    ident = f"rehearsed_{kind}"
    yield DeviceEntry(id=ident, kind=kind, count=count, numbers=numbers, on_at=None, hours=None)


def _grams_per_day(case: Case, scene: Scene) -> float:
    last = scene.first_day + scene.absence.days
    given = (
        meal.food_g
        for meal in scene.prepared.keeper.meals.occasions
        if meal.by == case.target and scene.first_day <= meal.day < last
    )
    return sum(given) / scene.absence.days


def _owned(entry: Mapping[str, Any], plan: Plan) -> bool:
    """Whether the plan has the device of a mitigation, where one is enough."""
    device = str(entry.get("device", ""))
    return device == "monitor" and any(each.kind == device for each in plan.devices)


def _minutes(entry: Mapping[str, Any], catalogue: Catalogue, *, owned: bool) -> float:
    """Work for this absence: the table's, and setting up a device that is not there yet."""
    minutes = 0.0
    if "minutes" in entry:
        minutes = told_number(amount(entry, "minutes"), _about_minutes(entry))
    if "device" in entry and not owned:
        set_up = known(catalogue.devices[entry["device"]].set_up_min)
        minutes += 0.0 if set_up is None else set_up.value
    return minutes
