"""Sentences of the rooms are found again and said in other words; what nobody knows stays as it is."""

from __future__ import annotations

import pytest

from backreef.tongue.door import Told, language, said, speaker_of, speaking
from backreef.tongue.forms import Form
from backreef.tongue.markup import said_markup
from backreef.tongue.speaker import Speaker

WORDS = {
    "0.5": "0,5",
    "{day} {month} {year}": "{day}. {month} {year}",
    "{month} {year}": "{month} {year}",
    "{day} {month}": "{day}. {month}",
    "May": "Mai",
    "The corals shrink": "die Korallen schrumpfen",
    "{name} starves": "{name} verhungert",
    "Yellow tang": "Gelber Doktor",
    "{label} rises above {n} {unit}": "{label} steigt über {n} {unit}",
    "nitrate": "Nitrat",
    "{n} day": "{n} Tag",
    "{n} days": "{n} Tage",
    "on {plural}": "{plural} lang",
    "breaks {date}{cause}": "bricht {date}{cause}",
    "{join} and {words}": "{join} und {words}",
    "about {n} kg{load}": "etwa {n} kg{load}",
    "puffers and tangs": "Kugelfische und Doktoren",
    "eaten by {eaters}": "gefressen von {eaters}",
    "before it is sold: {text}": "vor dem Verkauf: {text}",
}


@pytest.fixture(scope="module")
def german() -> Speaker:
    return Speaker("de", (Form(asked, answer) for asked, answer in WORDS.items()))


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        ("The corals shrink.", "Die Korallen schrumpfen."),
        ("the corals shrink", "die Korallen schrumpfen"),
        ("Yellow tang starves", "Gelber Doktor verhungert"),
        ("My tang starves", "My tang verhungert"),
        ("Nitrate rises above 0.5 mg/L NO3", "Nitrat steigt über 0,5 mg/L NO3"),
        ("1 day", "1 Tag"),
        ("on 30 days", "30 Tage lang"),
        ("breaks 4 May 2027", "bricht 4. Mai 2027"),
        ("Breaks 4 May 2027: nitrate", "Bricht 4. Mai 2027: Nitrat"),
        ("12.5 (8.25–19)", "12,5 (8,25–19)"),
        ("nitrate (on 30 days); Yellow tang", "Nitrat (30 Tage lang); Gelber Doktor"),
        ("Yellow tang starves. The corals shrink.", "Gelber Doktor verhungert. Die Korallen schrumpfen."),
        ("nitrate, nitrate and Yellow tang", "Nitrat, Nitrat und Gelber Doktor"),
        ("about 12 kg", "etwa 12 kg"),
        (" nitrate ", " Nitrat "),
        ("The corals shrink: ", "Die Korallen schrumpfen: "),
        ("nitrate (Kir et al. 2015, one (as 1))", "Nitrat (Kir et al. 2015, one (as 1))"),
        ("eaten by puffers and tangs and May", "gefressen von Kugelfische und Doktoren und Mai"),
        ("Before it is sold: whatever the sea had for it", "Vor dem Verkauf: whatever the sea had for it"),
        ("nitrate 49%, the corals shrink 5%", "Nitrat 49%, die Korallen schrumpfen 5%"),
    ],
)
def test_a_sentence_is_said_with_its_blanks(german: Speaker, text: str, answer: str) -> None:
    assert german.say(text) == (answer, True)


@pytest.mark.parametrize(
    "text",
    [
        "Whatever the keeper wrote down here",
        "it is shut on some days, nitrate, and in the holidays",
        "where nobody goes and all are glad starves",
    ],
)
def test_what_nobody_knows_stays_as_it_is(german: Speaker, text: str) -> None:
    assert german.say(text)[0] == text


def test_what_was_given_up_in_the_deep_is_said_where_there_is_room() -> None:
    speaker = Speaker("de", (Form("nitrate", "Nitrat"), Form("in {what}", "in {what}")))
    deep = f"{'in ' * 12}nitrate"
    assert speaker.say(deep)[0] == deep
    assert speaker.say("in in in nitrate")[0] == "in in in Nitrat"


def test_the_door_is_open_only_while_somebody_speaks(german: Speaker) -> None:
    assert said("nitrate") == "nitrate"
    with speaking(german):
        assert said("nitrate") == "Nitrat"
        assert language() == "de"
        assert said(Told("nitrate")) == "nitrate"  # it went through already
    assert said("nitrate") == "nitrate"
    assert language() == "en"


def test_kept_markup_is_said_anew_and_stays_markup(german: Speaker) -> None:
    kept = '<p class="may">nitrate &lt; 0.5</p><svg aria-label="nitrate"><text x="0.5">May</text></svg>'
    assert said_markup(kept) == kept
    with speaking(german):
        assert said_markup(kept) == (
            '<p class="may">Nitrat &lt; 0,5</p><svg aria-label="Nitrat"><text x="0.5">Mai</text></svg>'
        )


def test_nobody_speaks_the_language_of_the_rooms_or_an_unknown_one() -> None:
    assert speaker_of("en") is None
    assert speaker_of("xx") is None
    assert speaker_of("../de") is None
