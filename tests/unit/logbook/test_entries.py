import math
from datetime import datetime
from typing import Any

import pytest

from backreef.logbook.entries import LONGEST_TEXT, BadEntry, Death, Note
from backreef.logbook.plain import entry_fields, entry_from, what_fields, what_from
from tests.logbook_world import NOON, a_reading, an_entry


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"at": datetime(2027, 3, 2)}, "time zone"),  # noqa: DTZ001  it is what is refused
        ({"logged_at": datetime(2027, 3, 2)}, "time zone"),  # noqa: DTZ001  the same
        ({"revision": 0}, "the first is 1"),
        ({"tank": "  "}, "without its tank"),
        ({"who": ""}, "without its who"),
        ({"what": a_reading(math.nan)}, "the value of a reading is not a number"),
        ({"what": a_reading(math.inf)}, "the value of a reading is not a number"),
        ({"what": Death(count=0, name="snail", written="")}, "it is 1 or more"),
        ({"what": Note(text="x" * (LONGEST_TEXT + 1))}, f"longer than {LONGEST_TEXT}"),
        ({"what": Note(text="a\0b")}, "null character"),
    ],
)
def test_it_refuses_what_cannot_be(changed: dict[str, Any], words: str) -> None:
    with pytest.raises(BadEntry, match=words):
        an_entry(**changed)


@pytest.mark.parametrize(
    ("kind", "changed", "words"),
    [
        ("reeding", {}, "'reeding' is no kind of entry"),
        ("reading", {"valeu": 3}, "a reading has no valeu"),
        ("reading", {"value": "3"}, "reading.value is '3'"),
        ("reading", {"value": True}, "reading.value is True"),
        ("reading", {"value": None}, "reading.value is None"),
        ("reading", {"sign": "~"}, "reading.sign is '~'"),
        ("reading", {"assumed": "x"}, "reading.assumed is 'x'"),
        ("reading", {"assumed": [1]}, "reading.assumed"),
        ("reading", {"series": 4}, "reading.series is 4"),
    ],
)
def test_it_reads_back_nothing_else_than_it_wrote(kind: str, changed: dict[str, Any], words: str) -> None:
    with pytest.raises(BadEntry, match=words):
        what_from(kind, what_fields(a_reading()) | changed)


def test_it_says_which_field_is_missing() -> None:
    with pytest.raises(BadEntry, match="a reading without value"):
        what_from("reading", {"series": "ph_total", "written": "8"})
    plain = entry_fields(an_entry())
    del plain["tank"]
    with pytest.raises(BadEntry, match="entry without tank"):
        entry_from(plain)


def test_a_moment_that_is_none_is_refused() -> None:
    with pytest.raises(BadEntry, match="it is a moment such as"):
        entry_from(entry_fields(an_entry()) | {"at": "noon"})


def test_a_field_that_came_later_takes_its_default() -> None:
    plain = what_fields(a_reading())
    del plain["kit"]
    assert what_from("reading", plain) == a_reading()


def test_a_whole_number_stands_for_a_number() -> None:
    assert what_from("reading", what_fields(a_reading()) | {"value": 3}) == a_reading(3.0)


def test_its_moment_keeps_its_time_zone() -> None:
    assert entry_from(entry_fields(an_entry())).at.utcoffset() == NOON.utcoffset()
