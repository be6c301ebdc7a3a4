"""On a server too, what was acknowledged is kept: writers are killed, and the server falls under them.

Few rounds here; `--long` makes 200 of each.
"""

from __future__ import annotations

import os
import random
import signal
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.log_survival import Nursery, Survived, a_nursery, killed_at_random, look
from tests.postgres_world import NoServer, Server, a_database, a_server, drop_database

SEED = 15
FEW, MANY = 2, 200
ROUNDS_OF_A_LOG = 10
Fall = Callable[[Server], None]
FALLS: dict[str, Fall] = {"struck down": Server.strike_down, "killed": Server.kill}


@pytest.fixture
def nursery(tmp_path: Path) -> Iterator[Nursery]:
    with a_nursery(tmp_path / "nursery") as one:
        yield one


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    """A server that writes through to the disk, as it does by itself."""
    made = a_server(fsync=True)
    try:
        one = made.__enter__()
    except NoServer as reason:
        pytest.skip(str(reason))
    yield one
    made.__exit__(None, None, None)


def assert_kept(found: Survived) -> None:
    assert found.faults == ()
    assert found.lost == ()


def kills_of_writers(nursery: Nursery, server: Server, rounds: int, *, writers: int) -> int:
    draws = random.Random(SEED + writers)
    said, place = 0, ""
    for number in range(rounds):
        if number % ROUNDS_OF_A_LOG == 0:
            place = a_database(server)
        found = killed_at_random(nursery, place, draws, writers=writers)
        assert_kept(found)
        said += len(found.acknowledged)
    return said


def falls_of_the_server(nursery: Nursery, server: Server, rounds: int, *, fall: Fall) -> int:
    """Let two writers write, let the server fall, start it again, and look what is kept."""
    draws = random.Random(SEED)
    said, place = 0, ""
    for number in range(rounds):
        if number % ROUNDS_OF_A_LOG == 0:
            if place:
                drop_database(server, place)
            place = a_database(server)
        started = [nursery.start(place, f"s{draws.randrange(10**9)}x") for _ in range(2)]
        started[0].wait_for(draws.randrange(1, 30))
        time.sleep(draws.uniform(0.0, 0.03))
        fall(server)
        for one in started:
            if one.is_there():
                os.kill(one.pid, signal.SIGKILL)
            one.wait()
        server.start()
        found = look(place, [ident for one in started for ident in one.acknowledged()])
        assert_kept(found)
        said += len(found.acknowledged)
    return said


@pytest.mark.parametrize("writers", [1, 2])
def test_what_was_acknowledged_survives_killed_writers(
    writers: int, nursery: Nursery, server: Server
) -> None:
    assert kills_of_writers(nursery, server, FEW, writers=writers) > 0


@pytest.mark.parametrize("fall", FALLS)
def test_what_was_acknowledged_survives_a_fall_of_the_server(
    fall: str, nursery: Nursery, server: Server
) -> None:
    assert falls_of_the_server(nursery, server, FEW, fall=FALLS[fall]) > 0


@pytest.mark.long(250)
@pytest.mark.parametrize("writers", [1, 2])
def test_what_was_acknowledged_survives_killed_writers_many_times(
    writers: int, nursery: Nursery, server: Server
) -> None:
    said = kills_of_writers(nursery, server, MANY, writers=writers)
    print(f"{MANY} kills of {writers} on a server: {said} acknowledged, none lost")  # noqa: T201
    assert said > MANY


@pytest.mark.long(250)
@pytest.mark.parametrize("fall", FALLS)
def test_what_was_acknowledged_survives_many_falls_of_the_server(
    fall: str, nursery: Nursery, server: Server
) -> None:
    said = falls_of_the_server(nursery, server, MANY, fall=FALLS[fall])
    print(f"server {fall} {MANY} times: {said} acknowledged, none lost")  # noqa: T201
    assert said > MANY
