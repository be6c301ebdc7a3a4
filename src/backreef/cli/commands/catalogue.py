"""`backreef catalogue`: what is known of animals, foods, devices and tasks, and on whose word."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from backreef.cli.app import FAULTY, OK
from backreef.cli.options import catalogue_option, deliver, json_option, look_at
from backreef.cli.terminal import Terminal

if TYPE_CHECKING:
    from backreef.usecases.browse import Browsed, Kind, Listed
    from backreef.usecases.portrait import Part

CHECK = "check"
KIND_WORDS: dict[str, Kind] = {
    "animals": "species",
    "species": "species",
    "foods": "foods",
    "devices": "devices",
    "tasks": "tasks",
}


@click.command(options_metavar="[OPTIONS]")
@click.argument("words", nargs=-1, metavar="[WORDS ... | check [FOLDER]]")
@click.option(
    "--kind", type=click.Choice(list(KIND_WORDS)), help="Look on one shelf only; animals and species are one."
)
@click.option(
    "plan_file",
    "--plan",
    metavar="PLAN",
    help="Say beside an animal's page what it would be to this plan's tank.",
)
@click.option(
    "--against", metavar="FOOD", help="Hold a food's energy against that of this one, on the same basis."
)
@catalogue_option()
@click.option("--schema", is_flag=True, help="Print the JSON Schema of what --json writes, and stop.")
@json_option("the entries")
@click.pass_obj
def catalogue(
    terminal: Terminal,
    /,
    words: tuple[str, ...],
    *,
    kind: str | None,
    schema: bool,
    json_file: str | None,
    against: str | None,
    **given: str | None,
) -> int:
    """Look up animals, foods, devices and tasks.

    A name shows one entry as a page: its day, its year, what it does for you and costs you, whom it troubles,
    how sure we are and on whose word. Other words list what they are about; no words say what there is.
    Foods of your own from a plan are looked up with --plan.

    'catalogue check' looks whether every entry obeys the laws of the catalogue; with a FOLDER of your own
    entries, whether those do.
    """
    if schema:
        _print_schema(terminal)
        return OK
    if words[:1] == (CHECK,) and kind is None:
        return _check(words[1:], terminal)
    look_at(json_file)
    from backreef.usecases.browse import browse_catalogue

    shelves = _Shelves(**given)
    found = browse_catalogue(" ".join(words), KIND_WORDS[kind] if kind else None, shelves.catalogue)
    if not found.matches:
        from backreef.cli.catalogue_page import nothing_text

        terminal.tell(nothing_text(found, terminal.err_style()))
    if json_file is not None:
        _deliver(found, json_file, terminal, shelves)
    elif found.entry or found.matches:
        terminal.say(_page(found, terminal, shelves, against))
    return OK if found.entry or found.matches else FAULTY


class _Shelves:
    """The catalogue that is meant, and the plan beside which it is read."""

    def __init__(self, *, plan_file: str | None, own: str | None) -> None:
        from backreef.catalogue.load import load_catalogue
        from backreef.usecases.check import catalogue_of, load_plan

        self.plan = load_plan(plan_file, own=own) if plan_file else None
        folder = Path(own) if own else None
        self.catalogue = catalogue_of(self.plan) if self.plan else load_catalogue(extra=folder)


def _page(found: Browsed, terminal: Terminal, shelves: _Shelves, against: str | None) -> str:
    from backreef.cli import catalogue_page as pages
    from backreef.cli.app import program_name
    from backreef.usecases.portrait_things import portrait_of

    style = terminal.style()
    if found.entry is not None:
        portrait = portrait_of(found.entry, shelves.catalogue, plan=shelves.plan)
        if against is not None:
            portrait = replace(portrait, parts=(_against(found.entry, against, shelves), *portrait.parts))
        page = pages.portrait_page(portrait, style)
        others = [entry for entry in found.matches if entry is not found.entry]
        return page + (f"\nAlso about these words:\n\n{pages.list_page(others, style)}" if others else "")
    if not found.query and found.kind is None:
        return pages.overview_page(found.matches, style, program=program_name())
    return pages.list_page(found.matches, style)


def _against(entry: Listed, against: str, shelves: _Shelves) -> Part:
    """What a food holds more or less of than another one."""
    from backreef.catalogue.entries import Food
    from backreef.usecases.compare_foods import NotComparable, compare_foods, comparison_part

    if not isinstance(entry, Food):
        raise click.UsageError("--against is for foods", click.get_current_context())
    try:
        labels = shelves.plan.foods if shelves.plan else ()
        return comparison_part(compare_foods(entry, against, shelves.catalogue, labels))
    except NotComparable as refusal:
        raise click.UsageError(str(refusal), click.get_current_context()) from None


def _deliver(found: Browsed, json_file: str, terminal: Terminal, shelves: _Shelves) -> None:
    from backreef.usecases.catalogue_document import catalogue_document
    from backreef.usecases.documents import json_text

    entries = found.matches if found.entry is None else (found.entry,)
    deliver(json_text(catalogue_document(entries, shelves.catalogue)), json_file, terminal)


def _check(folders: tuple[str, ...], terminal: Terminal) -> int:
    if len(folders) > 1:
        raise click.UsageError("check takes one folder", click.get_current_context())
    from backreef.cli.fault_lines import faults_text
    from backreef.usecases.check_catalogue import check_catalogue

    result = check_catalogue(Path(folders[0]) if folders else None)
    if result.faults:
        terminal.tell(faults_text(result.faults, terminal.err_style()))
        return FAULTY
    held = ", ".join(f"{count} {kind}" for kind, count in result.counts.items())
    terminal.say(f"No faults: {held}, {result.values} numbers from {result.sources} sources.\n")
    return OK


def _print_schema(terminal: Terminal) -> None:
    from backreef.usecases.catalogue_schema import catalogue_schema
    from backreef.usecases.documents import json_text

    terminal.document(json_text(catalogue_schema()))
