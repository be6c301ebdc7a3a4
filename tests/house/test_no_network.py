import socket

import pytest

ELSEWHERE = ("192.0.2.1", 80)  # reserved for documentation (RFC 5737): nobody answers there


def test_it_refuses_to_reach_another_machine() -> None:
    with socket.socket() as caller, pytest.raises(RuntimeError, match="tests use no network"):
        caller.connect(ELSEWHERE)


def test_it_lets_a_test_reach_its_own_machine() -> None:
    with socket.create_server(("127.0.0.1", 0)) as server, socket.socket() as caller:
        caller.connect(server.getsockname())
