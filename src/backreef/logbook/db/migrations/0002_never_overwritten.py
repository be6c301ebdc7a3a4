"""Triggers that refuse every update but that of `current`, and every deletion.

A later migration that makes the table anew on SQLite loses its triggers and has to run this again.
"""

from __future__ import annotations

from typing import ClassVar

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

_COLUMNS = "id, entry_id, revision, tank, kind, series, at, content, digest, withdrawn, batch, undoes"
_RAISE = "BEGIN SELECT RAISE(ABORT, 'revisions are never overwritten'); END"
_REFUSE = "FOR EACH ROW EXECUTE FUNCTION logbook_refuse()"
_FUNCTION = """CREATE FUNCTION logbook_refuse() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION 'revisions are never overwritten'; END $$"""
_UPDATE = f"CREATE TRIGGER logbook_no_update BEFORE UPDATE OF {_COLUMNS} ON logbook_revision"
_DELETE = "CREATE TRIGGER logbook_no_delete BEFORE DELETE ON logbook_revision"
_SQLITE = (f"{_UPDATE} {_RAISE}", f"{_DELETE} {_RAISE}")
_POSTGRES = (_FUNCTION, f"{_UPDATE} {_REFUSE}", f"{_DELETE} {_REFUSE}")
_BACK = ("DROP TRIGGER logbook_no_update", "DROP TRIGGER logbook_no_delete")


def guard(_: StateApps, editor: BaseDatabaseSchemaEditor) -> None:
    """Set the triggers."""
    for statement in _POSTGRES if editor.connection.vendor == "postgresql" else _SQLITE:
        editor.execute(statement)


def unguard(_: StateApps, editor: BaseDatabaseSchemaEditor) -> None:
    """Take the triggers away."""
    on_table = " ON logbook_revision" if editor.connection.vendor == "postgresql" else ""
    for statement in _BACK:
        editor.execute(statement + on_table)
    if editor.connection.vendor == "postgresql":
        editor.execute("DROP FUNCTION logbook_refuse()")


class Migration(migrations.Migration):
    """What was written stays as it was written."""

    dependencies: ClassVar = [("logbook", "0001_initial")]
    operations: ClassVar = [migrations.RunPython(guard, unguard)]
