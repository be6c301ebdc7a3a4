"""The equations that --explain-kernel prints, carried out as they stand, against the numpy engine."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from backreef.simulation.layout import FORCINGS, REGISTERS, SLOT_MARCHED
from backreef.simulation.oracle_system import OracleSystem
from backreef.simulation.programs import Kernel, Program
from backreef.simulation.shared_programs import SUM_WEIGHT
from backreef.usecases.kernel import program_lines, row_names
from tests.random_tanks import random_tank
from tests.tanks import Array, Life, Tank

CALLS = {"exp": math.exp, "log": math.log, "sqrt": math.sqrt}
LEAST_SHARE = 1e-6
"""A rate that is the small difference of large ones is compared with the largest rate there is."""


def carry_out(kernel: Kernel, program: Program, world: dict[str, Any]) -> None:
    """Carry out a program as it is printed; `world` has a namespace or an array for each name."""
    lines = program_lines(program, names=row_names(kernel))
    exec("\n".join(line.strip() for line in lines if not line.startswith("#")), dict(CALLS), world)


def named(names: tuple[str, ...], values: Array) -> SimpleNamespace:
    """Rows by their names."""
    return SimpleNamespace(**{name: float(value) for name, value in zip(names, values, strict=True)})


def printed_rates(tank: Tank, lane: int, forcings: dict[str, float]) -> Array:
    """Rates of one lane by the printed equations, in the order of marched rows."""
    kernel, block, layout = Kernel(tank.matrix, tank.layout), tank.block(), tank.layout
    names = {array: tuple(rows) for array, rows in row_names(kernel).items()}
    first = len(REGISTERS) + layout.shared
    state = block.state[:, lane]
    step = np.zeros(4)
    step[SUM_WEIGHT] = 1.0
    world: dict[str, Any] = {
        "p": named(names["p"], block.parameters[:, lane]),
        "r": named(names["r"], state[: len(REGISTERS)]),
        "y": named(names["y"], state[len(REGISTERS) : first]),
        "f": SimpleNamespace(**forcings),
        "s": SimpleNamespace(),
        "seen": SimpleNamespace(),
        "acidity": SimpleNamespace(),
        "step": step,
        "sums": np.zeros(layout.shared - layout.active),
    }
    terms = np.zeros(len(names["s"]))
    carry_out(kernel, kernel.segment(), world | {"out": terms})
    world |= {"s": named(names["s"], terms), "out": np.zeros(layout.active)}
    carry_out(kernel, kernel.acidity(), world)
    carry_out(kernel, kernel.shared_rates(), world)
    own = np.zeros((len(tank.animals), len(SLOT_MARCHED)))
    for slot, rates in enumerate(own):
        rows = state[first + slot * len(SLOT_MARCHED) :][: len(SLOT_MARCHED)]
        of_slot: dict[str, Any] = {"ys": rows, "outs": rates[:2], "own_sums": rates[2:]}
        of_slot["traits"] = named(names["traits"], block.traits[slot, :, lane])
        carry_out(kernel, kernel.slot_rates(), world | of_slot)
    return np.concatenate([world["out"], world["sums"], own.ravel()])


@pytest.mark.parametrize("seed", range(4))
def test_the_printed_equations_give_the_rates_of_the_numpy_engine(seed: int) -> None:
    tank = random_tank(seed, animals=seed)
    block, layout = tank.block(), tank.layout
    segment = Life(days=1, overflow=True).schedule(layout).segments[5]
    forcings = dict(zip(FORCINGS, segment[1 : 1 + len(FORCINGS)].tolist(), strict=True))
    system = OracleSystem(tank.matrix, layout, block.parameters)
    marched = block.state[len(REGISTERS) :][: layout.shared + len(tank.animals) * len(SLOT_MARCHED)]
    with np.errstate(all="ignore"):
        system.begin(block.state[: len(REGISTERS)], forcings)
        expected = system.rates(marched, block.traits, forcings).change
    for lane in (0, 5):
        found, right = printed_rates(tank, lane, forcings), expected[:, lane]
        size = np.maximum(np.abs(right), LEAST_SHARE * np.abs(right).max())
        assert np.max(np.abs(found - right) / size) < 1e-12
