"""Everything that decides what is compiled is part of the key under which compiled code is kept."""

import ast
from pathlib import Path

from backreef.simulation import engine

ROOM = Path(engine.__file__).parent
WRITERS = ("march.py", "programs.py", "llvm_text.py", "image.py")
"""Modules that write code, or lay it out; whatever of this room they import decides with them."""


def imported_from_this_room(module: str) -> set[str]:
    """Modules of the room that a module names in an import, wherever it stands."""
    room, names = "backreef.simulation", set[str]()
    for node in ast.walk(ast.parse((ROOM / module).read_text())):
        if isinstance(node, ast.ImportFrom) and node.module:
            if node.module == room:
                names |= {alias.name for alias in node.names}
            elif node.module.startswith(f"{room}."):
                names.add(node.module.removeprefix(f"{room}."))
    return {f"{name}.py" for name in names} & {path.name for path in ROOM.glob("*.py")}


def test_no_module_that_writes_code_is_missing_from_the_key() -> None:
    reached, waiting = set[str](), list(WRITERS)
    while waiting:
        module = waiting.pop()
        if module not in reached:
            reached.add(module)
            waiting.extend(imported_from_this_room(module))
    assert not reached - set(engine.GENERATOR)
