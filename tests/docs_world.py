"""The pages of docs for tests: their texts, and what stands in their blocks."""

from __future__ import annotations

import re
from textwrap import dedent

from tests.cli_world import ROOT

DOCS = ROOT / "docs"


def page(name: str) -> str:
    """The text of a page."""
    return (DOCS / name).read_text(encoding="utf-8")


def blocks(name: str, language: str) -> list[str]:
    """What stands between the fences of one language on a page, in order."""
    found = re.findall(rf"^( *)```{re.escape(language)}\n(.*?)^ *```$", page(name), re.MULTILINE | re.DOTALL)
    return [dedent(text) for _, text in found]
