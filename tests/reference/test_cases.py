from pathlib import Path

import pytest

from tests.reference.cases import FOLDER, Case, read

FILES = sorted(path.name for path in FOLDER.glob("*.toml"))


def test_every_file_of_cases_has_a_runner_that_reads_it() -> None:
    runners = "".join(path.read_text(encoding="utf-8") for path in Path(__file__).parent.glob("test_*.py"))
    assert [name for name in FILES if f'"{name}"' not in runners] == []


@pytest.mark.parametrize("name", [name for name in FILES if "case" in read(name)])
def test_every_case_says_who_where_how_near_and_why(name: str) -> None:
    entries = [Case(**entry) for entry in read(name)["case"]]
    assert len({case.id for case in entries}) == len(entries)
    for case in entries:
        assert all(text.strip() for text in (case.source, case.place, case.why)), case.id
        assert [case.absolute, case.relative, case.factor].count(None) == 2, case.id


@pytest.mark.parametrize(
    ("nearness", "found", "near"),
    [
        ({"absolute": 0.1}, 10.05, True),
        ({"absolute": 0.1}, 10.2, False),
        ({"relative": 0.01}, 10.05, True),
        ({"relative": 0.01}, 10.2, False),
        ({"factor": 2.0}, 19.0, True),
        ({"factor": 2.0}, 4.9, False),
        ({"factor": 2.0}, -10.0, False),
    ],
)
def test_it_notices_a_value_that_is_too_far_off(nearness: dict[str, float], found: float, near: bool) -> None:
    case = Case(id="a", calls="f", given={}, gives=10.0, why="w", source="s", place="p", **nearness)
    assert case.holds(found) is near
