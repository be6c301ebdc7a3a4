"""The compiled engine: programs and march as LLVM text, compiled once per machine and kept in a cache."""

from __future__ import annotations

import ctypes
import hashlib
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from backreef.errors import BackreefError
from backreef.kept import cache_folder, keep
from backreef.models.matrix import FOOD_COUNT, Matrix
from backreef.simulation import image
from backreef.simulation.layout import LANES, Layout
from backreef.simulation.signature import ARGUMENT_COUNT

GENERATOR = (
    "engine.py",
    "bodies.py",
    "driven.py",
    "events.py",
    "image.py",
    "ir_blocks.py",
    "layout.py",
    "levels.py",
    "llvm_text.py",
    "march.py",
    "march_events.py",
    "march_frame.py",
    "march_steps.py",
    "march_update.py",
    "program.py",
    "programs.py",
    "recording.py",
    "shared_programs.py",
    "signature.py",
    "slot_programs.py",
    "step_control.py",
    "step_matrix.py",
    "tableau.py",
)
"""Modules of this room that the compiled code depends on; of the models, everything counts."""


KERNEL_FOODS = (2, 4, FOOD_COUNT)
"""Numbers of foods that kernels are built for: rows of foods that a plan never offers cost a fifth of the
time (docs/adr/0014)."""


NEAR = sys.platform != "win32"
"""Whether numbers lie near the code that reads them, which is shorter and 6 % faster. LLVM's newer linker
lays both in one piece and refuses what is too far; on Windows it is young."""


class EngineUnavailable(BackreefError):
    """The compiled engine cannot be had on this machine."""


@dataclass(frozen=True, slots=True)
class Engine:
    """A loaded engine: the march, the working space it asks for, and what keeps them alive."""

    march: Callable[..., int]
    scratch_rows: Callable[[int], int]
    """Rows of working space for so many slots."""
    lanes: int
    keep: tuple[Any, ...]


def engine_text(matrix: Matrix, layout: Layout, lanes: int = LANES, foods: int = FOOD_COUNT) -> str:
    """Give the engine for a process matrix and a number of foods as LLVM text."""
    from backreef.simulation.llvm_text import ATTRIBUTES, mathematics_text, program_text
    from backreef.simulation.march import march_text
    from backreef.simulation.programs import Kernel, kernel_code

    kernel = Kernel(matrix, layout, foods)
    code = kernel_code(kernel)
    parts = [mathematics_text(lanes), *(program_text(program, lanes) for program in code.programs.values())]
    parts += [march_text(kernel, code, lanes), ATTRIBUTES, ""]
    return "\n".join(parts)


def _packaged_text(lanes: int, foods: int) -> str:
    from backreef.models.matrix import packaged_matrix
    from backreef.simulation.layout import packaged_layout

    return engine_text(packaged_matrix(), packaged_layout(), lanes, foods)


def content_key(lanes: int, machine: str) -> str:
    """Give a key for everything the compiled code depends on."""
    digest = hashlib.sha256(f"{lanes} {machine}".encode())
    for source in _sources():
        digest.update(source.read_bytes())
    return digest.hexdigest()[:24]


def _sources() -> Iterator[Traversable]:
    models = files("backreef.models")
    for folder in (models, models / "data"):
        yield from sorted((file for file in folder.iterdir() if file.is_file()), key=lambda file: file.name)
    for name in GENERATOR:
        yield files("backreef.simulation") / name


@cache
def why_unavailable() -> str:
    """Give in words why no engine can be compiled or loaded here; empty where it can."""
    try:
        if not any(_mapped(_kept(LANES, foods), LANES) for foods in KERNEL_FOODS):
            target_machine()
    except EngineUnavailable as error:
        return str(error)
    return ""


def kernel_foods(foods: int) -> int:
    """Give the smallest number of foods, at or above the plan's, that a kernel is built for."""
    return min(size for size in KERNEL_FOODS if size >= foods)


@cache
def load_engine(lanes: int = LANES, foods: int = FOOD_COUNT) -> Engine:
    """Load the engine, compiling it if this machine has not seen it yet; raises `EngineUnavailable`.

    Where code is kept as one piece, LLVM is loaded only to compile it.
    """
    place = _kept(lanes, foods)
    return _mapped(place, lanes) or _compiled_and_kept(place, lanes, foods)


