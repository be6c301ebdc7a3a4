import subprocess
import sys
from pathlib import Path

import pytest

from tests.house.repository import PACKAGE, ROOT

LINT = "import sys; from importlinter.cli import lint_imports_command as lint; lint(['--no-cache'])"


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    environment = {"PYTHONPATH": str(folder / "src"), "PATH": "", "COLUMNS": "200"}
    return subprocess.run(
        [sys.executable, "-P", "-c", LINT],
        cwd=folder,
        env=environment,
        capture_output=True,
        check=False,
        text=True,
    )


def test_its_imports_flow_one_way() -> None:
    done = lint(ROOT)
    assert done.returncode == 0, done.stdout + done.stderr


# Each import breaks one contract; without these, a contract that checks nothing would look kept.
FORBIDDEN = [
    ("errors.py", "import backreef.units", "Imports flow one way"),
    ("models/mathops.py", "import backreef.catalogue.entries", "The models know numbers and units"),
    ("judgement/verdict.py", "import pydantic", "The core knows no framework"),
    ("usecases/log.py", "import django", "Django lives in the store of the log and in the web room only"),
    ("usecases/log.py", "import backreef.logbook.db.rows", "The database is reached through the store"),
    ("web/tanks.py", "import backreef.simulation.march", "The page asks use cases, never the simulation"),
    ("plots/path.py", "import rich", "Only the command line knows a terminal"),
    ("catalogue/sources.py", "import backreef.catalogue.entries", "No cycles between neighbours"),
]


@pytest.mark.parametrize(("module", "line", "contract"), FORBIDDEN, ids=[row[2] for row in FORBIDDEN])
def test_it_notices_an_import_that_goes_the_wrong_way(
    module: str, line: str, contract: str, tmp_path: Path
) -> None:
    copy = tmp_path / "src" / "backreef"
    for path in PACKAGE.rglob("*.py"):
        target = copy / path.relative_to(PACKAGE)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(path.read_bytes())
    (tmp_path / "pyproject.toml").write_bytes((ROOT / "pyproject.toml").read_bytes())
    with (copy / module).open("a", encoding="utf-8") as file:
        file.write(f"\n{line}\n")

    done = lint(tmp_path)

    assert done.returncode == 1, done.stdout + done.stderr
    broken = [text for text in done.stdout.splitlines() if text.endswith("BROKEN")]
    assert any(text.startswith(contract) for text in broken), done.stdout


def test_its_rooms_keep_an_empty_front_door() -> None:
    rooms = [path for path in PACKAGE.rglob("__init__.py") if path.parent != PACKAGE]
    assert rooms
    assert [str(path) for path in rooms if path.read_text(encoding="utf-8").strip()] == []
