"""The same programs as C text, compiled by gcc, under the same loop: what LLVM's code is held against."""

from __future__ import annotations

import ctypes
import shutil
import subprocess
import tempfile
from pathlib import Path

import llvmlite.binding as llvm

from backreef.models.matrix import packaged_matrix
from backreef.simulation.engine import Engine
from backreef.simulation.layout import LANES, packaged_layout
from backreef.simulation.llvm_text import (
    ATTRIBUTES,
    SCALAR_ARRAYS,
    function_name,
    mathematics_text,
    vector_function,
    vector_type,
)
from backreef.simulation.march import march_text
from backreef.simulation.program import Program
from backreef.simulation.programs import Kernel, kernel_code
from backreef.simulation.signature import ARGUMENT_COUNT

HEAD = f"""\
typedef double row __attribute__((vector_size({8 * LANES})));
typedef long long mask __attribute__((vector_size({8 * LANES})));
row vector_exp(row), vector_log(row);
static inline row all(double x) {{ return x - (row){{0}}; }}
static inline row root(row x) {{
  row r;
  for (int i = 0; i < {LANES}; i++) r[i] = __builtin_sqrt(x[i]);
  return r;
}}
static inline row choose(row t, row a, row b) {{
  mask m = t > 0.0;
  return (row)(((mask)a & m) | ((mask)b & ~m));
}}
"""
SIGNS = {"add": "+", "sub": "-", "mul": "*", "div": "/"}
FLAGS = ("-O3", "-march=native", "-mprefer-vector-width=512", "-fno-math-errno", "-shared", "-fPIC")


def program_c(program: Program) -> str:
    """Give a program as a C function."""
    arguments = ", ".join(
        f"{'double' if array in SCALAR_ARRAYS else 'row'} *restrict {array}" for array in program.arrays
    )
    operations, lines = program.recorder.operations, [f"void {function_name(program)}({arguments}) {{"]
    stores: dict[int, list[str]] = {}
    for store in program.stores:
        sign = "+=" if store.add else "-=" if store.take else "="
        line = f"  {store.array}[{store.index}] {sign} a{store.place};"
        stores.setdefault(store.place, []).append(line)
    used = set(program.used())
    for place, operation in enumerate(operations):
        if place in used:
            lines.append(f"  row a{place} = {_expression(operation)};")
        lines += stores.get(place, [])
    return "\n".join([*lines, "}"])


def _expression(operation: tuple[object, ...]) -> str:
    kind, *rest = operation
    if kind == "const":
        return f"all({rest[0]!r})"
    if kind == "input":
        read = f"{rest[0]}[{rest[1]}]"
        return f"all({read})" if rest[0] in SCALAR_ARRAYS else read
    if kind == "implicit":
        return f"a{rest[0]}"
    if kind in SIGNS:
        return f"a{rest[0]} {SIGNS[str(kind)]} a{rest[1]}"
    if kind == "select":
        return f"choose(a{rest[0]}, a{rest[1]}, a{rest[2]})"
    return f"{ {'sqrt': 'root', 'exp': 'vector_exp', 'log': 'vector_log'}[str(kind)] }(a{rest[0]})"


def c_engine(foods: int) -> Engine | None:
    """Give the engine with gcc's code for the programs; None where there is no gcc."""
    if shutil.which("gcc") is None:
        return None
    kernel = Kernel(packaged_matrix(), packaged_layout(), foods)
    code = kernel_code(kernel)
    folder = Path(tempfile.mkdtemp())
    text = "\n".join([HEAD, *(program_c(program) for program in code.programs.values())])
    (folder / "programs.c").write_text(text, encoding="utf-8")
    loop = [mathematics_text(LANES), march_text(kernel, code, LANES)]
    loop += [vector_function(name, LANES) for name in ("exp", "log")]
    for program in code.programs.values():
        pointers = ", ".join(["ptr"] * len(program.arrays))
        loop.append(f"declare void @{function_name(program)}({pointers})")
    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    target = llvm.Target.from_default_triple()
    cpu, features = llvm.get_host_cpu_name(), llvm.get_host_cpu_features().flatten()
    machine = target.create_target_machine(cpu=cpu, features=features, opt=2, reloc="pic", codemodel="small")
    module = llvm.parse_assembly("\n".join([*loop, ATTRIBUTES]))
    (folder / "loop.o").write_bytes(machine.emit_object(module))
    command = ["gcc", *FLAGS, "-o", "engine.so", "programs.c", "loop.o"]
    subprocess.run(command, cwd=folder, check=True)
    library = ctypes.CDLL(str(folder / "engine.so"))
    march = ctypes.CFUNCTYPE(ctypes.c_int64, *[ctypes.c_void_p] * ARGUMENT_COUNT)(("march", library))
    rows = ctypes.CFUNCTYPE(ctypes.c_int64, ctypes.c_int64)(("scratch_rows", library))
    return Engine(march=march, scratch_rows=rows, lanes=LANES, keep=(library, vector_type(LANES)))
