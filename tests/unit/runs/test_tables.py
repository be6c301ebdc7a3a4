from backreef.simulation.tables import (
    Range,
    animal_number,
    animal_table,
    fixed,
    kind_table,
    source_table,
    start_table,
    system_number,
    system_table,
    times,
    widened,
)


def test_a_range_is_multiplied_with_its_ends() -> None:
    assert times(Range(value=2.0, low=1.0, high=5.0), 3.0) == Range(value=6.0, low=3.0, high=15.0)
    assert times(Range(value=2.0, low=None, high=None), 3.0) == Range(value=6.0, low=None, high=None)


def test_what_is_known_has_no_width() -> None:
    assert fixed(2.0) == Range(value=2.0, low=2.0, high=2.0)


def test_missing_ends_are_assumed_and_given_ones_kept() -> None:
    assert widened(Range(value=6.0, low=None, high=None), 1.5) == Range(value=6.0, low=4.0, high=9.0)
    assert widened(Range(value=6.0, low=5.0, high=7.0), 1.5) == Range(value=6.0, low=5.0, high=7.0)


def test_every_number_has_a_name_a_meaning_and_a_range_in_order() -> None:
    for name, value in {**system_table(), **animal_table()}.items():
        assert value.name == name
        assert value.meaning
        assert value.span.low is not None
        assert value.span.high is not None
        assert value.span.low <= value.span.value <= value.span.high


def test_a_number_is_the_middle_of_its_range() -> None:
    assert system_number("shade_frac") == system_table()["shade_frac"].span.value
    assert animal_number("gut_fills_min") == animal_table()["gut_fills_min"].span.value


def test_every_kind_lists_the_same_traits() -> None:
    assert {"fish", "snail", "crab", "hermit", "shrimp", "urchin", "other"} <= set(kind_table())
    assert len({tuple(row) for row in kind_table().values()}) == 1


def test_a_start_lists_every_component_once_and_no_negative_amount() -> None:
    names = [row["component"] for row in start_table()]
    assert len(set(names)) == len(names)
    for row in start_table():
        amounts = [float(row[kind]) for kind in ("established", "live_rock", "seeded", "dry_rock")]
        assert min(amounts) >= 0.0


def test_a_riper_start_holds_more_bacteria() -> None:
    by_name = {row["component"]: row for row in start_table()}
    for name in ("X_AOB", "X_NOB", "X_HB"):
        amounts = [float(by_name[name][kind]) for kind in ("established", "live_rock", "seeded", "dry_rock")]
        assert amounts == sorted(amounts, reverse=True)


def test_its_own_sources_are_written_out() -> None:
    assert all(text for _, text in source_table().values())
