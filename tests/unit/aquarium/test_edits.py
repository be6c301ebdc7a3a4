from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from backreef.aquarium.edits import CannotEdit, add_entry, drop_entry, drop_key, set_key
from backreef.aquarium.places import Path
from backreef.aquarium.toml_text import quoted
from tests.cli_world import EXAMPLES

TEXT = """\
# top
start_on = 2027-01-04  # the day

[tank]
name = "Reef # one" # remark
display = "300 L"

# two fish
[[animals]]
species = "ocellaris_clown"
count = 2

# a meal
[[meals]]
food = "pellet_small"
times = [
  "9:00", # early
  "17:00",
]
"""
READING_ROOM = (EXAMPLES / "reading_room.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("path", "value", "before", "after"),
    [
        (("tank", "name"), '"Hall"', 'name = "Reef # one" # remark', 'name = "Hall" # remark'),
        (("start_on",), "2027-02-01", "2027-01-04  # the day", "2027-02-01  # the day"),
        (("animals", 0, "count"), "3", "count = 2\n", "count = 3\n"),
        (("animals", 0, "length"), '"4 cm"', "count = 2\n", 'count = 2\nlength = "4 cm"\n'),
        (("tank", "rock"), '"30 kg"', 'display = "300 L"\n', 'display = "300 L"\nrock = "30 kg"\n'),
        (("story",), '"short"', "# the day\n", '# the day\nstory = "short"\n'),
        (("keeper", "name"), '"me"', '  "17:00",\n]\n', '  "17:00",\n]\n\n[keeper]\nname = "me"\n'),
    ],
)
def test_it_changes_one_key_and_no_other_letter(path: Path, value: str, before: str, after: str) -> None:
    assert before in TEXT
    assert set_key(TEXT, path, value) == TEXT.replace(before, after)


def test_a_value_of_several_lines_is_replaced_whole() -> None:
    plain = TEXT.replace(" # early", "")
    old, new = 'times = [\n  "9:00",\n  "17:00",\n]\n', 'times = ["8:00"]\n'
    assert set_key(plain, ("meals", 0, "times"), '["8:00"]') == plain.replace(old, new)


def test_it_drops_a_key() -> None:
    assert drop_key(TEXT, ("animals", 0, "count")) == TEXT.replace("count = 2\n", "")
    assert drop_key(TEXT, ("animals", 0, "length")) == TEXT


def test_a_new_entry_stands_behind_the_last_and_leaves_the_next_remark_alone() -> None:
    longer = add_entry(TEXT, "animals", [("species", '"cerith"'), ("count", "5")])
    assert '\ncount = 2\n\n[[animals]]\nspecies = "cerith"\ncount = 5\n\n# a meal\n' in longer
    assert drop_entry(longer, "animals", 1) == TEXT


def test_the_last_entry_of_a_list_may_go() -> None:
    shorter = drop_entry(TEXT, "animals", 0)
    assert "animals" not in tomllib.loads(shorter)
    assert "# a meal" in shorter


@pytest.mark.parametrize(
    "change",
    [
        lambda: set_key(TEXT, ("tank", "name"), "not quoted"),
        lambda: set_key(TEXT, ("tank", "name"), '"a"\ncount = 3'),
        lambda: drop_entry(TEXT, "animals", 7),
        lambda: set_key("[[animals", ("tank", "name"), '"a"'),
        lambda: set_key('tank = { name = "a" }\n', ("tank", "display"), '"300 L"'),
        lambda: set_key(TEXT, ("meals", 0, "times"), '["8:00"]'),
    ],
    ids=["no value", "two keys", "no entry", "no TOML", "one line", "remarks inside"],
)
def test_what_cannot_be_done_is_refused(change: object) -> None:
    assert callable(change)
    with pytest.raises(CannotEdit):
        change()


@pytest.mark.parametrize("example", sorted(path.name for path in EXAMPLES.glob("*.toml")))
def test_setting_every_key_to_itself_keeps_what_the_plan_says(example: str) -> None:
    text = (EXAMPLES / example).read_text(encoding="utf-8")
    document = tomllib.loads(text)
    for section in ("animals", "meals", "upkeep", "devices"):
        for number, entry in enumerate(document.get(section, [])):
            for key, value in entry.items():
                if isinstance(value, str):
                    assert set_key(text, (section, number, key), quoted(value)) == text


@given(st.text(st.characters(codec="utf-8", exclude_characters="\r"), max_size=60))
def test_any_words_come_back_as_they_were(words: str) -> None:
    changed = set_key(READING_ROOM, ("tank", "name"), quoted(words))
    assert tomllib.loads(changed)["tank"]["name"] == words
    assert len(changed.split("\n")) == len(READING_ROOM.split("\n"))
