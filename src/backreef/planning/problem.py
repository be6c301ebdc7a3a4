"""What is to be planned: complete, or refused with everything that is missing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from backreef.aquarium.plan import AnimalEntry, DeviceEntry, Meal, Plan, Upkeep
from backreef.catalogue.entries import Catalogue
from backreef.catalogue.find import find
from backreef.errors import Fault, InputFaults
from backreef.simulation.tables import InItsUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """A plan whose newcomers and food are to be chosen, and with which luck it is looked at."""

    plan: Plan
    """As the keeper wrote it."""
    catalogue: Catalogue
    pinned: frozenset[str] = frozenset()
    """Ids of its lines that stay as they are."""
    asked: tuple[str, ...] = ()
    """Animals of which it is asked why they are not in the plan."""
    budgets_min_per_month: tuple[InItsUnit, ...] = ()
    """Other minutes a month for which a plan is sought too."""
    seed: int = 1
    prices: Mapping[str, InItsUnit] = field(default_factory=dict)
    """Of one of a kind, and of what a choice adds; empty where money is no matter."""

    @property
    def kept(self) -> Plan:
        """The plan with the animals that are there already and those that are pinned, nothing else."""
        stays = tuple(
            entry for entry in self.plan.animals if entry.arrives_on is None or entry.id in self.pinned
        )
        there = {entry.id for entry in stays}
        meals = tuple(
            replace(meal, who=tuple(who for who in meal.who if who in there)) for meal in self.plan.meals
        )
        return replace(self.plan, animals=stays, meals=meals)


def lines_of(plan: Plan) -> dict[str, AnimalEntry | Meal | Upkeep | DeviceEntry]:
    """Every line of a plan that has an id, by it."""
    return {
        **{line.id: line for line in plan.animals},
        **{line.id: line for line in plan.meals},
        **{line.id: line for line in plan.upkeep},
        **{line.id: line for line in plan.devices},
    }


def problem_of(
    plan: Plan,
    catalogue: Catalogue,
    *,
    pinned: Iterable[str] = (),
    asked: Iterable[str] = (),
    seed: int = 1,
) -> Problem:
    """What is to be planned.

    Raises
    ------
    InputFaults
        With everything that a proposal needs and the plan does not say.
    """
    meant, unknown = _animals(plan, catalogue, asked)
    pinned = frozenset(pinned)
    faults = [
        *_missing(plan),
        *_unknown_pins(plan, pinned, "--pin"),
        *_unknown_pins(plan, plan.goals.keep, "goals.keep"),
        *unknown,
    ]
    if faults:
        raise InputFaults(faults)
    return Problem(plan=plan, catalogue=catalogue, pinned=pinned | {*plan.goals.keep}, asked=meant, seed=seed)


def _animals(plan: Plan, catalogue: Catalogue, asked: Iterable[str]) -> tuple[tuple[str, ...], list[Fault]]:
    """The animals that somebody asks about, by id or by any of their names, and what is none."""
    meant: dict[str, None] = {}
    faults = []
    for text in asked:
        found = find(catalogue, "species", text)
        if found.entry is not None:
            meant[found.entry.id] = None
            continue
        hint = f"did you mean {found.near[0]}?" if found.near else "'backreef catalogue' lists all"
        said = f"'{text}' is no animal of the catalogue; {hint}"
        faults.append(Fault(file=plan.file, line=None, key="--why-not", message=said))
    return tuple(meant), faults


def _missing(plan: Plan) -> Iterator[Fault]:
    """What has a default in a forecast, but must be the keeper's own word in a proposal."""
    assumed = {taken.key for taken in plan.assumptions}

    def fault(key: str, message: str) -> Fault:
        return Fault(file=plan.file, line=None, key=key, message=message)

    if "keeper.minutes_per_month" in assumed:
        yield fault(
            "keeper.minutes_per_month",
            "a proposal is cut to the minutes that the keeper gives, and none are given; "
            'write minutes_per_month = "60 min" under [keeper]',
        )
    if "keeper.presence" in assumed:
        yield fault(
            "keeper.presence",
            "a proposal has to know on which days somebody is there; "
            'write presence = ["Mon-Fri 8:00-18:00"] under [keeper]',
        )
    if not plan.keeper.wishes:
        yield fault(
            "keeper.wishes",
            "nothing is wished for, so no plan is better than another; "
            'write wishes = [{ text = "something that grazes", weight = 1 }] under [keeper]',
        )


def _unknown_pins(plan: Plan, pinned: Iterable[str], key: str) -> Iterator[Fault]:
    known = set(lines_of(plan))
    for pin in sorted(set(pinned) - known):
        yield Fault(
            file=plan.file,
            line=None,
            key=key,
            message=f"'{pin}' is no id of the plan; it has {', '.join(sorted(known)) or 'none'}",
        )
