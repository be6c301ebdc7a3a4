"""Code that is kept as one piece: the same bits as LLVM's own linking, and no harm from a damaged file."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from backreef.models.matrix import packaged_matrix
from backreef.simulation import engine, image
from backreef.simulation.layout import packaged_layout
from tests.random_tanks import random_tank
from tests.tanks import Life, run

pytestmark = pytest.mark.skipif(not image.HERE, reason="code is kept as one piece on Linux and x86-64 only")
START = """
import sys
from backreef.simulation.engine import load_engine, why_unavailable
assert not why_unavailable()
engine = load_engine(8, 2)
print(engine.scratch_rows(3), any(name.startswith("llvmlite") for name in sys.modules))
"""


def started(cache: Path) -> list[str]:
    """What a fresh process says of the engine it loaded."""
    world = dict(os.environ) | {"BACKREEF_CACHE": str(cache)}
    done = subprocess.run(
        [sys.executable, "-c", START], env=world, check=True, capture_output=True, text=True
    )
    return done.stdout.split()


def test_a_second_start_does_without_llvm_and_a_damaged_file_is_made_anew(tmp_path: Path) -> None:
    rows, with_llvm = started(tmp_path)
    assert with_llvm == "True"
    (kept,) = tmp_path.iterdir()
    whole = kept.read_bytes()
    damaged = bytearray(whole)
    damaged[len(whole) // 2] ^= 1
    for wrong in (bytes(damaged), whole[:100], b""):
        kept.write_bytes(wrong)
        assert image.mapped(kept) is None
    assert started(tmp_path) == [rows, "True"]
    assert kept.read_bytes() == whole
    assert started(tmp_path) == [rows, "False"]


def test_it_marches_to_the_same_bits_as_code_that_llvm_places() -> None:
    tank = random_tank(3, animals=3)
    life = Life(days=3, overflow=True)
    placed = engine.build_engine(packaged_matrix(), packaged_layout(), tank.lanes)
    days = [run(tank, life, engine=one).result.days for one in (engine.load_engine(tank.lanes), placed)]
    assert (days[0] == days[1]).all()


def test_what_it_does_not_know_it_leaves_to_llvm() -> None:
    machine, _ = engine.target_machine()
    known = "define i64 @march() nounwind { ret i64 1 } define i64 @scratch_rows() nounwind { ret i64 2 }"
    assert image.flattened(engine.compiled(machine, known)) is not None
    outside = known.replace("ret i64 1", "%x = call i64 @elsewhere() ret i64 %x")
    written = known.replace("ret i64 1", "store i64 1, ptr @w ret i64 1")
    for text in (
        f"declare i64 @elsewhere() {outside}",
        f"@w = internal global i64 3 {written}",
        known.replace("scratch_rows", "other"),
    ):
        assert image.flattened(engine.compiled(machine, text)) is None
    assert image.flattened(b"no object file") is None
