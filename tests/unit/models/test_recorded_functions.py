"""Functions of the kernel are recorded with symbols: replaying the record must give what numbers give."""

import math
import operator
from collections.abc import Callable

import numpy as np
import pytest

from backreef.models import ammonia, carbonate, carbonate_constants, growth, metabolism, seawater
from backreef.models.body_values import body_numbers
from backreef.models.mathops import Quantity
from backreef.models.symbols import Recorder, Symbol

Law = Callable[..., Quantity]


CALCULATE: dict[object, Callable[..., float]] = {
    "add": operator.add,
    "sub": operator.sub,
    "mul": operator.mul,
    "div": operator.truediv,
    "exp": math.exp,
    "log": math.log,
    "sqrt": math.sqrt,
    "select": lambda test, positive, otherwise: positive if test > 0.0 else otherwise,
}


def replay(recorder: Recorder, inputs: list[float]) -> list[float]:
    """Evaluate the recorded operations in plain Python."""
    values: list[float] = []
    for place, operation in enumerate(recorder.operations):
        constant = recorder.value_of(Symbol(recorder, place))
        if constant is not None:
            values.append(constant)
        elif operation[0] == "input":
            assert isinstance(operation[2], int)
            values.append(inputs[operation[2]])
        else:
            arguments = [values[argument] for argument in recorder.arguments(place)]
            values.append(CALCULATE[operation[0]](*arguments))
    return values


def recorded(law: Law, inputs: list[float]) -> tuple[Recorder, list[Symbol], Symbol]:
    recorder = Recorder()
    symbols = [recorder.input("y", index) for index in range(len(inputs))]
    return recorder, symbols, recorder.symbol(law(*symbols))


def hydrogen_per_litre(t: Quantity, s: Quantity, dic: Quantity, alkalinity: Quantity) -> Quantity:
    return carbonate.solve_hydrogen(dic, alkalinity, carbonate_constants.constants_per_litre(t, s))


def ph_per_litre(t: Quantity, s: Quantity, dic: Quantity, alkalinity: Quantity) -> Quantity:
    constants = carbonate_constants.constants_per_litre(t, s)
    return carbonate.ph_total(carbonate.solve_hydrogen(dic, alkalinity, constants), constants)


def omega(t: Quantity, s: Quantity, dic: Quantity, alkalinity: Quantity) -> Quantity:
    constants = carbonate_constants.constants_per_litre(t, s)
    hydrogen = carbonate.solve_hydrogen(dic, alkalinity, constants)
    carbonates = carbonate.carbonate_ion(dic, hydrogen, constants)
    return carbonate.omega_aragonite(10_000.0, carbonates, constants)


def in_air(t: Quantity, s: Quantity, alkalinity: Quantity) -> Quantity:
    constants = carbonate_constants.constants_per_litre(t, s)
    return carbonate.hydrogen_at_carbon_dioxide(alkalinity, constants.k0 * 420.0, constants)


def uptake(mass: Quantity, t: Quantity) -> Quantity:
    line = metabolism.oxygen_line(body_numbers(), family="Labridae")
    return metabolism.oxygen_uptake_mg_o2_per_d(mass, t, line)


def gain(mass: Quantity, kmax: Quantity) -> Quantity:
    line = growth.MassLine(a_g=0.02, b_ratio=3.0)
    return growth.potential_growth_g_per_d(mass, line=line, largest_cm=20.0, kmax_per_y=kmax)


