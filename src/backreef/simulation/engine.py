"""The compiled engine: text of all programs and the march, compiled once per machine and kept in the user's cache."""

from __future__ import annotations

import ctypes
import hashlib
import os
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from backreef.errors import BackreefError
from backreef.simulation.layout import LANES

SOURCES = (
    ("backreef.models", ("laws.py", "mathops.py", "matrix.py", "midnight.py", "mouths.py", "room.py", "symbols.py")),
    ("backreef.models", ("tables.py", "water.py", "carbonate.py", "carbonate_constants.py", "ammonia.py")),
    ("backreef.models", ("seawater.py", "food_pools.py", "body_values.py")),
    ("backreef.simulation", ("events.py", "signature.py", "engine.py", "ir_blocks.py", "layout.py", "llvm_text.py", "march.py", "programs.py")),
    ("backreef.simulation", ("tableau.py",)),
)
TABLES = ("bodies.toml", "components.csv", "parameters.csv", "processes.csv")


class EngineUnavailable(BackreefError):
    """The compiled engine cannot be had on this machine."""


@dataclass(frozen=True, slots=True)
class Engine:
    """A loaded engine: the address of the march and what keeps it alive."""

    march: Any
    lanes: int
    keep: tuple[Any, ...]


def kernel_text(lanes: int = LANES) -> str:
    """Give the whole engine as LLVM text."""
    from backreef.models.matrix import packaged_matrix
    from backreef.simulation.layout import packaged_layout
    from backreef.simulation.llvm_text import ATTRIBUTES, mathematics_text, program_text
    from backreef.simulation.march import MarchWriter
    from backreef.simulation.programs import Kernel, all_programs

    kernel = Kernel(packaged_matrix(), packaged_layout())
    programs = all_programs(kernel)
    parts = [mathematics_text(lanes), *(program_text(program, lanes) for program in programs.values())]
    march = MarchWriter(kernel, programs, lanes).text()
    declared = [line for line in march.splitlines() if not (line.startswith("declare") and "@\"llvm.sqrt.f64\"" in line and lanes == 1)]
    return "\n".join([*parts, *declared, ATTRIBUTES, ""])


def content_key(lanes: int, machine: str) -> str:
    """Give a key for everything the compiled code depends on."""
    digest = hashlib.sha256(f"{lanes} {machine}".encode())
    for package, names in SOURCES:
        for name in names:
            digest.update((files(package) / name).read_bytes())
    for name in TABLES:
        digest.update((files("backreef.models") / "data" / name).read_bytes())
    return digest.hexdigest()[:24]


def cache_folder() -> Path:
    """Give the folder of compiled code: BACKREEF_CACHE, XDG_CACHE_HOME, or the platform's usual place."""
    chosen = os.environ.get("BACKREEF_CACHE")
    if chosen:
        return Path(chosen)
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local")) / "backreef"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches" / "backreef"
    return Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache")) / "backreef"


@cache
def load_engine(lanes: int = LANES) -> Engine:
    """Load the engine, compiling it if this machine has not seen it yet; raises `EngineUnavailable`."""
    try:
        import llvmlite.binding as llvm
    except ImportError as error:
        raise EngineUnavailable(f"llvmlite cannot be imported ({error}); the slow reference engine is used") from error
    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    cpu, features = llvm.get_host_cpu_name(), llvm.get_host_cpu_features().flatten()
    target = llvm.Target.from_default_triple()
    machine = target.create_target_machine(cpu=cpu, features=features, opt=2, codemodel="jitdefault", jit=True)
    key = content_key(lanes, f"{cpu} {features} {llvm.llvm_version_info} {target.triple}")
    code = _compiled(llvm, machine, lanes, key)
    holder = llvm.parse_assembly("")
    jit = llvm.create_mcjit_compiler(holder, machine)
    jit.add_object_file(llvm.object_file.ObjectFileRef.from_data(code))
    jit.finalize_object()
    from backreef.simulation.signature import ARGUMENT_COUNT

    kind = ctypes.CFUNCTYPE(ctypes.c_int64, *[ctypes.c_void_p] * ARGUMENT_COUNT)
    return Engine(kind(jit.get_function_address("march")), lanes, (jit, holder, machine))


def _compiled(llvm: Any, machine: Any, lanes: int, key: str) -> bytes:
    place = cache_folder() / f"kernel-{lanes}-{key}.o"
    try:
        return place.read_bytes()
    except OSError:
        pass
    module = llvm.parse_assembly(kernel_text(lanes))
    module.verify()
    code: bytes = machine.emit_object(module)
    _keep(place, code)
    return code


def _keep(place: Path, code: bytes) -> None:
    """Write under another name, then rename, so that a half-written file is never read; do without if we may not."""
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=place.parent, suffix=".part")
        with os.fdopen(handle, "wb") as stream:
            stream.write(code)
        Path(name).replace(place)
    except OSError:
        return


def aligned(shape: Sequence[int]) -> npt.NDArray[np.float64]:
    """Give a zeroed array of doubles that starts on a 64-byte boundary."""
    count = int(np.prod(shape))
    raw = np.zeros(count + 8)
    start = (-raw.ctypes.data // 8) % 8
    return raw[start : start + count].reshape(shape)
