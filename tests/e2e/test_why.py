from __future__ import annotations

import json
from pathlib import Path

from tests.e2e.conftest import Run


def test_it_shows_the_working(run: Run, folder: Path) -> None:
    done = run("why", "plan.toml", "mass_in_service_kg")
    assert (done.code, done.err) == (0, "")
    assert "plan.toml:5" in done.out
    assert max(len(line) for line in done.out.splitlines()) <= 80
    assert folder.exists()


def test_it_writes_json_and_nothing_else(run: Run, folder: Path) -> None:
    done = run("why", "plan.toml", "mass_in_service_kg", "--json", "-")
    document = json.loads(done.out)
    assert document["schema"] == "backreef.why/1"
    assert run("why", "plan.toml", "mass_in_service_kg", "--json", folder / "why.json").code == 0
    assert json.loads((folder / "why.json").read_text(encoding="utf-8")) == document


def test_it_lists_what_can_be_asked(run: Run, folder: Path) -> None:
    done = run("why", "plan.toml")
    assert done.code == 0
    assert "floor_load_kn_per_m2" in done.out
    assert folder.exists()


def test_a_slip_is_a_fault_with_a_hint(run: Run, folder: Path) -> None:
    done = run("why", "plan.toml", "mas_in_service_kg")
    assert (done.code, done.out) == (2, "")
    assert "did you mean mass_in_service_kg" in done.err
    assert run("why", "plan.toml", "--json", "-").code == 2
    assert folder.exists()


def test_what_cannot_be_moved_one_by_one_is_told(run: Run, folder: Path) -> None:
    done = run("why", "plan.toml", "mass_in_service_kg", "--one-by-one")
    assert done.code == 0
    assert "mass_in_service_kg has no answer to --one-by-one: nothing is simulated for it" in done.err
    refused = run("why", "plan.toml", "--one-by-one")
    assert (refused.code, refused.out) == (2, "")
    assert "name a FIGURE for --one-by-one" in refused.err
    assert folder.exists()
