"""Figures of a rehearsal: the hours until an animal comes to risk, by each mishap of an absence."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date, timedelta
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from backreef.judgement.mishaps import could_happen, mishap_table
from backreef.judgement.rehearse import NOTHING_WRONG, Tried, chance_of, try_one
from backreef.judgement.rehearsed import EXTREMES, came_of, deciding, left_h, returned
from backreef.judgement.risks import DEATH_H, NEVER, STARVING_H, Danger, at_risk_h
from backreef.schedule.away import Absence
from backreef.simulation.draws import Draws
from backreef.usecases.asked import Asking, Figure, Found, refused, shown
from backreef.usecases.check import catalogue_of
from backreef.usecases.rehearse import weekdays_of
from backreef.working.number import Worked
from backreef.working.record import leaf, not_recording, recording, told_constant
from backreef.working.steps import About, InItsUnit
from backreef.working.tree import tree_of

if TYPE_CHECKING:
    from backreef.aquarium.plan import Plan

HOURS = "hours_to_risk"
BETWEEN, SITTER = "..", "+"
CHANCE = {"chance": "value", "chance_low": "low", "chance_high": "high"}
OF_OUTCOME = {
    "share_at_risk": "share of the members in which an animal comes to risk",
    "harm_heads": "animals at risk or lost, mean of the members",
    "lost_heads": "animals lost, mean of the members",
    **{
        f"{name}.{side}": f"{name.replace('_', ' ')}, {'lowest' if side == 'low' else 'highest'} while away"
        for name, side in EXTREMES
    },
    "chance": "chance of it",
    "chance_low": "chance of it, at least",
    "chance_high": "chance of it, at most",
}
"""What is told of a mishap beside the hours, each by its name."""

OfAbsence = Callable[[Asking, Absence], Found]
BesideIt = Callable[[Asking, str], tuple[str, ...]]
WITH = ".with."
ON_RETURN = {"now": "on return", "usual": "with nothing going wrong, or before"}


def absence_figures(asking: Asking) -> Iterator[Figure]:
    """What can be asked of each mishap that the plan may have while nobody is there."""
    feeders = tuple(asking.laid_out.keeper.meals.feeders)
    for ident, words in (*mishaps_of(asking.plan, feeders), (NOTHING_WRONG, "nothing goes wrong")):
        yield figure_of_absence(
            f"{ident}.{HOURS}",
            f"hours until the first animal is at risk in an absence: {words}",
            partial(hours_of, ident),
            beside=partial(_beside, ident),
            of_its_own=True,
        )
        for name, of_what in OF_OUTCOME.items():
            yield figure_of_absence(
                f"{ident}.{name}",
                f"{of_what} in an absence: {words}",
                partial(_came_of, name, ident),
                beside=partial(_beside, ident),
            )
        for kept, label in _kept_on_return(asking.plan):
            for part, of_what in ON_RETURN.items():
                yield figure_of_absence(
                    f"{ident}.on_return.{kept}.{part}",
                    f"{label} {of_what} after an absence: {words}",
                    partial(_on_return, kept, part, ident),
                    beside=partial(_beside_return, ident),
                )


def _nothing(_asking: Asking, _at: str) -> tuple[str, ...]:
    """Nothing is shown beside it."""
    return ()


def figure_of_absence(
    name: str, title: str, find: OfAbsence, *, beside: BesideIt = _nothing, of_its_own: bool = False
) -> Figure:
    """A figure that is asked of an absence, or else of the longest that the plan says of itself."""
    return Figure(
        name=name,
        title=title,
        daily=False,
        forecast=True,
        find=partial(_in_the_longest, find, name),
        away=find,
        beside=beside,
        of_its_own=of_its_own,
    )


def _kept_on_return(plan: Plan) -> Iterator[tuple[str, str]]:
    """What may be found on return, by its name."""
    for entry in plan.animals:
        yield f"{entry.id}.dead", f"dead of '{entry.id}'"
    for name, row in mishap_table()["found"].items():
        yield name, str(row["label"])


def _beside_return(ident: str, asking: Asking, at: str) -> tuple[str, ...]:
    """All else that is found on return from the same absence."""
    names = [f"{ident}.on_return.{name}" for name, _ in _kept_on_return(asking.plan)]
    return tuple(f"{name}.{part}@{at}" for name in names for part in ON_RETURN) if at else ()


def _on_return(kept: str, part: str, ident: str, asking: Asking, absence: Absence) -> Found:
    """What is found on return, as it is or as it would be."""
    key = (f"{ident} on return", absence_words(absence))
    if key not in asking.tried:
        tried = _tried(ident, asking, absence)
        with recording():
            found = () if tried.against is None else tuple(returned(tried.seen, tried.against))
        asking.tried[key] = {one.name: one for one in found}
    one = asking.tried[key].get(kept)
    if one is None:
        words = f"after '{ident}' in the absence of {absence_words(absence)} nothing of it is to be seen"
        raise refused(asking, words)
    value: InItsUnit = getattr(one, part)
    tree = tree_of(value, About(symbol=part, key=f"rehearsal.{ident}.on_return.{kept}.{part}", kind="law"))
    return Found(tree=tree, shown=shown(value, tree.root.about.unit), at=absence_words(absence))


def mishaps_of(plan: Plan, feeders: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Id and words of each mishap and pair that a plan may have in one absence or another."""
    table = mishap_table()
    for entry in table["mishaps"]:
        if could_happen(entry, plan):
            for target in feeders if entry.get("per") else ("",):
                ident = f"{entry['id']}.{target}" if target else str(entry["id"])
                yield ident, str(entry["what"]).format(device=f"the feeder '{target}'", animal="an animal")
    yield from ((str(entry["id"]), str(entry["what"])) for entry in table["pairs"])


