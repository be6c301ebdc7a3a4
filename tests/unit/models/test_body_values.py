import re
from pathlib import Path

import pytest

from backreef.models.body_values import (
    BODIES,
    BodyValueError,
    body_numbers,
    number,
    read_body_sources,
    read_body_values,
)
from backreef.units import has_unit

VALUES = read_body_values()
MODELS = Path(BODIES).parent.parent


def test_every_value_lies_between_its_bounds() -> None:
    assert [name for name, entry in VALUES.items() if not entry.lowest <= entry.value <= entry.highest] == []


def test_every_value_says_who_where_and_how_surely() -> None:
    sources = read_body_sources()
    assert [name for name, entry in VALUES.items() if entry.source not in sources] == []
    assert {entry.status for entry in VALUES.values()} <= {"published", "calc", "memory", "practice"}
    assert [name for name, entry in VALUES.items() if entry.status == "published" and not entry.place] == []


def test_every_source_is_used() -> None:
    used = {entry.source for entry in VALUES.values()}
    assert set(read_body_sources()) - used == set()


def test_every_name_ends_in_its_unit() -> None:
    # eV is the unit of activation energies alone and no unit that a plan or a report knows.
    assert [name for name in VALUES if not has_unit(name) and not name.endswith("_ev")] == []


def test_it_gives_the_central_numbers_under_dotted_names() -> None:
    assert body_numbers()["day.oxycalorific_kj_per_g_o2"] == 13.56
    assert body_numbers()["family_line.pomacentridae.mass_exponent"] == 0.7619


def test_a_value_without_bounds_bounds_itself() -> None:
    entry = VALUES["clownfish.gain_kj_per_g"]
    assert entry.low is None
    assert (entry.lowest, entry.highest) == (entry.value, entry.value)


def test_it_names_a_missing_value_and_never_takes_it_for_zero() -> None:
    with pytest.raises(BodyValueError, match=re.escape("'day.naps_per_d'")):
        number(body_numbers(), "day.naps_per_d")


@pytest.mark.parametrize(
    ("entry", "complaint"),
    [
        ('{ value = 1.0, unit = "g", source = "a", place = "b" }', "status"),
        ('{ value = 1.0, unit = "g", source = "a", place = "b", status = "calc", hight = 2.0 }', "hight"),
    ],
)
def test_it_refuses_an_entry_that_lacks_or_invents_a_field(
    tmp_path: Path, entry: str, complaint: str
) -> None:
    file = tmp_path / "bodies.toml"
    file.write_text(f'[sources]\na = "A"\n\n[day]\nmass_g = {entry}\n', encoding="utf-8")
    with pytest.raises(BodyValueError, match=f"day.mass_g.*{complaint}"):
        read_body_values(file)
