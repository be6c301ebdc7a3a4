"""Large pieces of memory are given back to the system as soon as they are let go of.

The C library of Linux begins so, but learns from every large piece that is freed to keep the next ones of
that size: a march that takes pieces of some megabytes and lets go of them, thread by thread, is left with
tens of megabytes that nobody uses (docs/adr/0032). Elsewhere nothing is changed.
"""

from __future__ import annotations

import ctypes
import sys
from functools import cache

LARGE_BYTES = 256 * 1024
M_MMAP_THRESHOLD = -3
"""Its name in `malloc.h` of the GNU C library; a value that is set is learnt from no more."""


@cache
def give_back_large_pieces() -> bool:
    """See to it once for this process, and tell whether that could be done."""
    if not sys.platform.startswith("linux"):
        return False
    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (OSError, AttributeError):
        return False
    mallopt.argtypes, mallopt.restype = [ctypes.c_int, ctypes.c_int], ctypes.c_int
    return bool(mallopt(M_MMAP_THRESHOLD, LARGE_BYTES))