def absence_of(asking: Asking, figure: Figure, text: str) -> Absence:
    """The absence that somebody wrote: '2027-08-02..2027-08-16', with '+Tue, Fri' if somebody looks in then.

    Raises
    ------
    InputFaults
        If it is none.
    """
    days, _, sitter = text.partition(SITTER)
    first, _, until = days.partition(BETWEEN)
    try:
        return Absence(
            first_on=date.fromisoformat(first.strip()),
            until_on=date.fromisoformat(until.strip()),
            sitter_weekdays=weekdays_of(sitter),
        )
    except ValueError:
        example = f"{figure.name}@2027-08-02..2027-08-16"
        words = f"'{text}' is no absence; write first day and day of return as {example}"
        raise refused(asking, f"{words}, and '+Tue, Fri' after it if somebody looks in") from None


def _beside(ident: str, _asking: Asking, at: str) -> tuple[str, ...]:
    """All else that is told of the same mishap."""
    return tuple(f"{ident}.{name}@{at}" for name in (HOURS, *OF_OUTCOME)) if at else ()


def _came_of(name: str, ident: str, asking: Asking, absence: Absence) -> Found:
    """A number of what came of a mishap, or how likely it is."""
    value = numbers_of_mishap(ident, asking, absence).get(name)
    if value is None:
        raise refused(asking, f"nobody knows it of '{ident}' in the absence of {absence_words(absence)}")
    tree = tree_of(value, About(symbol=name.replace(".", "_"), key=f"rehearsal.{ident}.{name}", kind="law"))
    return Found(tree=tree, shown=shown(value, ""), at=absence_words(absence))


def numbers_of_mishap(
    ident: str, asking: Asking, absence: Absence, helped_by: str = ""
) -> Mapping[str, InItsUnit | None]:
    """What is told of a mishap beside the hours, each with its working, found once."""
    key = (f"{ident}{WITH}{helped_by} numbers", absence_words(absence))
    if key not in asking.tried:
        tried = _tried(ident, asking, absence, helped_by)
        with recording():
            outcome = came_of(tried.seen, tried.begins_h, against=tried.against)
            chance = chance_of(tried.scene, ident)
        told = {name: getattr(outcome, name) for name in OF_OUTCOME if hasattr(outcome, name)}
        likely = {name: getattr(chance, part, None) for name, part in CHANCE.items()}
        asking.tried[key] = {**told, **outcome.extremes, **likely}
    found: Mapping[str, InItsUnit | None] = asking.tried[key]
    return found


def _tried(ident: str, asking: Asking, absence: Absence, helped_by: str = "") -> Tried:
    """A mishap as it was marched, once for all that is asked of it."""
    key = (f"{ident}{WITH}{helped_by}", absence_words(absence))
    if key not in asking.tried:
        with not_recording():
            draws = Draws(asking.seed, asking.members)
            asking.tried[key] = try_one(
                asking.plain, catalogue_of(asking.plain), absence, ident, draws, helped_by=helped_by
            )
    found: Tried | None = asking.tried[key]
    if found is None and helped_by:
        raise refused(
            asking, f"'{helped_by}' does nothing against '{ident}' in the absence of {absence_words(absence)}"
        )
    if found is None:
        raise refused(asking, f"'{ident}' cannot happen in the absence of {absence_words(absence)}")
    return found


def _in_the_longest(find: OfAbsence, name: str, asking: Asking, _on: date | None) -> Found:
    """In the longest absence that the plan says of itself."""
    stretches = [
        one for one in asking.laid_out.keeper.presence.absences if one.first_on > asking.plan.start_on
    ]
    if not stretches:
        words = f"the plan says no day on which nobody is there; ask as {name}@2027-08-02..2027-08-16"
        raise refused(asking, words)
    longest = max(stretches, key=lambda one: one.last_on - one.first_on)
    return find(asking, Absence(first_on=longest.first_on, until_on=longest.last_on + timedelta(days=1)))


