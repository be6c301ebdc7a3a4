"""The pages that say where each asked sentence is kept name files that are there."""

from __future__ import annotations

import re

import pytest

from tests.house.repository import ROOT, files

PAGES = (
    "docs/explain_audit.md",
    "docs/living_water.md",
    "docs/mouths.md",
    "docs/page.md",
    "docs/propose.md",
    "docs/trust_audit.md",
)
NAMED = re.compile(r"`([\w./]+\.(?:py|csv|toml))")


def lost(text: str) -> list[str]:
    """Files that a page names and that nobody has."""
    return [
        name for name in NAMED.findall(text) if not any(f"/{path}".endswith(f"/{name}") for path in files())
    ]


@pytest.mark.parametrize("page", PAGES)
def test_a_page_names_files_that_are_there(page: str) -> None:
    text = (ROOT / page).read_text(encoding="utf-8")
    assert len(NAMED.findall(text)) > 20, "it names its files"
    assert lost(text) == []


def test_a_file_that_is_not_there_is_noticed() -> None:
    assert lost("`models/room.py` and `models/no_such_room.py`") == ["models/no_such_room.py"]
