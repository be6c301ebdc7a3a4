"""Overfeeding shows its price in Water (common practice, no source), through the public door."""

from __future__ import annotations

from tests.phenomena.test_mouths import animal, forecast, meal

TIMES = ("11:00", "17:00")


def test_twice_the_food_brings_twice_the_nitrogen_and_most_of_the_more_is_not_eaten() -> None:
    pair = animal("ocellaris_clown", 2, "5 cm")
    enough, twice = (forecast(pair + meal("pellet_small", grams, TIMES)) for grams in (0.12, 0.24))
    prices = [found.food_price for found in (enough, twice)]
    assert prices[0] is not None
    assert prices[1] is not None
    assert abs(prices[1].nitrogen_g_per_month / prices[0].nitrogen_g_per_month - 2.0) < 1e-6
    more = prices[1].nitrogen_g_per_month - prices[0].nitrogen_g_per_month
    assert prices[1].uneaten_nitrogen_g_per_month > prices[0].uneaten_nitrogen_g_per_month + 0.6 * more
    nitrate = [float(found.series["nitrate_mg_no3_per_l"].p50[-1]) for found in (enough, twice)]
    assert nitrate[1] > nitrate[0]
    # 0.485 protein / 6.25 in a gram, by hand
    by_hand = 0.12 * 0.485 / 6.25 * 365.25 / 12
    assert abs(prices[0].nitrogen_g_per_month / by_hand - 1.0) < 0.06
