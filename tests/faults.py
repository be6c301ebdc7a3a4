"""What happens to files: they are damaged, as by a failing disk."""

from __future__ import annotations

import random
from pathlib import Path


def damaged(path: Path, draws: random.Random) -> None:
    """Overwrite a stretch of a file, or cut it off, as a failing disk does."""
    content = bytearray(path.read_bytes())
    first = draws.randrange(len(content))
    if draws.random() < 0.2:
        path.write_bytes(bytes(content[:first]))
        return
    stretch = content[first : first + draws.choice((1, 16, 512, 4096))]
    content[first : first + len(stretch)] = draws.randbytes(len(stretch))
    path.write_bytes(bytes(content))
