"""A member's numbers do not depend on who else is marched, beside it or before it, or by how many hands."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np

from backreef.simulation.block import Block, march_block
from backreef.simulation.engine import load_engine
from tests.random_tanks import random_tank
from tests.tank_acts import feed
from tests.tanks import USUAL, Array, Life


def marched(blocks: list[Block], *, threads: int) -> list[Array]:
    """The days of some blocks, marched by so many threads."""
    tank = random_tank(1)
    life = Life(days=3, daily={10.0: feed(10.0, tank=tank)}, overflow=True)
    schedule = life.schedule(tank.layout)
    engine = load_engine()
    with ThreadPoolExecutor(threads) as pool:
        results = pool.map(lambda block: march_block(engine, tank.layout, schedule, block, USUAL), blocks)
    return [result.days for result in results]


def test_threads_and_company_change_no_bit() -> None:
    blocks = [random_tank(seed).block() for seed in range(4)]
    alone = [marched([block], threads=1)[0] for block in blocks]
    together = marched(blocks, threads=4)
    turned = marched(blocks[::-1], threads=2)[::-1]
    for one, two, three in zip(alone, together, turned, strict=True):
        np.testing.assert_array_equal(one, two)
        np.testing.assert_array_equal(one, three)


def test_lanes_may_change_places() -> None:
    block = random_tank(7).block()
    order = np.random.default_rng(2).permutation(8)
    turned = Block(
        state=block.state[:, order],
        parameters=block.parameters[:, order],
        traits=block.traits[:, :, order],
        nature=block.nature[:, :, order],
        thresholds=block.thresholds[:, :, order],
        scale=block.scale,
        drawn=block.drawn[:, order],
    )
    plain, other = marched([block, turned], threads=1)
    np.testing.assert_array_equal(plain[:, :, order], other)


def test_what_a_block_is_made_of_is_left_as_it_was() -> None:
    block = random_tank(3).block()
    before = [array.copy() for array in (block.state, block.parameters, block.traits, block.nature)]
    marched([block], threads=1)
    for array, old in zip((block.state, block.parameters, block.traits, block.nature), before, strict=True):
        np.testing.assert_array_equal(array, old)
