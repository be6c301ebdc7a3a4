import pytest

from backreef.judgement.rehearsal import Chance
from backreef.plots.rehearsal_words import chance_ends


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (0.01, 0.2, "somewhere between 1.0 % and 20 %"),
        (0.0001, 0.004, "somewhere between under 0.1 % and 0.4 %"),
        (0.0001, 0.0004, "under 0.1 % at most"),
    ],
)
def test_a_chance_lies_between_two_words_or_has_one(low: float, high: float, words: str) -> None:
    assert chance_ends(Chance(low=low, value=None, high=high)) == words
