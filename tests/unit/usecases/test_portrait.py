from __future__ import annotations

import re
from dataclasses import replace

import pytest

from backreef.catalogue.entries import Catalogue, Species, Unknown, Value
from backreef.catalogue.load import load_catalogue
from backreef.usecases import portrait_words as words
from backreef.usecases.browse import browse_catalogue
from backreef.usecases.portrait import Portrait, amount, figure, listed, percent, plural, sentence
from backreef.usecases.portrait_things import portrait_of


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load_catalogue()


def told(portrait: Portrait, title: str) -> str:
    """Everything that a part says."""
    (found,) = [part for part in portrait.parts if part.title == title]
    return " ".join(found.sentences)


def value(number: float, low: float | None = None, high: float | None = None) -> Value:
    return Value(value=number, low=low, high=high, unit="cm", source="practice", status="practice")


def test_every_entry_is_told_in_whole_sentences(catalogue: Catalogue) -> None:
    for entry in browse_catalogue("", None, catalogue).matches:
        for part in portrait_of(entry, catalogue).parts:
            for text in part.sentences:
                assert text.endswith("."), (entry.id, text)
                assert text[0].isupper() or not text[0].isalpha(), (entry.id, text)
                assert "  " not in text
                assert not re.search(r"None|nan\b|Unknown\(", text), (entry.id, text)


def test_every_word_of_the_catalogue_has_words(catalogue: Catalogue) -> None:
    for animal in catalogue.species.values():
        assert set(animal.cleans) <= set(words.CLEANS), animal.id
        assert set(animal.takes) <= set(words.FOOD_CLASSES), animal.id


def test_an_animal_is_told_by_day_and_year(catalogue: Catalogue) -> None:
    page = portrait_of(catalogue.species["yellow_tang"], catalogue)
    assert page.title == "Yellow tang"
    assert page.subtitle.startswith("Zebrasoma flavescens; Acanthuridae")
    assert "Wants 2 meals a day at least." in told(page, "Its day")
    assert "Takes reliably: frozen food and seaweed" in told(page, "Its day")
    assert "grown at 17 cm" in told(page, "Its year")
    assert "illness is for a vet" in told(page, "Its year")
    assert "clears: turf algae" in told(page, "What it does for you").lower()
    assert "quarrels with its own kind" in told(page, "Whom it troubles")
    assert "Picked on by" in told(page, "Who troubles it")
    assert "Never release it" in told(page, "For people and the law")


def test_its_growth_follows_the_law(catalogue: Catalogue) -> None:
    # L(t) = A - (A - L0) exp(-k t), worked out by hand: 10 - 6 exp(-0.5) = 6.361, 10 - 6 exp(-1.5) = 8.661
    animal = replace(
        catalogue.species["yellow_tang"],
        purchase_length_cm=value(4),
        adult_length_cm=value(10),
        max_length_cm=value(12),
        growth_kmax_per_y=value(0.5),
    )
    year = told(portrait_of(animal, catalogue), "Its year")
    assert (
        "Bought at 4 cm, about 6.4 cm after a year of good food and 8.7 after three, grown at 10 cm" in year
    )
    assert "the longest on record 12 cm" in year


def test_its_minutes_are_those_of_the_tasks(catalogue: Catalogue) -> None:
    animal = catalogue.species["royal_gramma"]
    fed = catalogue.tasks["feed_dry_hand"].minutes
    lid, every = catalogue.tasks["lid_clean"].minutes, catalogue.tasks["lid_clean"].every_days
    assert isinstance(fed, Value)
    assert isinstance(lid, Value)
    assert isinstance(every, Value)
    costs = told(portrait_of(animal, catalogue), "What it costs you")
    assert f"about {fed.value * 365.25 / 12:.0f} minutes a month (1 meal a day" in costs
    assert f"about {lid.value / every.value * 365.25 / 12:.0f} minutes a month" in costs


