"""Arrays worked out from the days of the members when they are asked for, and kept while there is room.

Members are taken some at a time, so that what is needed on the way to an array stays small however many there
are. What was asked for last is kept longest.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping
from threading import Lock
from typing import Any

import numpy as np
import numpy.typing as npt

from backreef.simulation.ensemble import Members

Array = npt.NDArray[Any]
Find = Callable[[Members], Array]
"""Works out an array, (days, members), from some members."""
KEPT_BYTES = 40 * 2**20
"""So much is kept: about all that is asked of 64 members of the reading room."""
KEPT_OF_MANY_BYTES = 8 * 2**20
"""Of more members than are taken at once, less is kept: their memory is to be like that of a few."""
MEMBERS_AT_ONCE = 64


class WorkedOut:
    """What was worked out from the members of one march."""

    def __init__(self, members: Members, kept_bytes: int | None = None) -> None:
        usual = KEPT_BYTES if members.count <= MEMBERS_AT_ONCE else KEPT_OF_MANY_BYTES
        self.members, self.kept_bytes = members, usual if kept_bytes is None else kept_bytes
        self._lock = Lock()
        self._kept: OrderedDict[str, Array] = OrderedDict()

    @property
    def keeps_all(self) -> bool:
        """Whether the members are so few that about all that is asked of them is kept."""
        return self.members.count <= MEMBERS_AT_ONCE

    def of(self, name: str, find: Find) -> Array:
        """The array of a name, worked out by `find` unless it is still there."""
        with self._lock:
            if name in self._kept:
                self._kept.move_to_end(name)
                return self._kept[name]
        found = self._found(find)
        with self._lock:
            self._kept[name] = found
            held = sum(array.nbytes for array in self._kept.values())
            while held > self.kept_bytes and len(self._kept) > 1:
                held -= self._kept.popitem(last=False)[1].nbytes
        return found

    def _found(self, find: Find) -> Array:
        if self.members.count <= MEMBERS_AT_ONCE:
            return find(self.members)
        result, done = np.zeros((0, 0)), 0
        for part in self.members.parts(MEMBERS_AT_ONCE):
            found = find(part)
            if not done:
                result = np.empty((len(found), self.members.count), dtype=found.dtype)
            result[:, done : done + part.count] = found
            done += part.count
        return result


class Named(Mapping[str, Array]):
    """Arrays by their names, each worked out when it is asked for."""

    def __init__(self, worked_out: WorkedOut, finds: Mapping[str, Find], *, about: str = "") -> None:
        self._worked_out, self._finds, self._about = worked_out, dict(finds), about

    def __getitem__(self, name: str) -> Array:
        """The array of a name."""
        return self._worked_out.of(f"{self._about}{name}", self._finds[name])

    def __iter__(self) -> Iterator[str]:
        """The names in the order in which they were given."""
        return iter(self._finds)

    def __len__(self) -> int:
        """How many there are."""
        return len(self._finds)

    def __contains__(self, name: object) -> bool:
        """Whether there is an array of that name; it is not worked out."""
        return name in self._finds