def _kept(lanes: int, foods: int) -> Path:
    """Give the file of an engine's code."""
    key = content_key(lanes, image.processor() or target_machine()[1])
    return cache_folder() / f"kernel-{lanes}-{foods}-{key}.{'code' if image.HERE else 'o'}"


def _mapped(place: Path, lanes: int) -> Engine | None:
    found = image.mapped(place) if image.HERE else None
    return None if found is None else _engine(*found.addresses, lanes, found)


def _compiled_and_kept(place: Path, lanes: int, foods: int) -> Engine:
    machine, _ = target_machine()
    try:
        code = b"" if image.HERE else place.read_bytes()
    except OSError:
        code = b""
    if not code:
        code = compiled(machine, _packaged_text(lanes, foods))
        piece = image.flattened(code) if image.HERE else code
        if piece is not None:
            keep(place, piece)
    return _mapped(place, lanes) or _linked(machine, code, lanes)


def build_engine(matrix: Matrix, layout: Layout, lanes: int = LANES, foods: int = FOOD_COUNT) -> Engine:
    """Compile an engine for any process matrix, in memory; raises `EngineUnavailable`."""
    machine, _ = target_machine()
    return _linked(machine, compiled(machine, engine_text(matrix, layout, lanes, foods)), lanes)


def target_machine() -> tuple[Any, str]:
    """Give LLVM's view of this processor, and a name for everything about it that code depends on."""
    try:
        import llvmlite.binding as llvm
    except (ImportError, OSError) as error:
        raise EngineUnavailable(f"llvmlite cannot be imported ({error})") from error
    try:
        llvm.initialize_native_target()
        llvm.initialize_native_asmprinter()
        cpu, features = llvm.get_host_cpu_name(), llvm.get_host_cpu_features().flatten()
        target = llvm.Target.from_default_triple()
        place = {"codemodel": "small", "reloc": "pic"} if NEAR else {"codemodel": "jitdefault"}
        options = {"cpu": cpu, "features": features, "opt": 2, "jit": True, **place}
        machine = target.create_target_machine(**options)
    except RuntimeError as error:
        raise EngineUnavailable(f"llvmlite has no target for this processor ({error})") from error
    return machine, f"{cpu} {features} {llvm.llvm_version_info} {target.triple}"


def compiled(machine: Any, text: str) -> bytes:
    """Compile without LLVM's scheduler: operations are written in a good order already (docs/adr/0012)."""
    import llvmlite.binding as llvm

    llvm.set_option("backreef", "-enable-misched=false")
    module = llvm.parse_assembly(text)
    module.verify()
    return bytes(machine.emit_object(module))


def _linked(machine: Any, code: bytes, lanes: int) -> Engine:
    import llvmlite.binding as llvm

    jit = llvm.create_lljit_compiler(machine, use_jit_link=NEAR)
    library = llvm.JITLibraryBuilder().add_object_img(code)
    for name in ("march", "scratch_rows"):
        library.export_symbol(name)
    loaded = library.link(jit, "backreef")
    return _engine(loaded["march"], loaded["scratch_rows"], lanes, loaded, jit, machine)


def _engine(march: int, scratch_rows: int, lanes: int, *keep: Any) -> Engine:
    """Give an engine from the addresses of its functions and what keeps them there."""
    kind = ctypes.CFUNCTYPE(ctypes.c_int64, *[ctypes.c_void_p] * ARGUMENT_COUNT)
    rows = ctypes.CFUNCTYPE(ctypes.c_int64, ctypes.c_int64)
    return Engine(march=kind(march), scratch_rows=rows(scratch_rows), lanes=lanes, keep=keep)


def aligned(shape: Sequence[int]) -> npt.NDArray[np.float64]:
    """Give a zeroed array of doubles that starts on a 64-byte boundary."""
    count = int(np.prod(shape))
    raw = np.zeros(count + 8)
    start = (-raw.ctypes.data // 8) % 8
    return raw[start : start + count].reshape(shape)
