from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from backreef.catalogue.entries import Value
from backreef.models.body_values import body_numbers
from backreef.models.tables import load_tables
from backreef.schedule.tables import workload
from backreef.simulation.tables import animal_number
from backreef.working.number import Worked
from backreef.working.record import askable, not_recording, recording, told
from backreef.working.steps import About
from backreef.working.tree import tree_of

HOURS_PER_DAY = 24.0
ROOT = About(symbol="result", key="result", kind="law")
TABLE = {
    "a": Value(value=2.0, low=1.0, high=3.0, unit="h", source="practice", status="practice", place="here")
}


@askable
def daily_g_per_d(each_g: float, *, hours: float, word: str) -> float:
    """Grams of a day. [g/d]

    Validity
    --------
    Always.

    Source
    ------
    Reckoned.
    """
    return each_g * HOURS_PER_DAY / hours


@dataclass(frozen=True)
class Pair:
    low_g: float
    high_g: float


@askable
def pair_of(each_g: float) -> Pair:
    """Both ends. [g]"""
    return Pair(low_g=each_g, high_g=each_g * 3.0)


def test_nothing_is_recorded_unless_somebody_asks() -> None:
    assert told(TABLE, "table") is TABLE
    assert type(daily_g_per_d(1.0, hours=2.0, word="x")) is float


def test_a_table_tells_where_its_numbers_stand() -> None:
    with recording():
        found = told(TABLE, "table")["a"].value
        assert told(TABLE, "table")["a"].value is found
    node = tree_of(found, ROOT).root
    assert node.is_leaf
    assert (node.about.key, node.about.unit, node.about.place) == ("table.a", "h", "here")
    assert (node.about.low, node.about.high, node.about.status) == (1.0, 3.0, "practice")


def test_a_function_gives_its_name_its_words_and_its_constants() -> None:
    with recording():
        value = told(TABLE, "table")["a"].value
        found = daily_g_per_d(3.0 * value, hours=value, word="slow")
    node = tree_of(found, ROOT).root
    assert node.about.symbol == "daily_g_per_d"
    assert node.about.what == "Grams of a day"
    assert (node.about.unit, node.about.validity, node.about.source) == ("g/d", "Always.", "Reckoned.")
    assert node.about.given == {"word": "slow"}
    assert node.formula == "3 * a * HOURS_PER_DAY / a"


def test_each_part_of_what_a_function_gives_has_a_name() -> None:
    with recording():
        found = pair_of(told(TABLE, "table")["a"].value)
    node = tree_of(found.high_g, ROOT).root
    assert (node.about.symbol, node.formula) == ("high_g", "a * 3")
    assert node.about.key.endswith("pair_of.high_g")


def test_what_is_plain_within_a_recording_is_plain() -> None:
    with recording(), not_recording():
        assert type(animal_number("intake_exponent")) is float


def test_tables_that_are_kept_stay_plain() -> None:
    with recording():
        assert isinstance(animal_number("intake_exponent"), Worked)
        assert isinstance(workload().numbers["own_minutes_frac"].value, Worked)
        assert isinstance(body_numbers()["oxygen_line.mass_exponent"], Worked)
    assert type(animal_number("intake_exponent")) is float
    assert type(workload().numbers["own_minutes_frac"].value) is float
    assert not list(worked_in(body_numbers()))
    assert not list(worked_in(load_tables().macronutrients))


def worked_in(table: object) -> list[Worked]:
    if isinstance(table, Worked):
        return [table]
    return [one for part in table.values() for one in worked_in(part)] if isinstance(table, Mapping) else []
