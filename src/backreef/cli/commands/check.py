"""`backreef check`: every fault of a plan file at once, and what stands out without a forecast."""

from __future__ import annotations

import click

from backreef.cli.app import FAULTY, OK
from backreef.cli.options import catalogue_option, deliver, json_option, look_at, plan_argument
from backreef.cli.target import STANDARD_OUTPUT
from backreef.cli.terminal import Terminal


@click.command()
@plan_argument(required=False)
@click.option("--schema", is_flag=True, help="Print the JSON Schema of plan files, for editors, and stop.")
@catalogue_option()
@json_option("faults and findings")
@click.option(
    "ics_file",
    "--ics",
    metavar="FILE",
    help="Write the work as a calendar file: each chore and each arrival with its gate, with alarms.",
)
@click.pass_obj
def check(
    terminal: Terminal,
    plan: str | None,
    *,
    schema: bool,
    own: str | None,
    json_file: str | None,
    ics_file: str | None,
) -> int:
    """Look a plan file over: every fault at once, and what stands out.

    Faults are mistakes in the file; they go to standard error, each with its line, and the exit code is 2.
    Findings are what needs no forecast to be seen: animals that do not fit the tank or each other, meals
    nobody is there to give, and the like.
    """
    if schema:
        _print_schema(terminal)
        return OK
    if plan is None:
        raise click.UsageError("name a plan file, or --schema", click.get_current_context())
    look_at(json_file, ics_file, plan=plan)
    from backreef.usecases.check import check_plan
    from backreef.usecases.documents import check_document, json_text

    result = check_plan(plan, own=own)
    if json_file is not None:
        deliver(json_text(check_document(result)), json_file, terminal)
    if ics_file is not None and not result.faults:
        _write_calendar(plan, ics_file, terminal)
    if STANDARD_OUTPUT not in (json_file, ics_file):
        from backreef.cli.check_page import check_page
        from backreef.cli.fault_lines import faults_text

        terminal.say(check_page(result, terminal.style()))
        if result.faults:
            terminal.tell(faults_text(result.faults, terminal.err_style()))
    return FAULTY if result.faults else OK


def _write_calendar(plan: str, ics_file: str, terminal: Terminal) -> None:
    from backreef.reports.ical import calendar_text
    from backreef.usecases.work import lay_out_file

    deliver(calendar_text(*lay_out_file(plan)), ics_file, terminal)


def _print_schema(terminal: Terminal) -> None:
    from backreef.aquarium.manual import plan_schema
    from backreef.usecases.documents import json_text

    terminal.document(json_text(plan_schema()))
