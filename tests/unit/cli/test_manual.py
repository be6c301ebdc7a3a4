from __future__ import annotations

from backreef.cli.app import VERBS
from backreef.cli.manual import commands_markdown
from tests.cli_world import ROOT

HOW = "write it anew: python -m backreef.cli.manual > docs/commands.md"


def test_the_manual_is_what_the_commands_say() -> None:
    assert (ROOT / "docs" / "commands.md").read_text(encoding="utf-8") == commands_markdown(), HOW


def test_it_has_every_verb_and_option() -> None:
    manual = commands_markdown()
    assert all(f"\n## {verb}\n" in manual for verb in VERBS)
    for option in (
        "--html FILE",
        "--json FILE",
        "--members N",
        "--thorough",
        "--fluxes",
        "--quiet",
        "--schema",
    ):
        assert f"| `{option}" in manual
