"""The books of matter: what entered and left by which door, and whether the totals close."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Literal

import numpy as np
import numpy.typing as npt

from backreef.judgement.horizon import horizon_months
from backreef.judgement.verdict import FluxLine
from backreef.models.mathops import Quantity
from backreef.models.matrix import food_composition, packaged_matrix
from backreef.models.tables import ELEMENTS
from backreef.simulation.bodies import body_of
from backreef.simulation.ensemble import Members
from backreef.simulation.layout import FOOD_TRAITS, LEDGER_ELEMENTS, OPERATORS, Layout
from backreef.simulation.prepared import Prepared
from backreef.simulation.tables import InItsUnit
from backreef.units import atomic_mass_g_per_mol
from backreef.working.members import Seen, middle, seen_once
from backreef.working.number import total
from backreef.working.record import told, told_constant

Array = npt.NDArray[np.float64]
MG_PER_G = 1000.0
LEAST_SHOWN_G = 1e-6
"""A door through which less than this goes in a month is not shown."""
LEAST_SIZE_MMOL = 1e-9
DOORS = {
    "feed": "food",
    "water_change": "water changes",
    "top_off": "make-up water",
    "harvest": "harvest and glass",
    "siphon": "siphon and socks",
    "media": "phosphate medium",
    "dose": "dosing",
    "animals": "animals added",
    "found": "carcasses taken out",
}
LEDGER_DOORS: dict[str, tuple[str, ...]] = {
    "gas to the air (denitrification)": ("B_N2",),
    "skimmer": ("B_SKC", "B_SKN", "B_SKP", "B_SKO"),
    "bone and mineral": ("B_PM",),
    "skeletons of corals and coralline": ("B_CaCO3",),
    "exchange with the air": ("B_GO2", "B_GC"),
    "activated carbon": ("B_AC",),
    "spores and stragglers": ("B_SDC", "B_SDN", "B_SDP", "B_SDO"),
}
GROWTH = "growth of animals"
Shown = Literal["C", "N", "P", "O2"]
SHOWN: dict[Shown, int] = {"C": 0, "N": 1, "P": 2, "O2": 3}
"""Element as it is shown -> its place among `ELEMENTS`; oxygen is counted as demand: with the other sign."""
BODY_PARTS = ("structure", "reserve")


def contents_of(layout: Layout, parameters: Array) -> dict[str, tuple[Quantity, ...]]:
    """Give the content of every component; that of offered foods differs between members."""
    matrix = packaged_matrix()
    contents: dict[str, tuple[Quantity, ...]] = {}
    for component in matrix.components:
        if component.composition is not None:
            contents[component.name] = component.composition
            continue
        food = int(component.name.removeprefix("Q_"))
        names = [f"food{food}_{trait}" for trait in FOOD_TRAITS]
        known = {name: parameters[layout.parameter(name)] for name in names}
        contents[component.name] = food_composition(known, food, matrix.tables)
    return contents


def _flesh_content() -> tuple[float, ...]:
    """Carbon, nitrogen, phosphorus and oxygen demand of a mmol of flesh."""
    body = body_of(packaged_matrix())
    return 1.0, body.nitrogen, body.phosphorus, body.oxygen_demand


def _flesh(layout: Layout, slots: int, row: Callable[[int], Array]) -> Quantity:
    """Carbon of all bodies, in the shape of a row."""
    return sum(row(layout.slot_address(slot, name, slots)) for slot in range(slots) for name in BODY_PARTS)


def _flesh_added(prepared: Prepared, members: Members, days: int) -> Array:
    """Carbon of the bodies that arrived after the first day, within so many days, (members,)."""
    total = np.zeros(members.count)
    for cohort in prepared.cohorts:
        if not cohort.settled and 0 < cohort.arrives_day < days:
            for name in BODY_PARTS:
                total += cohort.entry.count * members.begun.bodies["body", cohort.entry.id, name]
    return total


class Drift:
    """The largest drift of stocks and ledgers together, over their size, per element and lane."""

    def __init__(self, prepared: Prepared, parameters: Array) -> None:
        layout, lanes = prepared.layout, parameters.shape[1]
        self.layout, self.slots = layout, len(prepared.cohorts)
        rows = layout.rows(self.slots)
        self.shares, self.mixed = np.zeros((len(ELEMENTS), rows)), dict[int, tuple[Quantity, ...]]()
        for name, composition in contents_of(layout, parameters).items():
            if all(np.ndim(part) == 0 for part in composition):
                self.shares[:, layout.address(name)] = composition
            else:
                self.mixed[layout.address(name)] = composition
        for slot in range(self.slots):
            for part in BODY_PARTS:
                content = _flesh_content()
                self.shares[: len(content), layout.slot_address(slot, part, self.slots)] = content
        for door in OPERATORS:
            for element, letter in enumerate(LEDGER_ELEMENTS):
                self.shares[element, layout.address(f"{door}_{letter}")] = 1.0
        self.used = np.flatnonzero(self.shares.any(axis=0))
        self.first: Array | None = None
        self.found = np.zeros((len(ELEMENTS), lanes))

    def look(self, days: Array) -> None:
        """Look at days, (days, rows, lanes), that follow those looked at before."""
        shares, amounts = self.shares[:, self.used], days[:, self.used]
        total, size = shares @ amounts, np.abs(shares) @ np.abs(amounts)
        for row, composition in self.mixed.items():
            for element, part in enumerate(composition):
                amount = part * days[:, row]
                total[:, element] += amount
                size[:, element] += np.abs(amount)
        first = total[:1] if self.first is None else self.first
        self.first = first
        drift = np.abs(total - first) / np.maximum(size, LEAST_SIZE_MMOL)
        self.found = np.maximum(self.found, drift.max(axis=0))


def conservation(members: Members) -> dict[str, float]:
    """Give, per element, the largest drift of any member, as `Drift` found it. [-]"""
    drift = members.audits
    if drift is None:
        raise ValueError("these members were marched without `Drift` as their audit")
    return {
        name: seen_once(
            float(drift[element].max()),
            Seen(symbol=f"drift_{name}", what=f"largest drift of {name} in any member, over its size"),
        )
        for element, name in enumerate(ELEMENTS)
    }


def fluxes(prepared: Prepared, members: Members) -> tuple[FluxLine, ...]:
    """Give what came in (positive) and left (negative) by each door, g of the element a month."""
    contents = contents_of(prepared.layout, members.parameters)
    return tuple(
        line
        for shown, element in SHOWN.items()
        for line in _lines(shown, _moved(prepared, members, contents, element), prepared)
    )


def comes_in(lines: Sequence[FluxLine]) -> float:
    """Give what came in by all doors. [g/month]"""
    return total(line.g_per_month_p50 for line in lines if line.g_per_month_p50 > 0)


def leaves(lines: Sequence[FluxLine]) -> float:
    """Give what left by all doors. [g/month]"""
    return -total(line.g_per_month_p50 for line in lines if line.g_per_month_p50 < 0)


def remains(lines: Sequence[FluxLine]) -> float:
    """Give what came in and did not leave. [g/month]"""
    return comes_in(lines) - leaves(lines)


def rows_of_books(layout: Layout) -> frozenset[int]:
    """Give the rows of the ledgers, which `moved_until` reads."""
    doors = {f"{door}_{letter}" for door in DOORS for letter in LEDGER_ELEMENTS}
    ledgers = {name for names in LEDGER_DOORS.values() for name in names}
    return frozenset(layout.address(name) for name in doors | ledgers)


def moved_until(prepared: Prepared, members: Members, shown: Shown, day: int) -> dict[str, Array]:
    """Give what came in (positive) and left by each door up to the end of a day, g of the element by member.

    The members were marched with `rows_of_books` kept.
    """
    contents = contents_of(prepared.layout, members.parameters)
    moved = _moved(prepared, members, contents, SHOWN[shown], day=day)
    return {door: amount * _g_per_mmol(shown) for door, amount in moved.items()}


def _g_per_mmol(shown: Shown) -> InItsUnit:
    """Grams of an element in a mmol, with the sign in which it is shown."""
    mass = told(atomic_mass_g_per_mol(), "units.atomic_masses", source="prohaska2022", status="memory")
    mg_per_mmol = {"C": mass["C"], "N": mass["N"], "P": mass["P"], "O2": -2 * mass["O"]}[shown]
    return mg_per_mmol / told_constant(MG_PER_G, "MG_PER_G", __name__)


def _lines(shown: Shown, moved: Mapping[str, Array], prepared: Prepared) -> Iterator[FluxLine]:
    """What moved, mmol over the horizon, as grams in a month."""
    g_per_mmol = _g_per_mmol(shown)
    months = horizon_months(prepared)
    for door, amount in moved.items():
        seen = Seen(symbol="moved", what=f"{shown} by '{door}' over the plan, in less out", unit="mmol")
        g_per_month = middle(amount, seen) * g_per_mmol / months
        if abs(g_per_month) > LEAST_SHOWN_G:
            yield FluxLine(element=shown, door=door, g_per_month_p50=g_per_month)


def _moved(
    prepared: Prepared,
    members: Members,
    contents: Mapping[str, tuple[Quantity, ...]],
    element: int,
    *,
    day: int | None = None,
) -> dict[str, Array]:
    """Door in words -> what came in of an element since the first day, mmol by member; negative: left.

    Up to the last day, or to the end of a day whose rows were kept.
    """
    layout = prepared.layout
    days = prepared.keeper.days if day is None else day + 1

    def ends(place: int) -> Array:
        return members.ends(place) if day is None else members.row(place)[[0, day]]

    def since_first_day(name: str) -> Array:
        first, last = ends(layout.address(name))
        return np.asarray(last - first)

    moved = {words: -since_first_day(f"{door}_{LEDGER_ELEMENTS[element]}") for door, words in DOORS.items()}
    for words, ledgers in LEDGER_DOORS.items():
        moved[words] = np.zeros(members.count)
        for name in ledgers:
            moved[words] = moved[words] - contents[name][element] * since_first_day(name)
    flesh = _flesh(layout, len(prepared.cohorts), ends) + np.zeros((2, members.count))
    grown = flesh[1] - flesh[0] - _flesh_added(prepared, members, days)
    return moved | {GROWTH: -_flesh_content()[element] * grown}
