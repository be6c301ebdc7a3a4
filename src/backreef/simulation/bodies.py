"""What the bodies of animals and the things they eat consist of, from the tables."""

from __future__ import annotations

from collections.abc import Mapping

from backreef.models.mathops import Quantity
from backreef.models.matrix import MACRONUTRIENTS, Matrix, food_composition
from backreef.models.mouths import FAECES, GROWN_POOLS, Body
from backreef.working.record import askable

BOTTOM_PARTS = ("X_FP", "X_FL", "X_FC", "X_FM")
"""What food on the bottom is made of: protein, fat, carbohydrate, phosphorus beside the protein."""


@askable
def body_of(matrix: Matrix) -> Body:
    """Give what animals consist of: protein and lipid in the ratio that gives their nitrogen."""
    protein, lipid = (matrix.tables.macronutrients[name] for name in MACRONUTRIENTS[:2])
    parameters = matrix.tables.parameters
    nitrogen, phosphorus = parameters["n_body"].value, parameters["p_body"].value
    share = nitrogen / protein["nitrogen_per_carbon"]
    demand = share * protein["oxygen_demand_per_carbon"] + (1 - share) * lipid["oxygen_demand_per_carbon"]
    loose = phosphorus - share * protein["phosphorus_per_carbon"]
    return Body(
        nitrogen=nitrogen,
        phosphorus=phosphorus,
        oxygen_demand=demand,
        protein=share,
        lipid=1 - share,
        loose_phosphorus=loose,
    )


def pool_compositions(known: Mapping[str, Quantity], matrix: Matrix) -> dict[str, tuple[Quantity, ...]]:
    """Give C, N, P and oxygen demand per mmol of each pool, of the parts of food on the bottom, of faeces."""
    contents: dict[str, tuple[Quantity, ...]] = {}
    for component in matrix.components:
        if component.kind == "food":
            number = int(component.name.removeprefix("Q_"))
            contents[component.name] = food_composition(known, number, matrix.tables)[:4]
        elif component.name in (*GROWN_POOLS, *BOTTOM_PARTS, *FAECES) and component.composition:
            contents[component.name] = component.composition[:4]
    return contents
