from functools import cache
from threading import Event
from time import sleep

import numpy as np
import numpy.typing as npt
import pytest

from backreef.aquarium.series import all_series
from backreef.simulation import block as marching
from backreef.simulation import ensemble
from backreef.simulation.block import FORECAST, Block, BlockResult, Take, Tolerances
from backreef.simulation.chore_events import READ_OF_SERIES, SEEN_AT_ONCE
from backreef.simulation.draws import Draws
from backreef.simulation.ensemble import Keep, MarchBlock, Members, march_members
from backreef.simulation.layout import packaged_layout
from backreef.simulation.prepared import Prepared
from backreef.simulation.setting import Setting
from tests.tanks import Array
from tests.unit.runs.world import DAYS, MEAL, PAIR, prepared

TESTED = """\
[[upkeep]]
id = "tests"
task = "test_quick"
every = "7 days"
[[upkeep]]
id = "change"
task = "wc_do"
share = "50 %"
every = "7 days"
when = "nitrate > {bound} mg/L NO3"
"""


@cache
def march(lines: str = PAIR + MEAL, *, members: int = 16, threads: int | None = None) -> Members:
    return march_members(prepared(lines), Draws(9, members), FORECAST, threads=threads)


def nitrate(found: Members) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    return found.row(packaged_layout().address("S_NO3"))


def test_the_number_of_threads_changes_no_bit() -> None:
    assert np.array_equal(nitrate(march(threads=1)), nitrate(march(threads=2)))


def test_more_members_change_no_bit_of_the_first_ones() -> None:
    assert np.array_equal(nitrate(march(members=8)), nitrate(march(members=16))[:, :8])


def test_a_number_of_members_that_fills_no_block_is_given_exactly() -> None:
    found = march(members=11)
    assert nitrate(found).shape == (DAYS, 11)
    assert found.parameters.shape[1] == found.natures[0].shape[1] == 11
    assert np.array_equal(nitrate(found), nitrate(march(members=16))[:, :11])


def test_members_differ() -> None:
    assert len(set(nitrate(march())[-1].tolist())) == 16


def test_it_says_how_many_blocks_are_done() -> None:
    told: list[tuple[int, int]] = []
    march_members(
        prepared(PAIR + MEAL),
        Draws(9, 24),
        FORECAST,
        progress=lambda done, total: told.append((done, total)),
    )
    assert told == [(1, 3), (2, 3), (3, 3)]


@pytest.mark.parametrize(("bound", "share"), [(0.0001, 1.0), (90, 0.0)])
def test_a_conditional_chore_is_noted_where_its_reading_asked_for_it(bound: float, share: float) -> None:
    lines = PAIR + MEAL + TESTED.format(bound=bound)
    found = march(lines)
    assert found.noted.shape == (len(prepared(lines).timeline.noted), 16)
    assert found.noted.mean() == share
    changed = found.row(packaged_layout().address("water_change_N"))[-1]
    assert (changed > 0).all() == (share > 0)
    assert changed.any() == (share > 0)


def test_a_bound_in_the_middle_divides_the_members() -> None:
    """The kits err, so that some of the members read more than the bound and some less."""
    lines = PAIR + MEAL + TESTED.format(bound=1.05)
    noted = march(lines).noted
    assert set(np.unique(noted)) == {0.0, 1.0}
    changed = march(lines).row(packaged_layout().address("water_change_C"))[-1] != 0.0
    assert np.array_equal(changed, noted.any(axis=0))


WAITING = """\
[[upkeep]]
id = "change"
task = "wc_do"
share = "50 %"
every = "7 days"
when = "{condition}"
"""


@pytest.mark.parametrize(
    ("condition", "share"),
    [
        ("temperature > 20 degC", 1.0),
        ("temperature > 35 degC", 0.0),
        ("salinity < 40 psu", 1.0),
        ("salinity < 20 psu", 0.0),
        ("pH < 9", 1.0),
        ("pH > 9", 0.0),
        ("oxygen < 15 mg/L", 1.0),
        ("oxygen < 0.5 mg/L", 0.0),
        ("magnesium < 500 mg/L", 1.0),
    ],
)
def test_what_a_probe_shows_is_followed_and_magnesium_which_no_model_has_is_not(
    condition: str, share: float
) -> None:
    lines = PAIR + MEAL + WAITING.format(condition=condition)
    assert march(lines, members=8).noted.mean() == share


