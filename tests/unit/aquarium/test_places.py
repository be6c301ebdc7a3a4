from __future__ import annotations

import tomllib

from backreef.aquarium.places import find_lines, line_of

TEXT = '''# a comment with [brackets] and = signs
start_on = 2027-01-04
story = """
[tank]
lid = "mesh"
"""
tank.display = "300 L"  # dotted

[tank.start]
kind = 'established'
[keeper]
presence = [
  "Tue-Fri 9-19", # with a ] in a comment
  "Sat 9-15",
]
closed = [{ country = "GB", region = "E,N}G" }, { weekday = "Sunday" },
  { every_year = "2 Aug to 15 Aug" }]

[[animals]]
species = "trochus"
[[animals]]
"species" = "cerith"
why = "a \\" quote"
[goals.bands]
nitrate.act_high = "20 mg/L NO3"
'''


def test_it_finds_the_line_of_each_key() -> None:
    tomllib.loads(TEXT)
    lines = find_lines(TEXT)
    assert lines["start_on",] == 2
    assert lines["tank", "display"] == 7
    assert lines["tank", "start"] == 9
    assert lines["tank", "start", "kind"] == 10
    assert lines["keeper", "presence", 1] == 14
    assert lines["keeper", "closed", 1, "weekday"] == 16
    assert lines["keeper", "closed", 2, "every_year"] == 17
    assert lines["animals", 0, "species"] == 20
    assert lines["animals", 1] == 21
    assert lines["animals", 1, "species"] == 22
    assert lines["goals", "bands", "nitrate", "act_high"] == 25
    assert ("tank", "lid") not in lines


def test_it_falls_back_to_the_table_around_a_key() -> None:
    lines = find_lines(TEXT)
    assert line_of(lines, ("animals", 1, "count")) == 21
    assert line_of(lines, ("tank", "start", "age")) == 9
    assert line_of(lines, ("upkeep",)) is None


def test_it_keeps_step_with_windows_line_ends() -> None:
    assert find_lines(TEXT.replace("\n", "\r\n")) == find_lines(TEXT)
