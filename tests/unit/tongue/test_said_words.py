"""Nothing that a room can say is missing among the sentences to be translated."""

from __future__ import annotations

import ast
from importlib import resources

import pytest

from backreef.tongue.door import speaker_of
from backreef.tongue.forms import BLANK
from scripts import write_translations as files
from scripts.said_words import _Reader, sentences, split

ENOUGH_FRAC = 0.9


def texts_of(code: str) -> list[str]:
    reader = _Reader()
    reader.visit(ast.parse(code))
    return [one for text in reader.found for one in split(text)]


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("x = f\"{name} {'starves' if harm else 'grows thin'}\"", ["{name} starves", "{name} grows thin"]),
        ('x = f"{minutes:.0f} minutes on {long_date(on)}"', ["{n} minutes on {date}"]),
        ('x = plural(len(found), "finding")', ["{n} finding", "{n} findings"]),
        ('x = Table(columns=("month", "arrivals"))', ["month", "arrivals"]),
        ('x = element("p", "holds", class_="quiet small")', ["holds"]),
        ('"""A docstring of many words."""', []),
        ('x = found["the key"] == "the other key"', []),
        ('x = "A first one. A second one"', ["A first one", "A second one"]),
    ],
)
def test_what_somebody_could_read_is_found_in_code(code: str, said: list[str]) -> None:
    assert texts_of(code) == said


def test_every_finding_reason_and_remedy_is_among_the_sentences() -> None:
    known = sentences()
    from backreef.judgement.findings import words
    from backreef.judgement.remedies import remedy_table

    said = [one["says"] for one in remedy_table().values() if "says" in one]
    said += [each["why"] for topic in words()["water"].values() for each in topic.values()]
    said += [each[key] for each in words()["hands"].values() for key in ("what", "why") if key in each]
    assert [one for text in said for one in split(text) if one not in known] == []


@pytest.mark.parametrize("language", files.languages())
def test_what_is_translated_has_its_blanks_and_answers_to_itself(language: str) -> None:
    speaker = speaker_of(language)
    assert speaker is not None
    wrong = []
    for message in files.translations(language, "said"):
        asked, answer = str(message.id), str(message.string)
        if asked and answer:
            answers = BLANK.search(asked) or speaker.say(asked)[1]
            if sorted(BLANK.findall(asked)) != sorted(BLANK.findall(answer)) or not answers:
                wrong.append(asked)
    assert wrong == []


@pytest.mark.parametrize("language", files.languages())
def test_what_the_program_says_is_made_from_its_file(language: str) -> None:
    made = files.mo_bytes(files.translations(language, "said"))
    assert made == files.po_file(language, "said").with_suffix(".mo").read_bytes()


@pytest.mark.parametrize("language", files.languages())
@pytest.mark.parametrize("table", ["judgement/data/why.toml", "judgement/data/remedies.toml"])
def test_reasons_and_remedies_are_said_in_it(language: str, table: str) -> None:
    """Nearly all: a new one may come before its translation, and is read in English until then."""
    file = files.translations(language, "said")
    asked = [one for one, places in sentences().items() if table in places]
    answered = [one for one in asked if (message := file.get(one)) is not None and message.string]
    assert asked
    assert len(answered) >= ENOUGH_FRAC * len(asked)


def test_the_files_come_with_the_program() -> None:
    place = resources.files("backreef.tongue") / "locale"
    assert {one.name for one in place.iterdir() if one.is_dir()} == set(files.languages())