def test_the_table_of_series_says_which_conditions_a_forecast_follows() -> None:
    followed = {series.series for series in all_series() if series.forecast}
    assert followed == READ_OF_SERIES.keys() | SEEN_AT_ONCE.keys()


def test_a_block_under_way_stops_once_nobody_waits_for_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """The second block hands on days for ever, until the first one was enough."""
    usual, cut, numbers = ensemble.marcher, Setting.block, dict[int, int]()
    second_began, handed_on = Event(), list[int]()

    def numbered(setting: Setting, number: int) -> Block:
        block = cut(setting, number)
        numbers[id(block)] = number
        return block

    def marcher(laid_out: Prepared, tolerances: Tolerances) -> MarchBlock:
        march = usual(laid_out, tolerances)

        def for_ever(block: Block, take: Take | None = None) -> BlockResult:
            while take is not None and numbers[id(block)] == 1:
                take(np.zeros((0, *block.state.shape)))
                handed_on.append(1)
                second_began.set()
                sleep(0.001)
            return march(block, take)

        return for_ever

    monkeypatch.setattr(Setting, "block", numbered)
    monkeypatch.setattr(ensemble, "marcher", marcher)
    row = packaged_layout().address("S_NO3")
    keep = Keep(rows=frozenset((row,)), give_up=lambda _: second_began.wait(60))
    found = march_members(prepared(PAIR + MEAL), Draws(9, 16), FORECAST, threads=2, keep=keep)
    assert (found.numbers.tolist(), bool(handed_on)) == (list(range(8)), True)


@pytest.mark.parametrize(("members", "threads"), [(8, None), (24, 1), (24, 2)])
def test_what_is_done_meanwhile_is_done_once_and_beside_the_march(members: int, threads: int | None) -> None:
    told: list[str] = []
    march_members(
        prepared(PAIR + MEAL),
        Draws(9, members),
        FORECAST,
        threads=threads,
        progress=lambda done, _: told.append(str(done)),
        keep=Keep(rows=frozenset(), meanwhile=lambda: told.append("meanwhile")),
    )
    assert told == ["meanwhile", *(str(number) for number in range(1, members // 8 + 1))]


class Highest:
    """An audit: the highest value of a row."""

    def __init__(self, row: int, lanes: int) -> None:
        self.row, self.found = row, np.zeros((1, lanes))
        self.seen: list[Array] = []

    def look(self, days: Array) -> None:
        self.found = np.maximum(self.found, days[:, self.row].max(axis=0))
        self.seen.append(days[:, self.row].copy())

    @property
    def daily(self) -> npt.NDArray[np.float32]:
        return np.concatenate(self.seen)[None].astype(np.float32)


@pytest.mark.parametrize("piece_days", [1, 5, 1000])
def test_what_is_kept_is_the_same_but_for_single_precision_and_the_rest_is_gone(
    piece_days: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(marching, "PIECE_DAYS", piece_days)
    layout = packaged_layout()
    kept, whole = layout.address("S_NO3"), march()
    keep = Keep(rows=frozenset((kept,)), audit=lambda parameters: Highest(kept, parameters.shape[1]))
    found = march_members(prepared(PAIR + MEAL), Draws(9, 16), FORECAST, keep=keep)
    np.testing.assert_array_equal(found.row(kept), whole.row(kept).astype(np.float32))
    np.testing.assert_array_equal(found.audits, whole.row(kept).max(axis=0, keepdims=True))
    np.testing.assert_array_equal(found.daily(0), found.row(kept))
    other = layout.address("S_NH")
    np.testing.assert_array_equal(found.ends(other), whole.row(other)[[0, -1]])
    with pytest.raises(KeyError):
        found.row(other)
