"""Made-up lines of feeding for tests of reports; no number here is biology or advice."""

from __future__ import annotations

from datetime import date

from backreef.judgement.pantry_lines import FoodPrice, ShoppingLine
from backreef.judgement.verdict import FastingLine, FeederLine, GapLine, RationStep


def fasting() -> tuple[FastingLine, ...]:
    """A young fish and the same one grown."""
    return tuple(
        FastingLine(
            animal_id="pair",
            common_name="Ocellaris clownfish",
            on=on,
            length_cm=length,
            quarter_gone_d_p05=0.8 * days,
            quarter_gone_d_p50=days,
            quarter_gone_d_p95=1.3 * days,
            harm_d_p05=3.0 * days,
            harm_d_p50=3.6 * days,
            harm_d_p95=4.2 * days,
            warm_c=31.0,
            warm_quarter_gone_d_p50=0.6 * days,
        )
        for on, length, days in ((date(2027, 1, 4), 4.0, 3.1), (date(2030, 1, 3), 7.0, 5.2))
    )


def rations() -> tuple[RationStep, ...]:
    """A ration that grows twice, and one that stays."""
    grown = ((date(2027, 1, 4), 1, 0.12), (date(2027, 6, 1), 5, 0.14), (date(2028, 2, 7), 14, 0.17))
    steps = [("pellets", "Small pellets", *each) for each in grown]
    steps.append(("flakes", "Flakes", date(2027, 1, 4), 1, 0.05))
    return tuple(
        RationStep(meal_id=meal, label=label, on=on, month=month, grams_as_fed_per_d=grams)
        for meal, label, on, month, grams in steps
    )


def feeders() -> tuple[FeederLine, ...]:
    """One that is filled and one that nobody ever sees to."""
    return (
        FeederLine(
            device_id="feeder",
            name="Drum feeder on batteries",
            settings=("11:00 2 x 0.1 g Small pellets", "17:00 0.2 g Small pellets"),
            grams_as_fed_per_d=0.4,
            covered_d=21.0,
            refills=tuple(date(2027, month, 1) for month in range(2, 9)),
            batteries=(date(2027, 7, 5),),
        ),
        FeederLine(
            device_id="idle",
            name="Disc feeder",
            settings=(),
            grams_as_fed_per_d=0.0,
            covered_d=None,
            refills=(),
            batteries=(),
        ),
    )


def gaps() -> tuple[GapLine, ...]:
    """One in which somebody goes hungry, and one in which nobody does."""
    return (
        GapLine(
            first_on=date(2027, 7, 19),
            last_on=date(2027, 8, 8),
            fed_days=21,
            hungry="Yellow tang",
            hungry_quarter_gone_d_p05=2.7,
        ),
        GapLine(
            first_on=date(2027, 12, 24),
            last_on=date(2027, 12, 28),
            fed_days=5,
            hungry="",
            hungry_quarter_gone_d_p05=None,
        ),
    )


def shopping() -> tuple[ShoppingLine, ...]:
    """Dry food of which some goes stale, and frozen food of which nobody knows how long it keeps."""
    trips = (date(2027, 1, 4), date(2027, 7, 3))
    return (
        ShoppingLine(
            food_id="pellets",
            label="Small pellets",
            grams_per_month=5.2,
            packaging="a tin with a tight lid",
            opened_d_low=61.0,
            opened_d=76.0,
            pack_g=100.0,
            packs_per_trip=1,
            stale_frac=0.87,
            thaw_loss_frac=0.0,
            trips=trips,
        ),
        ShoppingLine(
            food_id="mysids",
            label="Frozen mysids",
            grams_per_month=33.0,
            packaging="as it is usually sold",
            opened_d_low=None,
            opened_d=None,
            pack_g=100.0,
            packs_per_trip=2,
            stale_frac=0.0,
            thaw_loss_frac=0.1,
            trips=trips,
        ),
    )


def price() -> FoodPrice:
    """Food of which a third is not eaten adrift."""
    return FoodPrice(
        nitrogen_g_per_month=1.2,
        uneaten_nitrogen_g_per_month=0.4,
        uneaten_as_mg_no3_per_l_per_month=5.9,
        nitrate_held_mg_no3_per_l=8.0,
        change_l_per_month=220.0,
    )