def hours_of(ident: str, asking: Asking, absence: Absence, helped_by: str = "") -> Found:
    """The hours until the first animal is at risk, with what helps against it where that is named."""
    tried = _tried(ident, asking, absence, helped_by)
    hours = tried.outcome.hours_to_risk
    with recording():
        value = _worked(ident, tried, asking, absence)
    tree = tree_of(value, About(symbol=HOURS, key=f"rehearsal.{ident}.{HOURS}", kind="law", unit="h"))
    nobody = f"nobody comes to risk in more members than may ({tried.outcome.share_at_risk:.0%})"
    return Found(
        tree=tree,
        shown=nobody if hours is None else f"{shown(hours, 'h')}, {tried.outcome.who}",
        at=absence_words(absence),
    )


def absence_words(absence: Absence) -> str:
    """An absence as it is asked for."""
    days = f"{absence.first_on}{BETWEEN}{absence.until_on}"
    if not absence.sitter_weekdays:
        return days
    from backreef.aquarium.phrases import write_weekdays

    return f"{days}{SITTER}{write_weekdays(absence.sitter_weekdays)}"


def _worked(ident: str, tried: Tried, asking: Asking, absence: Absence) -> InItsUnit:
    """The hours of the member that decides; of an absence that harms nobody, how long it lasts."""
    member = deciding(tried.first_h)
    if tried.outcome.hours_to_risk is None:
        return leaf(float(absence.days * 24), _absence_about(asking, absence))
    danger = next(one for one in tried.seen.dangers if one.first_h[member] == tried.first_h[member])
    lasts = _lasts(danger)
    began = _began(danger, int(tried.first_h[member]) - danger.lasts_h, member, tried, asking)
    return left_h(at_risk_h(began, lasts), _begins(ident, tried))


def _absence_about(asking: Asking, absence: Absence) -> About:
    return About(
        symbol="absence_h",
        key="rehearsal.absence",
        kind="plan",
        what="the whole absence, in which nobody comes to risk by it",
        unit="h",
        place=f"{asking.file}, {absence_words(absence)}",
    )


def _lasts(danger: Danger) -> InItsUnit:
    """So long the harm is borne, as the table of risks says."""
    if danger.risk is None:
        starving = danger.measure is not None
        name, value = ("STARVING_H", float(STARVING_H)) if starving else ("DEATH_H", float(DEATH_H))
        return told_constant(value, name, "backreef.judgement.risks")
    risk = danger.risk
    about = About(
        symbol="lasts_h",
        key=f"judgement.risks.{risk.series}.hours",
        kind="constant",
        what=f"hours after which {danger.who} are at risk: {risk.what}",
        unit="h",
        source=risk.source,
        status=risk.status,
    )
    return leaf(float(danger.lasts_h), about)


def _began(danger: Danger, began_h: int, member: int, tried: Tried, asking: Asking) -> Worked:
    """The hour, since leaving, from which it is harmful without a break."""
    first = tried.first_h
    known = first[first < NEVER] - danger.lasts_h
    low, high = (float(np.percentile(known, percent)) for percent in (5, 95))
    sooner = int((first < first[member]).sum())
    measure = danger.measure
    bounds = (
        ""
        if measure is None
        else ", ".join(
            f"{side} {value:.4g} {measure.unit}".rstrip()
            for side, value in (("below", measure.harm_low), ("above", measure.harm_high))
            if value is not None
        )
    )
    of = f"{sooner} of {len(first)} sooner"
    harm = "deaths come" if measure is None else f"{measure.label} is {bounds}"
    about = About(
        symbol="began_h",
        key=f"rehearsal.began_h.member {member + 1}",
        kind="simulated",
        what=f"hour since leaving from which {harm}, in member {member + 1} ({of})",
        unit="h",
        low=low,
        high=high,
        source="the march of the absence, hour by hour",
        place=f"seed {asking.seed}",
        status="simulated",
        members=len(known),
    )
    return leaf(float(began_h), about)


def _begins(ident: str, tried: Tried) -> Worked:
    """The hour at which the mishap begins."""
    row = {} if tried.case is None else tried.case.entry.get("begins_h", {})
    at = "" if tried.case is None else str(tried.case.entry.get("at", ""))
    about = About(
        symbol="begins_h",
        key=f"judgement.mishaps.{ident}.begins_h",
        kind="constant",
        what=f"hour since leaving at which it begins{f', moved to the next {at}' if at else ''}",
        unit="h",
        source=str(row.get("source", "definition")),
        place=str(row.get("place", "with the leaving")),
        status=str(row.get("status", "exact")),
    )
    return leaf(float(tried.begins_h), about)
