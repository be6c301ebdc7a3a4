"""An absence made ready to be marched, and who looks in meanwhile."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.schedule.away import Absence
from backreef.schedule.people import hour_of
from backreef.schedule.presence import HelperPresence, Presence
from backreef.simulation.day_light import HOURS
from backreef.simulation.prepared import Prepared

SEEN_AT_ALL = "equipment_look"


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """An absence that is ready to be marched with nothing wrong."""

    plan: Plan
    """With the keeper away, no longer than the stretch."""
    catalogue: Catalogue
    absence: Absence
    prepared: Prepared
    first_day: int

    @property
    def hours(self) -> int:
        """From leaving to the return. [h]"""
        return self.absence.days * int(HOURS)

    def since_h(self, day: int, hour: float) -> float:
        """Hours from leaving to an hour of a day of the horizon. [h]"""
        return (day - self.first_day) * HOURS + hour


def visits(scene: Scene) -> tuple[int, ...]:
    """Days of the horizon on which somebody looks in while the keeper is away."""
    days = range(scene.first_day, scene.first_day + scene.absence.days)
    helpers = scene.prepared.keeper.presence.helpers
    return tuple(day for day in days if any(helper.present[day] for helper in helpers))


def seen_h(task: str, scene: Scene) -> Iterator[float]:
    """Hours at which somebody comes who does the task and so sees what is wrong."""
    for helper in helpers_who_see(task, scene.prepared.keeper.presence, scene.catalogue):
        for day in range(scene.first_day, scene.first_day + scene.absence.days):
            if helper.present[day]:
                yield scene.since_h(day, comes_at(scene, day, helper.name))


def helpers_who_see(task: str, presence: Presence, catalogue: Catalogue) -> Iterator[HelperPresence]:
    """Helpers who do the task, or who do whatever a sitter can and so see it."""
    for helper in presence.helpers:
        sitter = task == SEEN_AT_ALL and not helper.tasks
        if sitter or task in helper.tasks or (not helper.tasks and _sitter_can(task, catalogue)):
            yield helper


def comes_at(scene: Scene, day: int, name: str = "") -> float:
    """Hour of the day at which a helper comes, or the first of those who come that day. [h]"""
    return hour_of(scene.prepared.keeper.presence, day, by=name)


def _sitter_can(task: str, catalogue: Catalogue) -> bool:
    known_task = catalogue.tasks.get(task)
    return known_task is not None and known_task.sitter_can_do == "yes"
