"""On which line of a TOML text each key stands, since the parser of the standard library does not tell.

The text has been parsed before, so its grammar is not checked again: the scanner only keeps step with it
through tables, arrays of tables, dotted keys, inline tables, arrays over several lines and strings over
several lines.
"""

from __future__ import annotations

import re

Path = tuple[str | int, ...]
_SKIP = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_BLANK = re.compile(r"[ \t]*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BARE_VALUE = re.compile(r"[^,\]}\n#]*")
_STRINGS = (
    re.compile(r'"""(?:[^\\]|\\.)*?"""(?:"{0,2})', re.DOTALL),
    re.compile(r"'''.*?'''(?:'{0,2})", re.DOTALL),
    re.compile(r'"(?:[^"\\\n]|\\.)*"'),
    re.compile(r"'[^'\n]*'"),
)


def find_lines(text: str) -> dict[Path, int]:
    """The line of each key path, counted from 1; entries of lists are numbered from 0."""
    scanner = _Scanner(text)
    scanner.document()
    return scanner.lines


def line_of(lines: dict[Path, int], path: Path) -> int | None:
    """The line of a path or, where it is not written, of the nearest table around it."""
    for end in range(len(path), 0, -1):
        if path[:end] in lines:
            return lines[path[:end]]
    return None


class _Scanner:
    """Walks through the text once, noting the line of each key."""

    def __init__(self, text: str) -> None:
        self.text = text.replace("\r\n", "\n")
        self.at = 0
        self.lines: dict[Path, int] = {}
        self._line = 1
        self._counted_to = 0
        self._counts: dict[Path, int] = {}

    def document(self) -> None:
        """Every statement of the text."""
        prefix: Path = ()
        while self._skip(_SKIP):
            if self.text.startswith("[[", self.at):
                prefix = self._header(2)
            elif self.text[self.at] == "[":
                prefix = self._header(1)
            else:
                self._pair(prefix)

    def _skip(self, pattern: re.Pattern[str]) -> bool:
        """Move past what the pattern matches; False at the end of the text."""
        found = pattern.match(self.text, self.at)
        if found is not None:
            self.at = found.end()
        return self.at < len(self.text)

    def _note(self, path: Path) -> None:
        self._line += self.text.count("\n", self._counted_to, self.at)
        self._counted_to = self.at
        self.lines.setdefault(path, self._line)

    def _header(self, brackets: int) -> Path:
        start = self.at
        self.at += brackets
        parts = self._key()
        self._skip(_BLANK)
        after = self.at + brackets
        path: Path = ()
        for part in parts[:-1]:
            path = self._inside((*path, part))
        path = (*path, parts[-1])
        if brackets > 1:
            self._counts[path] = self._counts.get(path, 0) + 1
        self.at = start
        self._note(path)
        path = self._inside(path)
        self._note(path)
        self.at = after
        return path

    def _inside(self, path: Path) -> Path:
        """The last entry, where the path is an array of tables."""
        return (*path, self._counts[path] - 1) if path in self._counts else path

    def _key(self) -> list[str]:
        """The parts of a dotted key."""
        parts: list[str] = []
        while True:
            self._skip(_BLANK)
            parts.append(self._key_part())
            self._skip(_BLANK)
            if not self.text.startswith(".", self.at):
                return parts
            self.at += 1

    def _key_part(self) -> str:
        start = self.at
        if self.text[self.at] in "\"'":
            self._string()
            return self.text[start + 1 : self.at - 1]
        if not self._skip(_BARE_KEY) or self.at == start:
            self.at = max(self.at, start + 1)
        return self.text[start : self.at]

    def _pair(self, prefix: Path) -> None:
        start = self.at
        parts = self._key()
        after = self.at
        self.at = start
        path = prefix
        for part in parts:
            path = (*path, part)
            self._note(path)
        self.at = after + 1
        self._value(path)

    def _value(self, path: Path) -> None:
        if not self._skip(_BLANK):
            return
        sign = self.text[self.at]
        if sign in "\"'":
            self._string()
        elif sign == "[":
            self._array(path)
        elif sign == "{":
            self._inline(path)
        else:
            self._skip(_BARE_VALUE)

    def _string(self) -> None:
        for pattern in _STRINGS:
            found = pattern.match(self.text, self.at)
            if found is not None:
                self.at = found.end()
                return
        self.at = len(self.text)

    def _array(self, path: Path) -> None:
        self.at += 1
        index = 0
        while self._skip(_SKIP) and self.text[self.at] != "]":
            self._note((*path, index))
            self._value((*path, index))
            index += 1
            if self._skip(_SKIP) and self.text[self.at] == ",":
                self.at += 1
        self.at += 1

    def _inline(self, path: Path) -> None:
        self.at += 1
        while self._skip(_SKIP) and self.text[self.at] != "}":
            self._pair(path)
            if self._skip(_SKIP) and self.text[self.at] == ",":
                self.at += 1
        self.at += 1
