import ast
import re
import sys

import pytest

from tests.house.repository import ROOT, pyproject, python_files, syntax

LOCKS = ("requirements.txt", "requirements-dev.txt", "requirements-bench.txt", "requirements-uv.txt")
PART_OF = {
    "PIL": "pillow",  # the name of what it grew from
    "pydantic_core": "pydantic",  # imported under its own name, brought and pinned by the other
    "recurring_ical_events": "recurring-ical-events",  # a module's name cannot hold a hyphen
}
PIN = re.compile(r"^(?P<name>[A-Za-z0-9._-]+)==(?P<version>\S+)(?: ; [^\\]+)? \\$")
HASH = re.compile(r"^    --hash=sha256:[0-9a-f]{64}(?: \\)?$")


def pins(lock: str) -> dict[str, str]:
    """Package -> version of a lock."""
    lines = (ROOT / lock).read_text(encoding="utf-8").splitlines()
    return {found["name"]: found["version"] for line in lines if (found := PIN.match(line))}


def names(requirements: list[str]) -> set[str]:
    """The packages of a list of requirements."""
    return {re.split(r"[<>=!~\[; ]", requirement)[0].lower() for requirement in requirements}


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_holds_exact_versions_and_hashes_and_nothing_else(lock: str) -> None:
    lines = (ROOT / lock).read_text(encoding="utf-8").splitlines()
    odd = [
        line for line in lines if not line.startswith("#") and not PIN.match(line) and not HASH.match(line)
    ]
    assert odd == []
    assert pins(lock)


def test_the_locks_hold_what_the_project_asks_for() -> None:
    project, groups = pyproject()["project"], pyproject()["dependency-groups"]
    run = names(project["dependencies"])
    assert run <= pins("requirements.txt").keys()
    assert run | names(groups["dev"]) <= pins("requirements-dev.txt").keys()
    assert run | names(groups["bench"]) <= pins("requirements-bench.txt").keys()
    assert names(groups["uv"]) == pins("requirements-uv.txt").keys()


def test_the_tests_run_on_the_versions_that_people_run_on() -> None:
    assert pins("requirements.txt").items() <= pins("requirements-dev.txt").items()


def imported(folder: str) -> set[str]:
    """The top-level packages that the modules below a folder import, from anywhere in a module."""
    found = set()
    for path in python_files(folder):
        for node in ast.walk(syntax(path)):
            if isinstance(node, ast.Import):
                found |= {alias.name.partition(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
                found.add(node.module.partition(".")[0])
    return {PART_OF.get(name, name) for name in found} - sys.stdlib_module_names - {"backreef"}


def test_the_program_imports_only_what_it_declares() -> None:
    project = pyproject()["project"]
    extras = [one for extra in project["optional-dependencies"].values() for one in extra]
    assert imported("src/") <= names(project["dependencies"] + extras)


def test_every_dependency_has_its_reason_on_record() -> None:
    text = (ROOT / "docs" / "dependencies.md").read_text(encoding="utf-8").lower()
    project, groups = pyproject()["project"], pyproject()["dependency-groups"]
    asked = names(project["dependencies"] + [one for group in groups.values() for one in group])
    assert [name for name in sorted(asked) if f"| {name} |" not in text] == []


def recorded() -> dict[str, list[str]]:
    """Library -> the cells behind its name, as docs/dependencies.md lists it."""
    lines = (ROOT / "docs" / "dependencies.md").read_text(encoding="utf-8").splitlines()
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines if line.startswith("| ")]
    return {cells[0].lower(): cells[1:] for cells in rows}


def test_every_library_that_people_install_is_on_record_with_its_licence() -> None:
    known = recorded()
    assert [name for name in pins("requirements.txt") if name.lower() not in known] == []
    assert [name for name, cells in known.items() if len(cells) < 2 or not all(cells)] == []


def test_nothing_is_on_record_that_no_lock_holds() -> None:
    listed = {name for name in recorded() if " " not in name and name not in ("library", "---", "what")}
    held = {name.lower() for lock in LOCKS for name in pins(lock)}
    assert sorted(listed - held - {"`go.py`"}) == []
