from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time

import pytest

from backreef.cli.interrupt import leaving_at_once
from tests.cli_world import environment

# A call into machine code that does not look up, in a thread that is waited for: as the simulation works.
DEAF = """\
import sys, time
from concurrent.futures import ThreadPoolExecutor
from backreef.cli.interrupt import leaving_at_once
with leaving_at_once(), ThreadPoolExecutor(1) as pool:
    waiting = pool.submit(time.sleep, 60)
    print("at work", flush=True)
    waiting.result()
"""


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
def test_it_waits_for_nobody() -> None:
    started = subprocess.Popen(
        [sys.executable, "-c", DEAF], env=environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert started.stdout is not None
    assert started.stdout.readline() == b"at work\n"
    begun = time.monotonic()
    started.send_signal(signal.SIGINT)
    _, err = started.communicate(timeout=30)
    assert time.monotonic() - begun < 5
    assert (started.returncode, err) == (130, b"\nStopped.\n")


def test_it_is_as_before_afterwards() -> None:
    before = signal.getsignal(signal.SIGINT)
    with leaving_at_once():
        assert signal.getsignal(signal.SIGINT) is not before
    assert signal.getsignal(signal.SIGINT) is before


def test_it_leaves_interrupts_to_whoever_listens_already() -> None:
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        with leaving_at_once():
            assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN
        assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN
    finally:
        signal.signal(signal.SIGINT, before)


def test_it_changes_nothing_beside_the_main_thread() -> None:
    seen: list[object] = []

    def look() -> None:
        with leaving_at_once():
            seen.append(signal.getsignal(signal.SIGINT))

    other = threading.Thread(target=look)
    other.start()
    other.join()
    assert seen == [signal.default_int_handler]
