import pytest

from backreef.plots.measure import lines_of, shortened, text_width


def test_it_finds_wide_letters_wider_than_narrow_ones() -> None:
    assert text_width("WWW", 12) > text_width("aaa", 12) > text_width("iii", 12)
    assert text_width("紅海", 12) > text_width("ab", 12)
    assert text_width("bold", 12, bold=True) > text_width("bold", 12)
    assert text_width("e\u0301", 12) == text_width("e", 12)


def test_it_leaves_a_text_that_fits() -> None:
    assert shortened("Cerith", size=10, room=100) == "Cerith"


@pytest.mark.parametrize("room", [12.0, 30.0, 80.0, 200.0])
def test_it_cuts_a_text_to_its_room(room: float) -> None:
    cut = shortened("a very long name of an animal", size=10, room=room)
    assert text_width(cut, 10) <= room
    assert cut == "" or cut[-1] == "…" or cut == "a very long name of an animal"


def test_it_gives_nothing_where_not_even_a_letter_fits() -> None:
    assert shortened("Cerith", size=10, room=5) == ""


def test_it_breaks_a_text_into_lines_and_cuts_the_last() -> None:
    lines = lines_of("one two three four five six seven eight", size=10, room=70, most=2)
    assert len(lines) == 2
    assert lines[-1].endswith("…")
    assert all(text_width(line, 10) <= 70 for line in lines)


def test_it_keeps_all_words_where_there_are_lines_enough() -> None:
    assert " ".join(lines_of("one two three", size=10, room=40, most=9)) == "one two three"
    assert lines_of("", size=10, room=40, most=2) == []
