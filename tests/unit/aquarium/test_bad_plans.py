"""Each file of tests/data/bad is a plan with the faults that its first lines name: line, key, some words."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from backreef.aquarium.load import load_plan
from backreef.catalogue.entries import Catalogue
from backreef.catalogue.load import load_catalogue
from backreef.errors import InputFaults

BAD = Path(__file__).resolve().parents[2] / "data" / "bad"
FILES = sorted(BAD.glob("*.toml"))
NAMED = re.compile(r"# fault (?P<line>\d+|-) (?P<key>\S+): (?P<words>.+)")


@cache
def catalogue() -> Catalogue:
    return load_catalogue()


def named_faults(path: Path) -> list[tuple[int | None, str, str]]:
    found = [NAMED.fullmatch(line) for line in path.read_text(encoding="utf-8").splitlines()]
    return [
        (None if one["line"] == "-" else int(one["line"]), one["key"].removeprefix("-"), one["words"])
        for one in found
        if one is not None
    ]


@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_it_finds_each_fault_with_its_place_and_nothing_else(path: Path) -> None:
    expected = named_faults(path)
    with pytest.raises(InputFaults) as raised:
        load_plan(path, catalogue())
    found = [(fault.line, fault.key) for fault in raised.value.faults]
    assert found == [(line, key) for line, key, _ in expected], str(raised.value)
    for fault, (_, _, words) in zip(raised.value.faults, expected, strict=True):
        assert words in fault.message
        assert fault.file == str(path)


def test_it_has_a_broken_plan_for_every_kind_of_fault() -> None:
    assert len(FILES) > 80
    assert all(named_faults(path) for path in FILES)
