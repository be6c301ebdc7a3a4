from collections.abc import Mapping
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pytest

from backreef.catalogue.sources import STATUSES
from backreef.judgement.rules import rule
from backreef.judgement.verdict import WaterBand
from backreef.judgement.water import THE_PLAN, WaterTrouble, water_bands, water_troubles
from tests.unit.aquarium.plans import with_tank

Array = npt.NDArray[np.float64]


def bands(lines: str) -> dict[str, WaterBand]:
    return {band.series: band for band in water_bands(with_tank(lines))}


def goal(word: str, bound: str) -> str:
    return f"[goals.bands.{word}]\n{bound}\n"


def a_band(*, kills: bool = False, **bounds: float) -> WaterBand:
    given = dict.fromkeys(("act_low", "act_high", "harm_low", "harm_high")) | bounds
    return WaterBand(
        series="nitrate_mg_no3_per_l",
        label="nitrate",
        unit="mg/L NO3",
        act_low=given["act_low"],
        act_high=given["act_high"],
        harm_low=given["harm_low"],
        harm_high=given["harm_high"],
        harm_days=3.0,
        source="",
        status="practice",
        kills=kills,
    )


def troubles(
    band: WaterBand, values: Array, *, inhabited: bool = True, died_on: int | None = None
) -> list[WaterTrouble]:
    series: Mapping[str, Array] = {band.series: values}
    died = np.zeros(values.shape, dtype=np.bool_)
    if died_on is not None:
        died[died_on] = True
    return water_troubles((band,), series, np.full(values.shape, inhabited), died)


def days_of(*values: float) -> Array:
    return np.array(values, dtype=np.float64)[:, None]


@pytest.mark.parametrize("corals", ["none", "soft", "lps", "sps", "mixed"])
def test_it_has_one_band_for_each_quantity(corals: str) -> None:
    found = water_bands(with_tank(f'corals = "{corals}"\n'))
    assert len({band.series for band in found}) == len(found)
    for band in found:
        bounds = [band.harm_low, band.act_low, band.act_high, band.harm_high]
        given = [bound for bound in bounds if bound is not None]
        assert given
        assert all(low < high for low, high in pairwise(given))
        assert band.status in STATUSES
        assert band.source


def test_it_asks_more_of_the_water_where_stony_corals_live() -> None:
    tight, wide = bands('corals = "sps"\n'), bands('corals = "none"\n')
    assert (tight["nitrate_mg_no3_per_l"].act_high or 0) < (wide["nitrate_mg_no3_per_l"].act_high or 0)


@pytest.mark.parametrize(
    ("word", "text", "series", "shown"),
    [
        ("nitrate", "15 mg/L NO3", "nitrate_mg_no3_per_l", 15.0),
        ("nitrate", "2 mg/L N", "nitrate_mg_no3_per_l", 2 * 62.004 / 14.007),
        ("phosphate", "0.08 mg/L PO4", "phosphate_mg_po4_per_l", 0.08),
        ("alkalinity", "9 dKH", "alkalinity_dkh", 9.0),
        ("nitrite", "1 mg/L NO2", "nitrite_mg_n_per_l", 14.007 / 46.005),
        ("temperature", "27 degC", "temperature_c", 27.0),
    ],
)
def test_a_bound_of_the_plan_counts_as_it_was_written(
    word: str, text: str, series: str, shown: float
) -> None:
    """The masses of the ions are sums of standard atomic masses: N 14.007, O 15.999."""
    plain, own = bands("")[series], bands(goal(word, f'act_high = "{text}"'))[series]
    assert own.act_high == pytest.approx(shown, rel=1e-4)
    assert (own.act_low, own.harm_low, own.harm_high) == (plain.act_low, plain.harm_low, plain.harm_high)
    assert own.source.startswith(THE_PLAN)
    assert own.status == "practice"
    assert not plain.source.startswith(THE_PLAN)


def test_each_ph_takes_its_own_side_of_the_plan() -> None:
    found = bands(goal("ph", 'act_low = "7.9"\nact_high = "8.3"'))
    assert (found["ph_total"].act_low, found["ph_total"].act_high) == (7.9, None)
    assert (found["ph_highest_total"].act_low, found["ph_highest_total"].act_high) == (None, 8.3)


def test_total_ammonia_is_watched_only_where_the_plan_asks_for_it() -> None:
    assert "ammonia_total_mg_n_per_l" not in bands("")
    own = bands(goal("ammonia", 'harm_high = "0.5 mg/L TAN"'))["ammonia_total_mg_n_per_l"]
    assert (own.act_high, own.harm_high, own.source) == (None, 0.5, THE_PLAN)
    assert own.harm_days == rule("own_band_harm_d")


def test_an_act_bound_counts_after_a_week_and_a_harm_bound_after_its_days() -> None:
    week = int(rule("water_act_d"))
    values = days_of(*[1.0] * 2, *[9.0] * week)
    act, harm = troubles(a_band(act_high=5.0, harm_high=8.0), values)[::-1]
    assert (act.harm, act.first_day.tolist()) == (False, [2 + week - 1])
    assert (harm.harm, harm.first_day.tolist()) == (True, [2 + 3 - 1])


def test_a_blip_is_no_trouble() -> None:
    assert troubles(a_band(act_high=5.0, harm_high=8.0), days_of(1, 9, 9, 1, 9, 9, 1)) == []


def test_it_tells_the_low_side_from_the_high() -> None:
    low = troubles(a_band(harm_low=2.0, harm_high=8.0), days_of(1, 1, 1, 5))
    assert [(one.low_side, one.bound, one.worst) for one in low] == [(True, 2.0, 1.0)]
    high = troubles(a_band(harm_low=2.0, harm_high=8.0), days_of(9, 10, 9, 5))
    assert [(one.low_side, one.bound, one.worst) for one in high] == [(False, 8.0, 10.0)]


def test_it_sums_up_only_the_members_that_leave_the_bound() -> None:
    values = np.array([[9.0, 1.0, 20.0], [9.0, 1.0, 20.0], [9.0, 1.0, 20.0], [1.0, 1.0, 20.0]])
    (found,) = troubles(a_band(harm_high=8.0), values)
    assert found.first_day.tolist() == [2, -1, 2]
    assert found.share == pytest.approx(2 / 3)
    assert (found.days, found.worst) == (3.5, 14.5)


@pytest.mark.parametrize(
    ("kills", "died_on", "first"), [(True, 1, 1), (True, 3, None), (False, 1, None), (True, None, None)]
)
def test_one_day_is_harm_when_animals_die_in_water_that_kills(
    kills: bool, died_on: int | None, first: int | None
) -> None:
    band = a_band(kills=kills, harm_high=8.0)
    found = troubles(band, days_of(1, 9, 1, 1), died_on=died_on)
    assert [one.first_day.tolist() for one in found] == ([] if first is None else [[first]])


def test_an_empty_tank_has_no_trouble() -> None:
    assert troubles(a_band(harm_high=8.0), days_of(9, 9, 9), inhabited=False) == []
