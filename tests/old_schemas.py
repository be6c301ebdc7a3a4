"""Databases as older versions made them, kept as text: `python -m tests.old_schemas` writes those that lack.

The newest version of each database is written too, so that it is there once it is an older one.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.logbook_world import a_reading, an_entry

FOLDER = Path(__file__).parent / "data" / "schemas"
ENTRIES = tuple(an_entry(f"kept{number}", a_reading(1.5 + number), batch=f"b{number}") for number in range(3))
"""What each log of an older version holds."""


def versions(app: str) -> tuple[str, ...]:
    """The names of the migrations of a database, first to last."""
    folder = Path(__file__).parents[1] / "src" / "backreef"
    folder = folder / {"logbook": "logbook/db", "web": "web"}[app] / "migrations"
    return tuple(sorted(path.stem for path in folder.glob("0*.py")))


def kept(app: str) -> tuple[Path, ...]:
    """The databases that are kept of one."""
    return tuple(sorted(FOLDER.glob(f"{app}-*.sql")))


def rebuilt(kept_text: Path, target: Path) -> Path:
    """A database out of its text."""
    with closing(sqlite3.connect(target)) as database:
        database.executescript(kept_text.read_text(encoding="utf-8"))
    return target


def written(database: Path) -> str:
    """The text of a database."""
    with closing(sqlite3.connect(database)) as opened:
        return "\n".join(opened.iterdump()) + "\n"


def logs(folder: Path) -> Iterator[tuple[str, Path]]:
    """A log of each version with the entries above."""
    from backreef.logbook.db.prepare import APP, _executor, closing_alias
    from backreef.logbook.db.rows import row_of

    for version in versions("logbook"):
        path = folder / f"log-{version}.sqlite3"
        with closing_alias(str(path)) as alias:
            _executor(alias).migrate([(APP, version)])
            for entry in ENTRIES:
                row_of(entry).save(using=alias, force_insert=True)
        yield version, path


def main() -> None:
    """Write what lacks."""
    from django.core.management import call_command

    from tests.page_world import serving

    FOLDER.mkdir(exist_ok=True)
    with TemporaryDirectory() as name:
        made = {f"logbook-{version}": path for version, path in logs(Path(name))}
        with serving(Path(name)) as place:
            call_command("check", verbosity=0)
        made[f"web-{versions('web')[-1]}"] = place.database
        for title, path in made.items():
            target = FOLDER / f"{title}.sql"
            if not target.exists():
                target.write_text(written(path), encoding="utf-8")


if __name__ == "__main__":
    main()
