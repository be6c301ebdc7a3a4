"""The wheel that would be published: built without the network, unpacked elsewhere, and used."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.house.repository import ROOT, files


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> zipfile.ZipFile:
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", str(folder)]
    done = subprocess.run(build, cwd=ROOT, capture_output=True, check=False, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    (path,) = folder.glob("*.whl")
    with zipfile.ZipFile(path) as archive:
        archive.extractall(folder / "unpacked")
        return archive


@pytest.fixture(scope="module")
def unpacked(wheel: zipfile.ZipFile) -> Path:
    return Path(str(wheel.filename)).parent / "unpacked"


def use(unpacked: Path, code: str) -> str:
    """Run code that finds backreef in the unpacked wheel only."""
    environment = os.environ | {"PYTHONPATH": str(unpacked)}
    command = [sys.executable, "-P", "-c", code]
    done = subprocess.run(command, cwd=unpacked, env=environment, capture_output=True, check=False, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_it_holds_every_file_of_the_package(wheel: zipfile.ZipFile) -> None:
    wanted = {name.removeprefix("src/") for name in files() if name.startswith("src/backreef/")}
    wanted |= {f"backreef/{name}" for name in files() if name.startswith("examples/")}
    held = {name for name in wheel.namelist() if name.startswith("backreef/")}
    assert held == wanted
    assert "backreef/py.typed" in held
    assert any(name.endswith(".csv") for name in held)


def test_it_holds_nothing_beside_the_package(wheel: zipfile.ZipFile) -> None:
    assert {name.partition("/")[0].partition("-")[0] for name in wheel.namelist()} == {"backreef"}


def test_it_brings_its_licence_and_its_command(unpacked: Path) -> None:
    (information,) = unpacked.glob("*.dist-info")
    assert "MIT License" in (information / "licenses" / "LICENSE").read_text(encoding="utf-8")
    commands = (information / "entry_points.txt").read_text(encoding="utf-8")
    assert "backreef = backreef.cli.main:main" in commands


def test_it_works_from_where_it_was_unpacked(unpacked: Path) -> None:
    said = use(unpacked, "import backreef.units as units; print(len(units.UNIT_TOKENS), units.__file__)")
    count, place = said.strip().split(maxsplit=1)
    assert Path(place).is_relative_to(unpacked)
    assert int(count) > 10


@pytest.mark.parametrize(
    "code",
    [
        "from backreef.catalogue.load import load_catalogue as read; assert read().species",
        "from backreef.models.matrix import packaged_matrix as read; assert read()",
        "import backreef as b, backreef.usecases.examples as e; assert b.check(e.example_plan()).ok",
        "from backreef.usecases.documents import document_schema as read; assert read('check')",
    ],
    ids=["catalogue", "process matrix", "examples", "schemas"],
)
def test_its_tables_can_be_read_from_there(unpacked: Path, code: str) -> None:
    use(unpacked, code)
