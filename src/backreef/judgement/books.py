"""The books of matter: what entered and left by which door, and whether the totals close."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from backreef.judgement.verdict import FluxLine
from backreef.models.matrix import food_composition, packaged_matrix
from backreef.models.tables import ELEMENTS
from backreef.simulation.bodies import body_of
from backreef.simulation.ensemble import Members
from backreef.simulation.layout import FOOD_TRAITS, LEDGER_ELEMENTS, OPERATORS
from backreef.simulation.prepared import Prepared
from backreef.units import atomic_mass_g_per_mol

Array = npt.NDArray[np.float64]
DAYS_PER_MONTH = 365.25 / 12
DOORS = {
    "feed": "food",
    "water_change": "water changes",
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
SHOWN = {"C": (0, "C"), "N": (1, "N"), "P": (2, "P"), "O2": (3, "O2")}


def _compositions(prepared: Prepared, members: Members) -> dict[str, tuple[object, ...]]:
    matrix, layout = packaged_matrix(), prepared.layout
    contents: dict[str, tuple[object, ...]] = {}
    for component in matrix.components:
        if component.composition is not None:
            contents[component.name] = component.composition
        else:
            food = int(component.name.removeprefix("Q_"))
            known = {
                f"food{food}_{trait}": members.parameters[layout.parameter(f"food{food}_{trait}")]
                for trait in FOOD_TRAITS
            }
            contents[component.name] = food_composition(known, food, matrix.tables)
    return contents


def _bodies(prepared: Prepared, members: Members) -> Array:
    layout, slots = prepared.layout, len(prepared.cohorts)
    total = np.zeros((prepared.keeper.days, members.count))
    for slot in range(slots):
        for name in ("structure", "reserve"):
            total = total + members.row(layout.slot_address(slot, name, slots))
    return total


def conservation(prepared: Prepared, members: Members) -> dict[str, float]:
    """Give, per element, the largest drift of stocks and ledgers together, relative to stock and throughput."""
    layout, matrix = prepared.layout, packaged_matrix()
    contents, body = _compositions(prepared, members), body_of(matrix)
    shape = (prepared.keeper.days, members.count)
    total, size = np.zeros((len(ELEMENTS), *shape)), np.zeros((len(ELEMENTS), *shape))
    for name, composition in contents.items():
        amount = members.row(layout.address(name))
        for element, part in enumerate(composition):
            if np.any(part):
                total[element] += part * amount
                size[element] += np.abs(part * amount)
    flesh = _bodies(prepared, members)
    for element, part in enumerate((1.0, body.nitrogen, body.phosphorus, body.oxygen_demand)):
        total[element] += part * flesh
        size[element] += part * flesh
    for door in OPERATORS:
        for element, letter in enumerate(LEDGER_ELEMENTS):
            amount = members.row(layout.address(f"{door}_{letter}"))
            total[element] += amount
            size[element] += np.abs(amount)
    drift = np.abs(total - total[:, :1]) / np.maximum(size, 1e-9)
    return {name: float(drift[element].max()) for element, name in enumerate(ELEMENTS)}


def fluxes(prepared: Prepared, members: Members) -> tuple[FluxLine, ...]:
    """Give what came in (positive) and left (negative) by each door, g of the element per month, median member."""
    months = max(1, prepared.keeper.days) / DAYS_PER_MONTH
    contents, layout = _compositions(prepared, members), prepared.layout
    mass = atomic_mass_g_per_mol()
    grams = {"C": mass["C"], "N": mass["N"], "P": mass["P"], "O2": 2 * mass["O"]}
    lines = []
    for shown, (element, _) in SHOWN.items():
        sign = -1.0 if shown == "O2" else 1.0
        for door, words in DOORS.items():
            row = members.row(layout.address(f"{door}_{LEDGER_ELEMENTS[element]}"))
            lines += _line(shown, words, -sign * (row[-1] - row[0]), grams[shown] / 1000.0 / months)
        for words, ledgers in LEDGER_DOORS.items():
            left = sum(
                (
                    contents[name][element]
                    * (members.row(layout.address(name))[-1] - members.row(layout.address(name))[0])
                    for name in ledgers
                ),  # type: ignore[operator]
                np.zeros(members.count),
            )
            lines += _line(shown, words, -sign * left, grams[shown] / 1000.0 / months)
        lines += _line(
            shown,
            "growth of animals",
            -sign * _grown(prepared, members, element),
            grams[shown] / 1000.0 / months,
        )
    return tuple(lines)


def _grown(prepared: Prepared, members: Members, element: int) -> Array:
    body = body_of(packaged_matrix())
    part = (1.0, body.nitrogen, body.phosphorus, body.oxygen_demand)[element]
    flesh = _bodies(prepared, members)
    return part * (flesh[-1] - flesh[0])


def _line(element: str, door: str, moved: Array, factor: float) -> Iterable[FluxLine]:
    value = float(np.median(moved)) * factor
    if abs(value) > 1e-6:
        yield FluxLine(element=element, door=door, g_per_month_p50=value)  # type: ignore[arg-type]
