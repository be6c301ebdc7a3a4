from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from backreef.web.place import Place
from tests.page_world import PLAN, serving, signed_in

if TYPE_CHECKING:
    from django.test import Client


@pytest.fixture
def place(tmp_path: Path) -> Iterator[Place]:
    """A folder with one plan, served."""
    (tmp_path / "reef.toml").write_text(PLAN, encoding="utf-8")
    with serving(tmp_path) as place:
        yield place


@pytest.fixture
def client(place: Place) -> Client:
    """The keeper's browser."""
    return signed_in()
