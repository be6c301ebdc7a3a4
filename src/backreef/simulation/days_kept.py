"""Where the days of many members lie: in memory while they are few, then in a file without a name.

A forecast looks at one series of all members at a time. So what is kept of each block is written once, row by
row, and read again row by row: a thousand members take the disk, and hardly more memory than a hundred.
"""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from threading import Lock
from typing import IO, Protocol
from weakref import finalize

import numpy as np
import numpy.typing as npt

Single = npt.NDArray[np.float32]
SINGLE_BYTES = 4
IN_MEMORY_BYTES = 32 * 2**20
"""So much may stay in memory: what 64 members of the reading room keep in three years, and a fifth more."""


class Laid(Protocol):
    """Rows of a block that were put away."""

    def row(self, place: int) -> Single:
        """One row, (days, lanes)."""
        ...


@dataclass(frozen=True, slots=True, eq=False)
class InMemory:
    """Rows that stayed in memory."""

    rows: Single
    """(rows, days, lanes)"""

    def row(self, place: int) -> Single:
        """One row, (days, lanes)."""
        return np.asarray(self.rows[place])


@dataclass(frozen=True, slots=True, eq=False)
class _InFile:
    """Rows that were written to the file."""

    days_kept: DaysKept
    start: int
    """Where the first byte is."""
    shape: tuple[int, ...]

    def row(self, place: int) -> Single:
        """One row, (days, lanes)."""
        found = np.empty(self.shape[1:], dtype=np.float32)
        self.days_kept.read(self.start + place * found.nbytes, found)
        return found


class DaysKept:
    """Takes rows of blocks from any thread, and gives them back one at a time."""

    def __init__(self, expected_bytes: int) -> None:
        self.in_memory = expected_bytes <= IN_MEMORY_BYTES
        """Whether all that is expected may stay in memory; else all of it goes to the file."""
        self._lock = Lock()
        self._file: IO[bytes] | None = None
        self._end = 0

    def put(self, rows: Single) -> Laid:
        """Put rows away, (rows, days, lanes). Where no file can be had they stay in memory."""
        if self.in_memory:
            return InMemory(rows)
        with self._lock:
            try:
                return self._written(np.ascontiguousarray(rows))
            except OSError:
                return InMemory(rows)

    def _written(self, rows: Single) -> Laid:
        if self._file is None:
            self._file = tempfile.TemporaryFile(prefix="backreef-", buffering=0)  # noqa: SIM115  it lives with the shelf
            finalize(self, self._file.close)
        self._file.seek(self._end)
        left = rows.data.cast("B")
        while left:
            left = left[self._file.write(left) :]
        start, self._end = self._end, self._end + rows.nbytes
        return _InFile(days_kept=self, start=start, shape=rows.shape)

    def read(self, start: int, into: Single) -> None:
        """Fill an array with what was written from a byte on.

        Raises
        ------
        OSError
            If the file cannot be read any more.
        """
        if self._file is None:
            raise OSError("nothing was written here")
        left = into.data.cast("B")
        with self._lock:
            self._file.seek(start)
            while left:
                got = self._file.readinto(left)  # type: ignore[attr-defined]  # a raw file has it
                if not got:
                    raise OSError("the file is shorter than what was written to it")
                left = left[got:]
