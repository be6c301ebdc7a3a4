"""The two streams of a terminal: what can be shown on them, and writing that never fails for what it says."""

from __future__ import annotations

import os
import re
import shutil
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from io import TextIOBase
from pathlib import Path
from typing import IO, NoReturn

import click

from backreef.reports.text_layout import Style, spelled_in_ascii

PAGE_WIDTH = 80
LEAST_WIDTH = 60
MOST_WIDTH = 100
OWN_NAME = "backreef"
_SAMPLE = "▁█░━▾–°₃"
"""Signs that pages use beside ASCII."""


class CannotSay(click.ClickException):
    """Standard output takes no more, as a file on a full disk."""

    exit_code = 2

    def __init__(self, trouble: OSError) -> None:
        super().__init__(f"standard output cannot be written ({trouble.strerror or trouble})")


@dataclass(slots=True, kw_only=True)
class Terminal:
    """Standard output for answers, standard error for everything else."""

    out: IO[str]
    err: IO[str]
    environment: Mapping[str, str] = field(default_factory=dict)
    reader_left: bool = False
    """Whether whoever read standard output has stopped; from then on it is silent."""
    called: str = OWN_NAME
    """What people type to start the program here, in place of its name where a text quotes a command."""

    @classmethod
    def standard(cls) -> Terminal:
        """The terminal that the program was started in."""
        for name in ("stdout", "stderr"):
            stream = getattr(sys, name)
            if stream is None:  # started without it; whoever writes there must not fail for that
                setattr(sys, name, Path(os.devnull).open("w", encoding="utf-8"))  # noqa: SIM115  to the end
            elif hasattr(stream, "reconfigure"):
                stream.reconfigure(errors="replace")
        return cls(out=sys.stdout, err=sys.stderr, environment=os.environ)

    def say(self, text: str) -> None:
        """Write lines to standard output."""
        self._write(lambda: self.out.write(_showable(self._typed(text), self.out)))

    def document(self, text: str) -> None:
        """Write a document to standard output, in UTF-8 whatever the terminal speaks."""
        self._write_bytes(text.encode("utf-8", errors="backslashreplace"))

    def data(self, content: bytes) -> None:
        """Write a document that is no text to standard output."""
        self._write_bytes(content)

    def path(self, path: Path) -> None:
        """Write the path of a file on a line of its own, byte by byte as the system has it."""
        self._write_bytes(os.fsencode(path) + b"\n")

    def tell(self, text: str) -> None:
        """Write lines to standard error; nobody may be listening."""
        try:
            self.err.write(_showable(self._typed(text), self.err))
            self.err.flush()
        except (BrokenPipeError, ValueError):
            pass

    def style(self) -> Style:
        """How a page for standard output has to look."""
        return Style(width=self.width, colour=self.colour, ascii_only=not _can_show(_SAMPLE, self.out))

    def err_style(self) -> Style:
        """How lines for standard error have to look."""
        colour = self._coloured(self.err)
        return Style(width=self.width, colour=colour, ascii_only=not _can_show(_SAMPLE, self.err))

    @property
    def width(self) -> int:
        """Columns of a page."""
        if not _is_terminal(self.out):
            return PAGE_WIDTH
        columns = shutil.get_terminal_size((PAGE_WIDTH, 24)).columns
        return min(max(columns - 1, LEAST_WIDTH), MOST_WIDTH)

    @property
    def colour(self) -> bool:
        """Whether standard output may be coloured."""
        return self._coloured(self.out)

    @property
    def shows_progress(self) -> bool:
        """Whether somebody watches standard error as it comes."""
        return _is_terminal(self.err) and self.environment.get("TERM") != "dumb"

    def close(self) -> None:
        """Hand over what is still to be written, so that nothing is left to fail at the very end."""
        for stream in (self.out, self.err):
            try:
                stream.flush()
            except BrokenPipeError:
                _discard(stream)
            except (OSError, ValueError):
                pass

    def _typed(self, text: str) -> str:
        """Commands that a text quotes as they are typed here."""
        return re.sub(rf"'{OWN_NAME}(?=\s)", f"'{self.called}", text)

    def _write_bytes(self, content: bytes) -> None:
        buffer = getattr(self.out, "buffer", None)
        if buffer is None:
            self._write(lambda: self.out.write(content.decode("utf-8", errors="replace")))
        else:
            self._write(lambda: (self.out.flush(), buffer.write(content)))

    def _write(self, write: Callable[[], object]) -> None:
        if self.reader_left:
            return
        try:
            write()
            self.out.flush()
        except BrokenPipeError:
            self.leave()
        except OSError as trouble:
            self._give_up(trouble)

    def _give_up(self, trouble: OSError) -> NoReturn:
        self.leave()
        raise CannotSay(trouble) from trouble

    def leave(self) -> None:
        """Go on in silence: a page that is not read to its end changes neither files nor the verdict."""
        self.reader_left = True
        _discard(self.out)

    def _coloured(self, stream: IO[str]) -> bool:
        plain = self.environment.get("NO_COLOR") or self.environment.get("TERM") == "dumb"
        return _is_terminal(stream) and not plain


def _discard(stream: IO[str]) -> None:
    """Let what is still buffered for a closed pipe go nowhere."""
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
    except (OSError, ValueError):
        pass


def _is_terminal(stream: IO[str]) -> bool:
    try:
        return stream.isatty()
    except ValueError:
        return False


def _can_show(text: str, stream: IO[str] | TextIOBase) -> bool:
    encoding = getattr(stream, "encoding", None) or "ascii"
    try:
        text.encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def _showable(text: str, stream: IO[str]) -> str:
    """The text, spelled in ASCII where the stream has no letters for it."""
    return text if _can_show(text, stream) else spelled_in_ascii(text)
