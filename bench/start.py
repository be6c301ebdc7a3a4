"""What it takes to start: help, a check and a first plan, each beside a bare Python in the same run.

`python -m bench.start examples/reading_room.toml` starts `python -c pass`, `backreef --help` and
`backreef check PLAN` in turn, so many rounds, and prints the middle of each; the first round, which fills the
caches, does not count. With `--propose` it also says when `backreef propose` tells its first plan that holds,
and its last, reckoned from the start of the process. The `backreef` is the installed script where there is
one beside this Python, else its two lines.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path

SCRIPT = "import sys; from backreef.cli.main import main; sys.argv[0] = 'backreef'; sys.exit(main())"
SEARCH = """\
import sys
from backreef.cli import main
import gc
gc.set_threshold(main.OBJECTS_BETWEEN_COLLECTIONS)
sys.setswitchinterval(main.HANDS_ON_S)
from backreef.usecases.propose import propose_plans
propose_plans(sys.argv[1], progress=lambda phrase, done, total: print(phrase, flush=True))
"""
"""A search as the command begins it, with what it tells on lines."""


def command() -> list[str]:
    """How backreef is started here."""
    script = Path(sys.executable).with_name("backreef")
    return [str(script)] if script.exists() else [sys.executable, "-c", SCRIPT]


def took(words: list[str]) -> tuple[float, float]:
    """Seconds on the clock and of the processor that a command takes."""
    before, started = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False)
    lasted, after = time.perf_counter() - started, resource.getrusage(resource.RUSAGE_CHILDREN)
    return lasted, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def proposing(plan: str) -> None:
    """Print when a search tells its first plan, and when it ends."""
    before, started = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    first = False
    with subprocess.Popen([sys.executable, "-c", SEARCH, plan], stdout=subprocess.PIPE, text=True) as search:
        for line in search.stdout or ():
            if "a plan holds" in line and not first:
                first = True
                print(f"propose: {line.strip()}, after {time.perf_counter() - started:.1f} s", flush=True)
    lasted, after = time.perf_counter() - started, resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = after.ru_utime - before.ru_utime
    print(f"propose: finished after {lasted:.1f} s, {spent:.1f} s of user time")


def main() -> None:
    """Print the middle and the least of what each takes."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("plan")
    parser.add_argument("--rounds", type=int, default=15)
    parser.add_argument("--propose", action="store_true")
    asked = parser.parse_args()
    rivals = {
        "python -c pass": [sys.executable, "-c", "pass"],
        "backreef --help": [*command(), "--help"],
        "backreef check": [*command(), "check", asked.plan],
    }
    found: dict[str, list[tuple[float, float]]] = {name: [] for name in rivals}
    for number in range(asked.rounds + 1):
        for name, words in rivals.items():
            one = took(words)
            if number:
                found[name].append(one)
    print("                  middle    least   middle of processor time")
    for name, each in found.items():
        wall, spent = zip(*each, strict=True)
        middle, least = 1000 * statistics.median(wall), 1000 * min(wall)
        print(f"{name:16s} {middle:5.0f} ms {least:5.0f} ms   {1000 * statistics.median(spent):5.0f} ms")
    if asked.propose:
        proposing(asked.plan)


if __name__ == "__main__":
    main()
