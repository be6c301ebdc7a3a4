"""Large pieces of memory that are let go of go back to the system."""

from __future__ import annotations

import ctypes
import platform
import subprocess
import sys

import pytest

from backreef.simulation.allocator import give_back_large_pieces

LARGE_AND_SMALL = """
import ctypes, sys
import numpy as np
from backreef.simulation.allocator import give_back_large_pieces
if sys.argv[1] == "given back":
    assert give_back_large_pieces()
NAMES = "arena ordblks smblks hblks hblkhd usmblks fsmblks uordblks fordblks keepcost"
class Held(ctypes.Structure):
    _fields_ = [(name, ctypes.c_size_t) for name in NAMES.split()]
def held_mb():
    mallinfo2 = ctypes.CDLL(None).mallinfo2
    mallinfo2.restype = Held
    return mallinfo2().fordblks / 2**20
np.ones(2**19)
before = held_mb()
large, small = [], []
for _ in range(20):
    large.append(np.ones(2**18))
    small.append(np.ones(2**13))
del large
print(held_mb() - before)
"""
"""A first large piece is let go of, by which the C library learns; then 20 pieces of 2 MB, each with 64 kB
behind it, too much for a gap elsewhere: in one heap, what lies before the last small one can't go back. The
library itself is asked what it holds that nobody uses; what the system counts hangs on how busy it is."""


def kept_mb(how: str) -> float:
    done = subprocess.run(
        [sys.executable, "-c", LARGE_AND_SMALL, how], check=True, capture_output=True, text=True
    )
    return float(done.stdout)


@pytest.mark.skipif(
    platform.libc_ver()[0] != "glibc" or not hasattr(ctypes.CDLL(None), "mallinfo2"),
    reason="only the GNU C library learns from large pieces, and since 2.33 it says what it holds",
)
def test_large_pieces_go_back_although_small_ones_lie_between() -> None:
    assert kept_mb("given back") < 10.0
    assert kept_mb("as it is") > 30.0


def test_a_system_without_it_is_told_and_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "platform", "darwin")
    give_back_large_pieces.cache_clear()
    try:
        assert not give_back_large_pieces()
    finally:
        give_back_large_pieces.cache_clear()
