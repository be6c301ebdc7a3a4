import numpy as np
import pytest
from numpy.lib.stride_tricks import sliding_window_view

from backreef.judgement.course import run_course
from backreef.judgement.findings import findings_of, hit_members
from backreef.judgement.rules import rule
from backreef.judgement.trials import Outcome, told, try_one, with_trials
from backreef.judgement.verdict import Remedy
from backreef.simulation.draws import Draws
from tests.unit.aquarium.plans import catalogue
from tests.unit.judgement.courses import FED, PAIR, a_finding, course

STARVES = "mouths.pair.harm"
FEED = Remedy(id="feed", what="feed them")


def hit(*members: int, of: int = 8) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    mask = np.zeros(of, dtype=np.bool_)
    mask[list(members)] = True
    return mask


@pytest.mark.parametrize(
    ("after", "helps", "words"),
    [
        ((), True, "3 of the 8 members tried had it, none has it now"),
        ((4,), False, "3 of the 8 members tried had it, 1 still has it"),
        ((4, 7), False, "3 of the 8 members tried had it, 2 still have it"),
        ((1, 2, 3, 4), False, "3 of the 8 members tried had it, 4 now have it"),
    ],
)
def test_the_members_that_had_it_are_counted_again(after: tuple[int, ...], helps: bool, words: str) -> None:
    outcome = Outcome(hit={STARVES: hit(*after)}, breaking=())
    tried = told(FEED, a_finding(STARVES, share=0.1), {STARVES: hit(1, 4, 7)}, outcome)
    assert (tried.checked, tried.holds_after, tried.effect) == (True, helps, words)


def test_only_what_was_not_there_before_is_the_remedys_doing() -> None:
    nitrate = a_finding("water.high", share=0.2)
    outcome = Outcome(hit={"water.high": hit(2)}, breaking=(nitrate,))
    before = {STARVES: hit(1), "water.high": hit(2)}
    assert "but then" not in told(FEED, a_finding(STARVES, share=0.1), before, outcome).effect
    before["water.high"] = hit()
    assert told(FEED, a_finding(STARVES, share=0.1), before, outcome).effect.endswith(
        "; but then: water.high"
    )


def test_a_rare_finding_is_tried_where_it_happens() -> None:
    """One of 24 members has most nitrate; its own block of eight is marched again."""
    nitrate = course(PAIR + FED, members=24).series["nitrate_mg_no3_per_l"]
    days_in_a_row = sliding_window_view(nitrate, int(rule("water_act_d")), axis=0)
    highest = days_in_a_row.min(axis=-1).max(axis=0)
    first, second = np.sort(highest)[::-1][:2]
    bound = f'[goals.bands.nitrate]\nact_high = "{0.5 * (first + second):.6f} mg/L NO3"\n'
    marched = course(PAIR + FED + bound, members=24)
    name = "water.nitrate_mg_no3_per_l.high.act"
    assert np.flatnonzero(hit_members(marched)[name]).tolist() == [int(highest.argmax())]
    told_so_far: list[tuple[int, int]] = []
    found = with_trials(
        findings_of(marched),
        marched,
        catalogue(),
        tried="all",
        progress=lambda done, total: told_so_far.append((done, total)),
    )
    remedies = {one.id: one.remedies for one in found}[name]
    tried = [remedy.effect for remedy in remedies if remedy.checked]
    assert tried
    assert all(effect.startswith("1 of the 8 members tried had it") for effect in tried)
    one = next(remedy for remedy in remedies if remedy.checked)
    finding = next(each for each in found if each.id == name)
    had, has = try_one(finding, one.id, marched, catalogue())  # type: ignore[misc]
    assert (had.sum(), had.size) == (1, 8)
    assert one.holds_after is (not has.any()), "what is asked is what was told"
    assert told_so_far[-1][0] == told_so_far[-1][1] == len(told_so_far)


def test_the_same_eight_members_are_marched_again() -> None:
    """A block marched alone has the bits that it has within the ensemble."""
    whole = course(PAIR + FED, members=24)
    alone = run_course(whole.prepared.plan, catalogue(), Draws(1, 8, first=16))
    for name, values in whole.series.items():
        assert np.array_equal(values[:, 16:], alone.series[name]), name
    assert np.array_equal(whole.work.per_day[:, 16:], alone.work.per_day)


def test_a_block_is_not_begun_in_its_middle() -> None:
    with pytest.raises(ValueError, match="multiples of 8"):
        run_course(course(PAIR + FED).prepared.plan, catalogue(), Draws(1, 8, first=4))
