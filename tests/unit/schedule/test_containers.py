from backreef.schedule.containers import ContainerRun, Draw, DrySpell, run_container

NOON = 12.0


def daily(share_frac: float, *, days: int, hour: float = NOON) -> list[Draw]:
    return [Draw(day, hour, share_frac) for day in range(days)]


def run(draws: list[Draw], *, visits: set[int], days: int, longest_days: float = 1000.0) -> ContainerRun:
    hours = [8.0 if day in visits else None for day in range(days)]
    return run_container(draws, visit_hours=hours, longest_days=longest_days)


def test_it_is_refilled_on_the_last_visit_that_still_reaches_the_next() -> None:
    result = run(daily(0.1, days=30), visits=set(range(30)), days=30)
    assert result.refill_days == (10, 20)
    assert all(result.came_frac)
    assert result.dry_spells == ()


def test_it_is_filled_up_before_an_absence() -> None:
    visits = {0, 1, 2, 3, 12, 13}
    result = run(daily(0.1, days=14), visits=visits, days=14)
    assert 3 in result.refill_days
    assert all(result.came_frac)


def test_it_runs_dry_in_an_absence_longer_than_it_lasts() -> None:
    result = run(daily(0.25, days=12), visits={0, 1, 9, 10, 11}, days=12)
    assert result.dry_spells == (DrySpell(from_day=5, refilled_day=9),)
    assert result.came_frac == (True,) * 5 + (False,) * 4 + (True,) * 3


def test_it_stays_dry_when_nobody_comes() -> None:
    result = run(daily(0.5, days=5), visits=set(), days=5)
    assert result.dry_spells == (DrySpell(from_day=2, refilled_day=None),)
    assert result.refill_days == ()


def test_it_is_renewed_before_it_goes_stale() -> None:
    result = run(daily(0.001, days=60), visits=set(range(60)), days=60, longest_days=21)
    assert result.refill_days == (21, 42)


def test_it_is_not_renewed_when_nothing_is_drawn() -> None:
    result = run([], visits=set(range(60)), days=60, longest_days=7)
    assert result.refill_days == ()


def test_it_is_refilled_on_stated_days_only() -> None:
    hours: list[float | None] = [8.0] * 20
    result = run_container(daily(0.2, days=20), visit_hours=hours, longest_days=5, refill_on=frozenset({10}))
    assert result.refill_days == (10,)
    assert [spell.from_day for spell in result.dry_spells] == [5, 15]


def test_a_draw_before_the_visit_still_comes_from_the_old_filling() -> None:
    early = [Draw(day, 6.0, 0.5) for day in range(3)]
    result = run(early, visits={2}, days=3)
    assert result.came_frac == (True, True, False)


def test_it_tells_how_full_it_was() -> None:
    result = run(daily(0.25, days=4), visits=set(), days=4)
    assert result.before_frac == (1.0, 0.75, 0.5, 0.25)


def test_a_refill_knows_how_much_goes_in() -> None:
    result = run(daily(0.3, days=5), visits={0, 3, 4}, days=5)
    assert result.refill_days[0] == 3
    assert abs(result.refill_share_frac[0] - 0.9) < 1e-12


def test_the_last_draw_of_a_filling_takes_what_is_left() -> None:
    result = run_container(
        [Draw(0, 9.0, 0.75), Draw(0, 12.0, 0.5), Draw(0, 15.0, 0.5)], visit_hours=[None], longest_days=99.0
    )
    assert result.came_frac == (1.0, 0.5, 0.0)
    assert [spell.from_day for spell in result.dry_spells] == [0]
