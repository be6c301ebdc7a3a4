"""Tanks in random states, for tests that must hold in every state."""

from __future__ import annotations

import numpy as np

from backreef.models.matrix import Matrix, packaged_matrix
from backreef.models.mouths import POOLS
from tests.tanks import Animal, Array, Tank, an_animal, reference_tank

WIDE = 0.7
"""Spread of random amounts, as the standard deviation of their logarithm."""
NARROW = 0.2
"""The same of random rate constants."""


def spread(generator: np.random.Generator, value: float, width: float, shape: int | tuple[int, ...]) -> Array:
    """Log-normal numbers around a value."""
    return value * np.exp(width * np.clip(generator.standard_normal(shape), -2.5, 2.5))


def own_generator(seed: int, name: str) -> np.random.Generator:
    """Luck of one name: a new row of a table leaves that of all others."""
    return np.random.default_rng([seed, *name.encode()])


def random_animal(generator: np.random.Generator, *, lanes: int = 8) -> Animal:
    """An animal that likes some of everything, fed or hungry."""
    likes = {pool: float(generator.uniform(0.05, 1.0)) for pool in POOLS if generator.random() < 0.6}
    plain = an_animal(
        float(generator.integers(1, 9)),
        likes=likes,
        burn_mmol_per_d=float(spread(generator, 1.0, WIDE, 1)[0]),
        intake_mmol_per_d=float(spread(generator, 4.0, WIDE, 1)[0]),
        base_hazard_per_d=0.01,
    )
    traits = {
        name: spread(generator, float(value), NARROW, lanes) if value else 0.0
        for name, value in plain.traits.items()
        if name not in {"count", "day", "night", "refractory"}
    }
    reserve = float(plain.traits["goal"]) * plain.count * float(generator.uniform(0.02, 1.2))
    return Animal(
        traits={**plain.traits, **traits},
        nature=plain.nature,
        structure_mmol=plain.structure_mmol,
        reserve_mmol=reserve,
        count=plain.count,
    )


def random_tank(
    seed: int, *, animals: int = 3, lanes: int = 8, matrix: Matrix | None = None, width: float = NARROW
) -> Tank:
    """A tank with random amounts, random rate constants and random animals; no two lanes are alike."""
    generator = np.random.default_rng(seed)
    used = matrix or packaged_matrix()
    usual = reference_tank()["start"]
    start: dict[str, float | Array] = {}
    for component in used.components:
        if component.typical is not None:
            middle = usual.get(component.name) or 0.05 * component.typical
            start[component.name] = spread(own_generator(seed, component.name), middle, WIDE, lanes)
    start["S_DIC"] = spread(generator, 430.0, 0.1, lanes)
    start["S_ALK"] = spread(generator, 490.0, 0.1, lanes)
    parameters: dict[str, float | Array] = {
        symbol: spread(own_generator(seed, symbol), parameter.value, width, lanes)
        for symbol, parameter in used.tables.parameters.items()
        if parameter.low != parameter.high
    }
    registers: dict[str, float | Array] = {
        "T": generator.uniform(22.0, 30.0, lanes),
        "m_fe": generator.uniform(0.0, 60.0, lanes),
        "carbon": generator.uniform(0.0, 1.0, lanes),
        "sock": 1.0,
        "light_fade": generator.uniform(0.6, 1.0, lanes),
        "lamp_clean": generator.uniform(0.6, 1.0, lanes),
    }
    return Tank(
        start=start,
        system={"skimmer": generator.uniform(0.0, 1.0, lanes)},
        parameters=parameters,
        registers=registers,
        animals=[random_animal(generator, lanes=lanes) for _ in range(animals)],
        lanes=lanes,
        matrix=used,
    )
