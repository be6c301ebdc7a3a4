"""The exponential and the logarithm of the compiled engine against numpy's in 80 bits."""

import ctypes
from collections.abc import Callable

import llvmlite.binding as llvm
import numpy as np
import pytest

from backreef.simulation.engine import aligned
from backreef.simulation.llvm_text import ATTRIBUTES, mathematics_text, vector_function, vector_type
from tests.tanks import Array

FUNCTIONS: dict[str, Callable[[np.ndarray], np.ndarray]] = {"exp": np.exp, "log": np.log}


@pytest.fixture(scope="module", params=[1, 8])
def lanes(request: pytest.FixtureRequest) -> int:
    return int(request.param)


@pytest.fixture(scope="module")
def compiled(lanes: int) -> tuple[object, dict[str, Callable[..., None]]]:
    """Both functions over an array in place."""
    kind = vector_type(lanes)
    text = [mathematics_text(lanes), *(vector_function(name, lanes) for name in FUNCTIONS)]
    text += [
        f"""define void @over_{name}(ptr %x, i64 %n) #0 {{
start:
  br label %loop
loop:
  %i = phi i64 [ 0, %start ], [ %j, %loop ]
  %p = getelementptr {kind}, ptr %x, i64 %i
  %v = load {kind}, ptr %p, align 8
  %r = call {kind} @vector_{name}({kind} %v)
  store {kind} %r, ptr %p, align 8
  %j = add i64 %i, 1
  %more = icmp slt i64 %j, %n
  br i1 %more, label %loop, label %done
done:
  ret void
}}"""
        for name in FUNCTIONS
    ]
    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    features = llvm.get_host_cpu_features().flatten()
    machine = llvm.Target.from_default_triple().create_target_machine(
        cpu=llvm.get_host_cpu_name(), features=features, opt=2, codemodel="jitdefault", jit=True
    )
    engine = llvm.create_mcjit_compiler(llvm.parse_assembly("\n".join([*text, ATTRIBUTES])), machine)
    engine.finalize_object()
    kind_of_call = ctypes.CFUNCTYPE(None, ctypes.c_void_p, ctypes.c_int64)
    return engine, {name: kind_of_call(engine.get_function_address(f"over_{name}")) for name in FUNCTIONS}


def units_off(value: Array, exact: np.ndarray) -> float:
    """Largest distance in units of the last place."""
    return float(
        np.max(np.abs(value.astype(np.longdouble) - exact) / np.spacing(np.abs(exact.astype(float))))
    )


def applied(function: Callable[..., None], x: Array, lanes: int) -> Array:
    """The function's values at x."""
    place = aligned((len(x),))
    place[:] = x
    function(place.ctypes.data, len(x) // lanes)
    return place.copy()


@pytest.mark.parametrize(
    ("name", "low", "high", "even_in_logarithm"),
    [
        ("exp", -2.0, 2.0, False),
        ("exp", -690.0, 690.0, False),
        ("exp", 1e-18, 1e-3, True),
        ("log", 0.5, 2.0, False),
        ("log", 1e-300, 1e300, True),
        ("log", 1.0 - 1e-6, 1.0 + 1e-6, False),
    ],
)
def test_it_is_within_two_units_in_the_last_place(
    compiled: tuple[object, dict[str, Callable[..., None]]],
    lanes: int,
    name: str,
    low: float,
    high: float,
    even_in_logarithm: bool,
) -> None:
    count = 80_000
    uniform = np.random.default_rng(3).random(count)
    ends = np.log([low, high]) if even_in_logarithm else np.array([low, high])
    x = ends[0] + (ends[1] - ends[0]) * uniform
    x = np.exp(x) if even_in_logarithm else x
    exact = FUNCTIONS[name](x.astype(np.longdouble))
    assert units_off(applied(compiled[1][name], x, lanes), exact) <= 2.0


@pytest.mark.parametrize(
    ("name", "x"),
    [("exp", np.nan), ("log", np.nan), ("log", 0.0), ("log", -1.0), ("log", -np.inf), ("log", np.inf)],
)
def test_what_has_no_value_stays_no_number(
    compiled: tuple[object, dict[str, Callable[..., None]]], lanes: int, name: str, x: float
) -> None:
    assert np.isnan(applied(compiled[1][name], np.full(8, x), lanes)).all()
