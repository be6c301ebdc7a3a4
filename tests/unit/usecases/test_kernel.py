from __future__ import annotations

import math
import re

import numpy as np
import pytest

from backreef.models import laws
from backreef.models.matrix import packaged_matrix
from backreef.simulation.layout import packaged_layout
from backreef.simulation.programs import Program
from backreef.usecases.kernel import kernel_equations, program_lines


@pytest.fixture(scope="module")
def text() -> str:
    return kernel_equations()


def test_it_has_every_component_process_and_law(text: str) -> None:
    matrix = packaged_matrix()
    for component in matrix.components:
        assert f"\nd {component.name} / dt =" in text
    for process in matrix.processes:
        assert f"\n{process.row.id} =" in text
        assert re.search(rf"^{process.row.law}\(.*\) =$", text, re.MULTILINE)


def test_its_coefficients_are_those_of_the_matrix(text: str) -> None:
    matrix = packaged_matrix()
    process = next(p for p in matrix.processes if not p.food_coefficients and len(p.coefficients) > 3)
    for name, coefficient in process.coefficients.items():
        balance = text.partition(f"\nd {name} / dt =")[2].partition("\n\n")[0]
        (written,) = re.findall(rf"([+-]) ([\d.e+-]+) \* {process.row.id}$", balance, re.MULTILINE)
        assert math.isclose(float("".join(written)), coefficient, rel_tol=1e-5)


def test_a_law_reads_as_it_computes(text: str) -> None:
    body = text.partition("\ngas_transfer(")[2].partition("\n\n")[0].partition("=\n")[2].strip()
    numbers = {"transfer": 3.0, "saturation": 210.0, "concentration": 180.0, "volume": 300.0}
    assert math.isclose(eval(body, {}, dict(numbers)), laws.gas_transfer(**numbers))


def test_a_program_reads_as_it_computes() -> None:
    program = Program("try")
    a, b = program.read("y", 0), program.read("y", 1)
    shared = (a - b) * (a - (b - 2.0))
    program.write("out", 0, shared / (a / b) - (-shared))
    program.write("out", 1, program.recorder.select(shared, a.exp(), b.sqrt()), add=True)
    lines = [line.strip() for line in program_lines(program, names={"y": ("a", "b")})][1:]
    y = type("Y", (), {"a": 3.0, "b": 1.5})
    out = np.array([0.0, 100.0])
    exec("\n".join(lines), {"y": y, "out": out, "exp": math.exp, "sqrt": math.sqrt})
    product = (3.0 - 1.5) * (3.0 - (1.5 - 2.0))
    assert np.allclose(out, [product / (3.0 / 1.5) + product, 100.0 + math.exp(3.0)])


def test_it_names_the_rows_that_have_names(text: str) -> None:
    slots = text.partition("## slot_rates\n")[2].partition("\n\n")[0]
    assert "traits.speed" in slots
    assert "s.per_l" in slots
    assert not re.search(r"\b(p|nature|traits)\[", text)
    assert packaged_layout().parameters[0] in text
