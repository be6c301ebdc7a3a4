"""Workers on other machines: pieces of work are sent to a scheduler of Dask, and come back in order.

A worker that dies costs the time of the piece it had in hand: the scheduler gives it to another. Which
machine does a piece changes nothing of its result, as every draw is decided by the seed and the member's
number.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from backreef import __version__
from backreef.errors import BackreefError
from backreef.simulation.workers import AHEAD, Piece, in_order

if TYPE_CHECKING:
    from types import TracebackType

    from distributed import Client, Future

Item = TypeVar("Item")
Result = TypeVar("Result")
TRIES = 3
"""How often a piece is given to somebody else."""
PATIENCE_S = 20
"""So long a scheduler may take to answer."""


class MachinesTrouble(BackreefError):
    """The other machines cannot do the work; the message says what to do."""


class Taken(Generic[Result]):
    """A piece that is let go of on the cluster once its result has been taken."""

    def __init__(self, piece: Future[Result], handed: list[Future[Result]]) -> None:
        self._piece, self._handed = piece, handed

    def result(self) -> Result:
        """What came of it, once it is done."""
        found: Result = self._piece.result()
        self._handed.remove(self._piece)
        return found


class Machines:
    """The workers behind the scheduler of a Dask cluster."""

    def __init__(self, address: str) -> None:
        self.address = address
        self._client: Client = _connected(address)
        try:
            self.count = self._checked()
            """Workers that were there at the beginning."""
        except BaseException:
            self.close()
            raise

    def each(self, work: Callable[[Item], Result], items: Iterable[Item]) -> Iterator[Result]:
        """The results in the order of the items, each as soon as it and those before it are done."""
        from distributed import KilledWorker

        handed: list[Future[Result]] = []

        def hand_out(item: Item) -> Piece[Result]:
            piece = self._client.submit(work, item, pure=False, retries=TRIES)
            handed.append(piece)
            return Taken(piece, handed)

        try:
            yield from in_order(hand_out, items, ahead=AHEAD * self.count)
        except KilledWorker as gone:
            raise MachinesTrouble(
                f"a piece of work was with {TRIES} workers of {self.address}, and each of them died. Look at "
                "their memory and their logs, then start again"
            ) from gone
        finally:
            self._client.cancel(handed)  # type: ignore[no-untyped-call]

    def worker_processes(self) -> list[int]:
        """The process of each worker on its machine."""
        processes: dict[str, Any] = self._client.run(os.getpid, on_error="return")
        return sorted(one for one in processes.values() if isinstance(one, int))

    def close(self) -> None:
        """Let go of the scheduler; its workers go on living."""
        self._client.close()  # type: ignore[no-untyped-call]

    def __enter__(self) -> Machines:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _checked(self) -> int:
        """How many workers there are, every one with the same backreef."""
        said: dict[str, Any] = self._client.run(version_here, on_error="return")
        if any(isinstance(one, ModuleNotFoundError) for one in said.values()):
            raise MachinesTrouble(
                f"the workers of {self.address} have no backreef; install version {__version__} on each"
            )
        # a worker that dies while it is asked is gone, and its work will be done by the others
        versions = {worker: one for worker, one in said.items() if not isinstance(one, OSError)}
        for failure in versions.values():
            if isinstance(failure, Exception):
                raise failure
        if not versions:
            raise MachinesTrouble(f"the scheduler {self.address} has no workers; start some ('dask worker')")
        others = sorted({version for version in versions.values() if version != __version__})
        if others:
            raise MachinesTrouble(
                f"workers of {self.address} have backreef {', '.join(others)}, this is {__version__}; "
                "install the same version everywhere, or results would depend on who did them"
            )
        return len(versions)


def version_here() -> str:
    """The version of the machine on which this is called."""
    return __version__


def _connected(address: str) -> Client:
    try:
        from distributed import Client
    except ImportError as missing:
        raise MachinesTrouble(
            "other machines are reached through Dask, which is not installed: pip install 'backreef[fleet]'"
        ) from missing
    try:
        return Client(address, timeout=PATIENCE_S, set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as refusal:
        raise MachinesTrouble(
            f"no scheduler answers at {address} ({refusal}); give it as tcp://host:8786"
        ) from refusal
