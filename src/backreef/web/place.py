"""The folder that is served: plan files and the log beside each other, and what the page keeps for itself."""

from __future__ import annotations

import json
import secrets
from dataclasses import dataclass
from pathlib import Path

STATE = ".backreef"
_KEY_BYTES = 48


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A folder with plans, and what stands in its `.backreef`."""

    folder: Path
    log: str
    """Place of the log: a path, or the address of a server."""
    tables: str = ""
    """Address of the server that keeps the page's own tables; empty for a file in the folder."""

    @property
    def state(self) -> Path:
        """What the page keeps for itself: sign-ins, jobs, versions of plans."""
        return self.folder / STATE

    @property
    def database(self) -> Path:
        """The page's own database."""
        return self.state / "web.sqlite3"

    @property
    def results(self) -> Path:
        """What finished jobs have found."""
        return self.state / "results"

    @property
    def drawn(self) -> Path:
        """Pieces of pages about what was found."""
        return self.state / "drawn"

    @property
    def small(self) -> Path:
        """Small copies of photographs, made when a page first shows them."""
        return self.state / "small"

    @property
    def waiting(self) -> Path:
        """Uploaded tables that wait to be agreed to."""
        return self.state / "waiting"

    def in_words(self) -> str:
        """The place as a word for another process."""
        return json.dumps([str(self.folder), self.log, self.tables])

    @staticmethod
    def from_words(words: str) -> Place:
        """The place that another process told of."""
        folder, log, tables = json.loads(words)
        return Place(folder=Path(folder), log=log, tables=tables)

    def prepare(self) -> None:
        """Make the folders, for this user's eyes only."""
        for folder in (self.state, self.results, self.drawn, self.waiting):
            folder.mkdir(mode=0o700, exist_ok=True)

    def secret_key(self) -> str:
        """The key that signs sessions and links; made once."""
        path = self.state / "secret-key"
        try:
            with path.open("x", encoding="utf-8") as file:
                path.chmod(0o600)
                file.write(secrets.token_urlsafe(_KEY_BYTES))
        except FileExistsError:
            pass
        return path.read_text(encoding="utf-8").strip()
