"""Other machines do the same work: a real cluster of processes, one of which is killed in the middle."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator

import pytest

from backreef.errors import BackreefError
from backreef.simulation.workers import Cores
from backreef.usecases.fleet_tank import tank_week
from backreef.usecases.machines import Machines, MachinesTrouble
from tests.fleet_world import orders

pytestmark = pytest.mark.filterwarnings("ignore")
"""What the cluster says while its workers are killed is not ours."""


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    """The scheduler of two workers, each a process of its own."""
    from distributed import LocalCluster

    with LocalCluster(  # type: ignore[no-untyped-call]
        n_workers=2,
        threads_per_worker=1,
        processes=True,
        dashboard_address=None,
        host="127.0.0.1",
        silence_logs=50,
    ) as cluster:
        yield cluster.scheduler_address


def test_they_give_the_same_bits_as_this_machine_although_one_is_killed(address: str) -> None:
    work = orders(6)
    here = list(Cores().each(tank_week, work))
    there = []
    with Machines(address) as machines:
        victims = machines.worker_processes()
        for one in machines.each(tank_week, work):
            there.append(one)
            if victims:
                os.kill(victims.pop(), signal.SIGKILL)
                victims.clear()
    assert there == here


def test_a_refusal_of_the_work_comes_back_as_it_is(address: str) -> None:
    with Machines(address) as machines, pytest.raises(BackreefError, match="no good"):
        list(machines.each(refuse, [1, 2]))


def refuse(number: int) -> int:
    """Refuse to do anything."""
    raise BackreefError(f"{number} is no good")


def test_another_version_is_refused(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("backreef.usecases.machines.__version__", "99")
    with pytest.raises(MachinesTrouble, match=r"have backreef .*, this is 99"):
        Machines(address)
