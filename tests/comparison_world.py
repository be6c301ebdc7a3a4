"""A made-up comparison of three plans for tests of its page, its file and its document."""

from __future__ import annotations

from backreef.aquarium.differences import Difference
from backreef.usecases.compare import Compared, Comparison, pairing
from tests.forecast_world import a_breaking_forecast, a_holding_forecast

DIFFERENCES = (
    Difference(section="tank", entry="", key="rock", first="20 kg", other="34 kg"),
    Difference(section="keeper", entry="", key="minutes_per_month", first=None, other="90 min"),
    Difference(section="animals", entry="anthias", key="", first=None, other="species lyretail, count 5"),
)


def a_comparison() -> Comparison:
    """A plan that holds, one that breaks, and the first again."""
    first, second = a_holding_forecast(), a_breaking_forecast()
    return Comparison(
        plans=(
            Compared(letter="A", forecast=first, differences=(), pairing=pairing(first, first)),
            Compared(letter="B", forecast=second, differences=DIFFERENCES, pairing=pairing(first, second)),
            Compared(letter="C", forecast=first, differences=(), pairing=pairing(first, first)),
        )
    )
