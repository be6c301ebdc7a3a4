"""Whoever follows a recipe of docs gets what it promises: each is done here as it stands on its page."""

from __future__ import annotations

import csv
import io
import re
import subprocess
import sys
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from backreef.aquarium.load import load_plan, load_plan_text
from backreef.catalogue.entries import known
from backreef.catalogue.load import load_catalogue
from backreef.company import engine
from backreef.models.matrix import build_matrix, packaged_matrix
from backreef.models.tables import parameter_row, process_row
from backreef.simulation.engine import build_engine
from backreef.usecases.examples import example_plan
from tests.cli_world import ROOT
from tests.docs_world import blocks, page
from tests.e2e.conftest import Run
from tests.page_world import serving, signed_in, text_of
from tests.tanks import Life, Tank, run

SHIPPED = ROOT / "src" / "backreef" / "catalogue" / "data"


def of_table(text: str) -> dict[str, str]:
    (row,) = csv.DictReader(io.StringIO(text))
    return row


def copied(folder: Path, shelf: str, old: str, new: str, *changes: tuple[str, str]) -> None:
    """The file of one entry under a new id, as the recipe has it."""
    text = (SHIPPED / shelf / f"{old}.toml").read_text(encoding="utf-8").replace(f'"{old}"', f'"{new}"')
    for before, after in changes:
        text, times = re.subn(before, after, text, flags=re.MULTILINE)
        assert times, before
    (folder / shelf).mkdir(exist_ok=True)
    (folder / shelf / f"{new}.toml").write_text(text, encoding="utf-8")


def test_an_animal_of_my_own(tmp_path: Path, run: Run) -> None:
    (number,) = re.findall(r"^   adult_length_cm = (.+)$", page("adding-a-species.md"), re.MULTILINE)
    copied(
        tmp_path,
        "species",
        "ocellaris_clown",
        "bay_clown",
        (r"adult_length_cm = .*", f"adult_length_cm = {number}"),
    )
    assert run("catalogue", "check", tmp_path).code == 0
    catalogue = load_catalogue(extra=tmp_path)
    told = tomllib.loads(f"said = {number}")["said"]
    length = known(catalogue.species["bay_clown"].adult_length_cm)
    assert length is not None
    assert length.value == told["value"]
    text = example_plan("family_first_reef").read_text(encoding="utf-8")
    plan = load_plan_text(
        text.replace('species = "ocellaris_clown"', 'species = "bay_clown"'), "mine", catalogue
    )
    assert "bay_clown" in {one.species for one in plan.animals}


@pytest.mark.parametrize(
    ("shelf", "like", "key"),
    [
        ("foods", "pellet_small", "protein_frac"),
        ("devices", "feeder_auger", "failure_modes"),
        ("tasks", "glass_inner", "minutes"),
    ],
)
def test_a_food_a_device_a_task_of_my_own(tmp_path: Path, run: Run, shelf: str, like: str, key: str) -> None:
    assert f"`{key}" in page("adding-a-food.md")
    copied(tmp_path, shelf, like, "of_the_bay")
    checked = run("catalogue", "check", tmp_path)
    assert (checked.code, checked.err) == (0, "")
    mine, theirs = getattr(load_catalogue(extra=tmp_path), shelf), getattr(load_catalogue(), shelf)
    assert getattr(mine["of_the_bay"], key) == getattr(theirs[like], key)
    copied(tmp_path, shelf, like, "of_the_bay", (rf"^{key} = .*$", f"{key} = 7 # no such thing"))
    assert run("catalogue", "check", tmp_path).code == 2


def test_a_process() -> None:
    row, number = (of_table(text) for text in blocks("adding-a-process.md", "text"))
    parameter = parameter_row(number)
    tables = packaged_matrix().tables
    matrix = build_matrix(
        replace(
            tables,
            parameters={**tables.parameters, parameter.symbol: parameter},
            rows=(*tables.rows, process_row(row)),
        )
    )
    tank = Tank(matrix=matrix)
    without = Tank(matrix=packaged_matrix())
    with_row = run(tank, Life(days=3), engine=build_engine(matrix, tank.layout))
    usual = run(without, Life(days=3))
    assert with_row.drift().max() < 1e-12
    assert (with_row.row("X_BW")[-1] < usual.row("X_BW")[-1]).all()
    assert np.isfinite(with_row.result.days).all()


def test_a_rule(monkeypatch: pytest.MonkeyPatch) -> None:
    (code,) = blocks("adding-a-rule.md", "python")
    made: dict[str, Any] = {"__name__": "written_from_docs"}
    exec(compile(code, "adding-a-rule.md", "exec"), made)
    (helps,) = (tomllib.loads(text) for text in blocks("adding-a-rule.md", "toml"))
    known = engine.remedies()
    monkeypatch.setattr(engine, "RULES", (*engine.RULES, *made["RULES"]))
    monkeypatch.setattr(
        engine, "remedies", lambda: {**known, **{rule: tuple(said) for rule, said in helps.items()}}
    )
    catalogue = load_catalogue()
    plan = load_plan(example_plan("family_first_reef"), catalogue)
    few = replace(plan, animals=tuple(replace(one, count=1) for one in plan.animals))
    spoken = [one.id for one in engine.check_plan(plan, catalogue) if one.rule == "odd_school"]
    assert spoken == ["odd_school.ceriths", "odd_school.mushroom_corals"]
    assert not [one for one in engine.check_plan(few, catalogue) if one.rule == "odd_school"]


def test_a_page(tmp_path: Path) -> None:
    from django.template import engines
    from django.template.backends.django import DjangoTemplates
    from django.urls import clear_url_caches, path

    (code,), (template,) = (blocks("adding-a-page.md", language) for language in ("python", "html"))
    made: dict[str, Any] = {"__name__": "written_from_docs"}
    (address,) = re.findall(r'path\("(\w+/)", examples, name="examples"\)', page("adding-a-page.md"))
    (tmp_path / "templates" / "web").mkdir(parents=True)
    (tmp_path / "templates" / "web" / "examples.html").write_text(template, encoding="utf-8")
    with serving(tmp_path):
        from backreef.web import urls

        exec(compile(code, "adding-a-page.md", "exec"), made)
        pages = engines["django"]
        assert isinstance(pages, DjangoTemplates)
        folders, before = pages.engine.dirs, list(urls.urlpatterns)
        pages.engine.dirs = [*folders, str(tmp_path / "templates")]
        urls.urlpatterns.append(path(address, made["examples"], name="examples"))
        clear_url_caches()
        try:
            answer = signed_in().get(f"/{address}")
            assert answer.status_code == 200
            assert "reading_room.toml" in text_of(answer)
        finally:
            pages.engine.dirs = folders
            urls.urlpatterns[:] = before
            clear_url_caches()


@pytest.mark.parametrize(
    ("name", "place"), [("adding-a-rule.md", "company/odd.py"), ("adding-a-page.md", "web/views_odd.py")]
)
def test_its_code_passes_the_house_s_linter(name: str, place: str) -> None:
    (code,) = blocks(name, "python")
    ruff = [sys.executable, "-m", "ruff"]
    for verb in (["check", "--no-fix", "--ignore=I002,D100"], ["format", "--diff"]):
        done = subprocess.run(
            [*ruff, *verb, "--stdin-filename", str(ROOT / "src" / "backreef" / place), "-"],
            input=code,
            capture_output=True,
            text=True,
            cwd=ROOT,
            check=False,
        )
        assert done.returncode == 0, done.stdout
