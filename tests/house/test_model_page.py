"""docs/model.md says what the tables say, and docs/equations.md what the functions beside them say.

After a change of a table or a law that was meant:
BACKREEF_RECORD_MODEL=1 python3 go.py test tests/house/test_model_page.py
"""

import os

from backreef.models.matrix import packaged_matrix
from backreef.models.render import model_page
from backreef.models.render_equations import BODIES, WATER, equations_page, modules_of_nature
from tests.house.repository import ROOT

PAGE = ROOT / "docs" / "model.md"
EQUATIONS = ROOT / "docs" / "equations.md"


def test_the_page_of_the_model_is_current() -> None:
    page = model_page(packaged_matrix())
    if os.environ.get("BACKREEF_RECORD_MODEL"):
        PAGE.write_text(page, encoding="utf-8")
    assert PAGE.read_text(encoding="utf-8") == page, (
        "if the change was meant, see the first lines of this file"
    )


def test_the_page_of_equations_is_current() -> None:
    page = equations_page()
    if os.environ.get("BACKREEF_RECORD_MODEL"):
        EQUATIONS.write_text(page, encoding="utf-8")
    assert EQUATIONS.read_text(encoding="utf-8") == page, (
        "if the change was meant, see the first lines of this file"
    )


def test_no_module_of_nature_is_left_out() -> None:
    assert {*WATER, *BODIES} == modules_of_nature()


def test_it_shows_every_component_process_law_and_parameter() -> None:
    matrix, page = packaged_matrix(), PAGE.read_text(encoding="utf-8")
    for component in matrix.components:
        assert f"| `{component.name}` |" in page
    for process in matrix.processes:
        assert f"**{process.row.id}**" in page
        assert f"\n#### `{process.row.law}`\n" in page
    for symbol in matrix.tables.parameters:
        assert f"| `{symbol}` |" in page
