"""Other machines do the same work: a real cluster of processes, one of which is killed in the middle."""

from __future__ import annotations

import os
import random
import signal
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from backreef import __version__
from backreef.errors import BackreefError
from backreef.simulation.workers import Cores
from backreef.usecases.fleet_tank import tank_week
from backreef.usecases.machines import Machines, MachinesTrouble
from tests.fleet_world import orders
from tests.reconcile_world import twin_log

SEED, KILLS = 10, 10
pytestmark = pytest.mark.filterwarnings("ignore")
"""What the cluster says while its workers are killed is not ours."""


@contextmanager
def a_cluster() -> Iterator[str]:
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


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with a_cluster() as one:
        yield one


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


@pytest.mark.long(60)
def test_whenever_a_worker_is_killed_nothing_but_time_is_lost_of_a_log_that_is_fitted_either() -> None:
    work = orders(6, log=tuple(twin_log(0, [5.8, 12.8, 19.8, 26.8])))
    here = list(Cores().each(tank_week, work))
    assert here[0].outlook is not None
    draws, killed = random.Random(SEED), 0
    for _ in range(KILLS):
        there, at = [], draws.randrange(len(work))
        with a_cluster() as address, Machines(address) as machines:
            workers = machines.worker_processes()
            for number, one in enumerate(machines.each(tank_week, work)):
                there.append(one)
                if number == at:
                    os.kill(draws.choice(workers), signal.SIGKILL)
                    killed += 1
        assert there == here
    print(f"workers killed: {killed} rounds of {len(work)} tanks, every answer the same")  # noqa: T201


class Answering:
    """A cluster whose workers answer a call so."""

    def __init__(self, *answers: object) -> None:
        self.answers = dict(enumerate(answers))

    def run(self, _call: object, *, on_error: str) -> dict[int, object]:
        assert on_error == "return"
        return self.answers

    def close(self) -> None:
        """Nothing is open."""


def test_a_worker_that_dies_while_it_is_asked_is_not_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    def machines(*answers: object) -> Machines:
        monkeypatch.setattr("backreef.usecases.machines._connected", lambda _: Answering(*answers))
        return Machines("tcp://there:8786")

    assert machines(__version__, ConnectionResetError(104, "reset by peer")).count == 1
    with pytest.raises(MachinesTrouble, match="has no workers"):
        machines(ConnectionResetError(104, "reset by peer"))
    with pytest.raises(MachinesTrouble, match="have no backreef"):
        machines(__version__, ModuleNotFoundError("backreef"))
    with pytest.raises(ZeroDivisionError):
        machines(__version__, ZeroDivisionError())


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
