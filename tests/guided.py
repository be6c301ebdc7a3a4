"""A search for inputs that break a door, led by which code they reach: `python -m tests.guided --help`.

What is found is kept in the folder as a file named crash-...; its test goes to tests/property/test_doors.py.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

MOST_MB = 500
READ = ("backreef.aquarium", "backreef.catalogue", "backreef.logbook", "backreef.units")
"""What reads; reaching new code elsewhere leads nowhere."""


def main() -> None:
    """Search through one door."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    parser.add_argument("door")
    parser.add_argument("--seconds", type=int, default=60)
    parser.add_argument("--runs", type=int, default=-1)
    parser.add_argument(
        "--folder", type=Path, help="Keeps what is worth trying again from one search to the next."
    )
    wanted = parser.parse_args()
    import atheris

    with atheris.instrument_imports(include=list(READ)):
        from tests import doors
    door = doors.doors()[wanted.door]
    folder = wanted.folder or Path(tempfile.mkdtemp(prefix="guided-"))
    corpus = folder / "corpus"
    corpus.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(door.seeds):
        (corpus / f"seed-{number}").write_bytes(seed)
    words = folder / "words"
    words.write_text("".join(f'"{_escaped(word)}"\n' for word in door.words), encoding="ascii")

    def one(sent: bytes) -> None:
        doors.ask(door, sent, folder)

    options = [
        f"-max_total_time={wanted.seconds}",
        f"-runs={wanted.runs}",
        f"-rss_limit_mb={MOST_MB}",
        f"-dict={words}",
        f"-artifact_prefix={folder}/",
        "-max_len=20000",
        "-verbosity=0",
        "-print_final_stats=1",
        "-seed=1",
    ]
    doors.ask(door, door.seeds[0], folder)  # what is read once only is read now
    atheris.Setup([sys.argv[0], *options, str(corpus)], one)
    atheris.Fuzz()


def _escaped(word: str) -> str:
    return "".join(one if one.isalnum() else f"\\x{ord(one):02x}" for one in word)


if __name__ == "__main__":
    main()
