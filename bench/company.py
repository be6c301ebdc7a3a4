"""How long the rules of living together take for forty animals, over something stable in the same run.

    python bench/company.py

The measure is parsing the catalogue's own files with the standard library: the ratio says more than seconds,
which depend on the machine. Both are the least of several runs.
"""

from __future__ import annotations

import timeit
import tomllib
from pathlib import Path

from backreef.aquarium.load import load_plan_text
from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.catalogue.load import load_catalogue
from backreef.catalogue.tables import DATA
from backreef.company.engine import check_plan, setting_of
from backreef.company.survival import hazards_of

ANIMALS = 40
RUNS = 5


def forty(catalogue: Catalogue) -> Plan:
    """A plan of forty entries: every sixth animal of the catalogue, one after the other."""
    species = sorted(catalogue.species)[:: len(catalogue.species) // ANIMALS][:ANIMALS]
    entries = "".join(f'[[animals]]\nspecies = "{ident}"\n' for ident in species)
    text = f'start_on = 2027-01-04\n[tank]\ndisplay = "400 L"\n{entries}'
    return load_plan_text(text, "forty.toml", catalogue)


def least_s(what: str, statement: object) -> float:
    """The least time of several runs, printed."""
    seconds = min(timeit.repeat(statement, number=1, repeat=RUNS))  # type: ignore[arg-type]
    print(f"{what:42} {seconds * 1000:8.1f} ms")
    return seconds


def main() -> None:
    """Measure and print."""
    catalogue = load_catalogue()
    plan = forty(catalogue)
    texts = [path.read_text(encoding="utf-8") for path in sorted(Path(DATA, "species").glob("*.toml"))]
    stable = least_s(
        "parsing the species files (the measure)", lambda: [tomllib.loads(text) for text in texts]
    )
    checked = least_s(
        f"rules for {len(plan.animals)} animals", lambda: check_plan(plan, catalogue, absence_days=2)
    )
    hazards = least_s("hazards of the same", lambda: hazards_of(setting_of(plan, catalogue, 2)))
    found = check_plan(plan, catalogue, absence_days=2)
    assert len(plan.animals) == ANIMALS
    assert found
    print(
        f"{len(found)} findings; rules {checked / stable:.2f}, hazards {hazards / stable:.2f} of the measure"
    )


if __name__ == "__main__":
    main()
