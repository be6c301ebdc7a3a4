"""Figures of what helps in an absence: against one mishap, and over all of them."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from functools import partial
from typing import TYPE_CHECKING

from backreef.errors import InputFaults
from backreef.judgement.advice import spared_heads
from backreef.judgement.mishaps import mishap_table
from backreef.judgement.rehearsal import LEAST_HEADS
from backreef.judgement.rehearse import minutes_of
from backreef.schedule.away import Absence
from backreef.usecases.asked import Asking, Figure, Found, shown
from backreef.usecases.asked_absence import (
    WITH,
    absence_words,
    figure_of_absence,
    hours_of,
    mishaps_of,
    numbers_of_mishap,
)
from backreef.working.record import recording
from backreef.working.steps import About, InItsUnit
from backreef.working.tree import tree_of

if TYPE_CHECKING:
    from backreef.aquarium.plan import Plan

ADVICE = "advice."
OF_HELP = {
    "spared_heads": "animals that it spares, mean of the members",
    "minutes": "minutes of work that it takes",
    "hours_to_risk": "hours until the first animal is at risk all the same",
    "share_at_risk": "share of the members in which an animal comes to risk all the same",
}
"""What is told of a mitigation, each by its name."""


def help_figures(asking: Asking) -> Iterator[Figure]:
    """What can be asked of each mitigation that the table of mishaps has."""
    feeders = tuple(asking.laid_out.keeper.meals.feeders)
    for ident, words, helps in _helped(asking.plan, feeders):
        for mitigation in helps:
            says = str(mishap_table()["mitigations"][mitigation]["says"])
            for name, of_what in OF_HELP.items():
                yield figure_of_absence(
                    f"{ident}{WITH}{mitigation}.{name}",
                    f"{of_what} in an absence: {words}; {says}",
                    partial(_of_help, name, mitigation, ident),
                    beside=partial(_beside_help, ident, mitigation),
                )
    for mitigation, entry in mishap_table()["mitigations"].items():
        yield figure_of_absence(
            f"{ADVICE}{mitigation}.spared_heads",
            f"animals that it spares on the mean of many absences: {entry['says']}",
            partial(_of_advice, mitigation),
            beside=partial(_beside_advice, mitigation),
        )
        yield figure_of_absence(
            f"{ADVICE}{mitigation}.minutes",
            f"minutes of work that it takes: {entry['says']}",
            partial(_of_help, "minutes", mitigation, ""),
        )


def _helped(plan: Plan, feeders: tuple[str, ...]) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """Each mishap and pair with what the table has against it."""
    table = mishap_table()
    against = {str(entry["id"]): tuple(entry["against"]) for entry in table["mishaps"]}
    against |= {
        str(entry["id"]): tuple(dict.fromkeys(name for of in entry["of"] for name in against[of]))
        for entry in table["pairs"]
    }
    for ident, words in mishaps_of(plan, feeders):
        yield ident, words, against[ident if ident in against else ident.partition(".")[0]]


def _beside_help(ident: str, mitigation: str, _asking: Asking, at: str) -> tuple[str, ...]:
    """All else that is told of the same mitigation."""
    return tuple(f"{ident}{WITH}{mitigation}.{name}@{at}" for name in OF_HELP) if at else ()


def _beside_advice(mitigation: str, _asking: Asking, at: str) -> tuple[str, ...]:
    """The minutes that it takes."""
    return (f"{ADVICE}{mitigation}.minutes@{at}",) if at else ()


def _of_advice(mitigation: str, asking: Asking, absence: Absence) -> Found:
    """What a mitigation spares over all mishaps of an absence, each by its chance; pairs are not counted."""
    found = []
    feeders = tuple(asking.laid_out.keeper.meals.feeders)
    pairs = {str(entry["id"]) for entry in mishap_table()["pairs"]}
    for ident, _, helps in _helped(asking.plan, feeders):
        if mitigation in helps and ident not in pairs:
            with suppress(InputFaults):  # not every mishap can come in this absence
                found.append(_spared(mitigation, ident, asking, absence))
    with recording():
        value = spared_heads(each for each in found if each is not None)
    key = f"rehearsal.{ADVICE}{mitigation}.spared_heads"
    tree = tree_of(value, About(symbol="spared_heads", key=key, kind="law"))
    return Found(tree=tree, shown=shown(value, ""), at=absence_words(absence))


def _spared(
    mitigation: str, ident: str, asking: Asking, absence: Absence
) -> tuple[InItsUnit, InItsUnit] | None:
    """Chance of a mishap, and what is spared in it; None where that is not worth naming, or nobody knows."""
    before = numbers_of_mishap(ident, asking, absence)
    chance, harmed = before["chance"], before["harm_heads"]
    if chance is None or harmed is None or harmed <= LEAST_HEADS:
        return None
    left = numbers_of_mishap(ident, asking, absence, mitigation)["harm_heads"]
    return None if left is None or harmed - left <= LEAST_HEADS else (chance, harmed - left)


def _of_help(name: str, mitigation: str, ident: str, asking: Asking, absence: Absence) -> Found:
    """A number of what a mitigation does against a mishap."""
    if name == "minutes":
        with recording():
            minutes = minutes_of(mitigation, asking.plan, asking.catalogue)
        about = About(symbol=name, key=f"rehearsal.{mitigation}.minutes", kind="law", unit="min")
        return Found(tree=tree_of(minutes, about), shown=shown(minutes, "min"), at=absence_words(absence))
    if name == "hours_to_risk":
        return hours_of(ident, asking, absence, mitigation)
    after = numbers_of_mishap(ident, asking, absence, mitigation)
    value = after["share_at_risk"]
    if name == "spared_heads":
        before, left = numbers_of_mishap(ident, asking, absence)["harm_heads"], after["harm_heads"]
        assert before is not None  # noqa: S101  a mean of the members is always known
        assert left is not None  # noqa: S101  as above
        value = before - left
    assert value is not None  # noqa: S101  as above
    tree = tree_of(value, About(symbol=name, key=f"rehearsal.{ident}.{mitigation}.{name}", kind="law"))
    return Found(tree=tree, shown=shown(value, ""), at=absence_words(absence))