@pytest.mark.parametrize(
    ("ident", "words"),
    [
        ("trochus", "No meal of its own as long as"),
        ("leathers", "No meal of its own as long as"),
        ("mandarin", "No meal of its own as long as"),
        ("lined_seahorse", "By hand"),
        ("firefish", "It jumps: the tank is covered"),
        ("turbo_mexican", "turn fallen snails"),
    ],
)
def test_it_costs_what_its_ways_ask_for(catalogue: Catalogue, ident: str, words: str) -> None:
    assert words in told(portrait_of(catalogue.species[ident], catalogue), "What it costs you")


def test_it_says_how_sure_it_is(catalogue: Catalogue) -> None:
    animal = catalogue.species["royal_gramma"]
    numbers = [getattr(animal, name) for name in Species.__dataclass_fields__]
    known = [number for number in numbers if isinstance(number, Value)]
    unknown = [number for number in numbers if isinstance(number, Unknown)]
    page = portrait_of(animal, catalogue)
    sure = told(page, "How sure we are")
    assert sure.startswith(f"{len(known)} numbers: ")
    assert all(number.reason in sure for number in unknown)
    practice = sum(number.status == "practice" for number in known)
    assert f"{practice} common practice without a source" in sure
    assert "Barneche" in told(page, "On whose word")


def test_a_number_is_never_made_up(catalogue: Catalogue) -> None:
    nobody_knows = Unknown(reason="no record")
    names = [
        n
        for n in Species.__dataclass_fields__
        if isinstance(getattr(catalogue.species["yellow_tang"], n), Value)
    ]
    animal = replace(catalogue.species["yellow_tang"], **dict.fromkeys(names, nobody_knows))  # type: ignore[arg-type]
    page = portrait_of(animal, catalogue)
    assert "an unknown temperature" in told(page, "Its year")
    assert told(page, "How sure we are").startswith("Not known: ")
    assert "meals a day at least" not in told(page, "Its day")


@pytest.mark.parametrize(
    ("number", "text"),
    [(380.0, "380"), (5.66, "5.7"), (0.123, "0.12"), (1234.5, "1200"), (7, "7"), (0.5, "0.5")],
)
def test_numbers_are_no_sharper_than_they_are_known(number: float, text: str) -> None:
    assert figure(number) == text


def test_amounts_bring_their_range() -> None:
    assert amount(value(380, 304, 494), "L") == "380 L (300 to 490)"
    assert amount(value(5), "cm") == "5 cm"
    assert amount(Unknown(reason="x"), "cm") == ""
    assert percent(value(0.115, 0.09, 0.14)) == "12 % (9 to 14)"
    assert percent(value(0.014, 0.012, 0.016)) == "1.4 % (1.2 to 1.6)"


def test_sentences_begin_and_end_as_such() -> None:
    assert sentence(" two  words. ") == "Two words."
    assert sentence("") == ""
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert listed(list("abcdef"), most=4) == "a, b, c, d and 2 more"
    assert (plural(1, "day"), plural(2, "day"), plural(0.5, "minute")) == ("1 day", "2 days", "0.5 minutes")


def test_it_says_how_a_kind_lives_with_its_own_and_what_others_lost(catalogue: Catalogue) -> None:
    clown = told(portrait_of(catalogue.species["ocellaris_clown"], catalogue), "Its year")
    assert (
        "lives in pairs; young ones are male, and the largest turns female (anemonefish; from memory)"
        in clown
    )
    snail = portrait_of(catalogue.species["tegula_cool"], catalogue)
    assert "35 % (25 to 50) lost in 53 days" in told(snail, "What others lost")
    assert "Sexes" not in told(snail, "Its year")
    coral = told(portrait_of(catalogue.species["acropora"], catalogue), "What others lost")
    assert coral == "Nobody has counted deaths of this kind, as far as we know."


def test_a_food_without_a_note_on_feeders_ends_its_sentence(catalogue: Catalogue) -> None:
    told_of = told(portrait_of(catalogue.foods["fz_squid"], catalogue), "What it costs you")
    assert "Does not go through a feeder." in told_of