WATER = [25.4, 34.2]
SOLVED = [*WATER, 2100.0, 2500.0]
LAWS: list[tuple[Law, list[float]]] = [
    (seawater.oxygen_solubility_umol_per_kg, WATER),
    (seawater.oxygen_saturation_umol_per_l, WATER),
    (seawater.oxygen_saturation_mg_per_l, WATER),
    (seawater.density_kg_per_m3, WATER),
    (seawater.heat_capacity_kj_per_kg_per_k, WATER),
    (seawater.evaporation_heat_kj_per_kg, WATER[:1]),
    (seawater.vapour_pressure_atm, WATER),
    (carbonate_constants.carbon_dioxide_solubility_umol_per_kg_per_uatm, WATER),
    (carbonate_constants.fugacity_ratio, WATER[:1]),
    (carbonate_constants.first_dissociation_umol_per_kg, WATER),
    (carbonate_constants.second_dissociation_umol_per_kg, WATER),
    (carbonate_constants.borate_dissociation_umol_per_kg, WATER),
    (carbonate_constants.water_product_umol2_per_kg2, WATER),
    (carbonate_constants.aragonite_product_umol2_per_kg2, WATER),
    (ammonia.ammonium_pk, WATER),
    (ammonia.ammonium_constant_umol_per_kg, WATER),
    (ammonia.nh3_share, [8.1, *WATER]),
    (hydrogen_per_litre, SOLVED),
    (ph_per_litre, SOLVED),
    (omega, SOLVED),
    (in_air, [*WATER, 2500.0]),
    (uptake, [4.0, 26.0]),
    (uptake, [80.0, 26.0]),
    (uptake, [400.0, 26.0]),
    (gain, [30.0, 0.3]),
    (gain, [200.0, 0.3]),
]


@pytest.mark.parametrize(("law", "inputs"), LAWS, ids=lambda part: getattr(part, "__name__", str(part)))
def test_it_means_the_same_recorded_as_computed(law: Law, inputs: list[float]) -> None:
    recorder, _, result = recorded(law, inputs)
    assert replay(recorder, inputs)[result.place] == pytest.approx(float(law(*inputs)), rel=1e-13, abs=1e-15)


@pytest.mark.parametrize(("law", "inputs"), LAWS, ids=lambda part: getattr(part, "__name__", str(part)))
def test_its_recorded_derivative_is_that_of_finite_differences(law: Law, inputs: list[float]) -> None:
    recorder, symbols, result = recorded(law, inputs)
    slopes = recorder.gradient(result, symbols)
    values = replay(recorder, inputs)
    for symbol, at in zip(symbols, inputs, strict=True):
        step = 1e-5 * at
        up, down = (
            float(law(*[value + sign * step if value == at else value for value in inputs]))
            for sign in (1.0, -1.0)
        )
        found = values[slopes[symbol.place].place] if symbol.place in slopes else 0.0
        assert found == pytest.approx((up - down) / (2.0 * step), rel=1e-5, abs=1e-9)


def test_its_given_slopes_are_those_of_the_recorded_steps() -> None:
    constants = carbonate_constants.constants_per_litre(*WATER)
    recorder, symbols, hydrogen = recorded(
        lambda dic, alkalinity: carbonate.solve_hydrogen(dic, alkalinity, constants), SOLVED[2:]
    )
    slopes = recorder.gradient(hydrogen, symbols)
    values = replay(recorder, SOLVED[2:])
    solved = values[hydrogen.place]
    given = carbonate.hydrogen_slopes(SOLVED[2], solved, constants)
    followed = [values[slopes[symbol.place].place] / solved for symbol in symbols]
    assert followed == pytest.approx([float(slope) for slope in given], rel=1e-10)


def test_it_solves_in_about_as_many_operations_as_it_was_chosen_for() -> None:
    constants = carbonate_constants.constants_per_litre(*WATER)
    recorder, _, _ = recorded(
        lambda dic, alkalinity: carbonate.solve_hydrogen(dic, alkalinity, constants), SOLVED[2:]
    )
    kinds = [operation[0] for operation in recorder.operations]
    assert kinds.count("exp") == kinds.count("log") == carbonate.LOGARITHMIC_STEPS
    assert len(kinds) < 300


def test_numbers_arrays_and_symbols_are_told_apart_by_no_one() -> None:
    alone = float(hydrogen_per_litre(*SOLVED))
    together = hydrogen_per_litre(*(np.full(3, value) for value in SOLVED))
    assert together == pytest.approx(np.full(3, alone), rel=1e-14)
