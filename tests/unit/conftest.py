from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack

import pytest

from tests.postgres_world import NoServer, Server, a_server


@pytest.fixture(scope="session")
def postgres() -> Iterator[Server]:
    """A server that is there for the tests alone; where none can be started, the tests say why."""
    with ExitStack() as stack:
        try:
            server = stack.enter_context(a_server())
        except NoServer as reason:
            pytest.skip(str(reason))
        yield server
