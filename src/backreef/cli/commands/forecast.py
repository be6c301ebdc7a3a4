"""`backreef forecast`: simulate a plan for years and judge it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import click

from backreef.cli.app import BREAKS, OK
from backreef.cli.options import (
    catalogue_option,
    deliver,
    ensemble_options,
    json_option,
    look_at,
    plan_argument,
    read_stops,
    store_option,
)
from backreef.cli.target import STANDARD_OUTPUT
from backreef.cli.terminal import Terminal
from backreef.usecases.forecast import MEMBERS, MOST_MEMBERS, SEED

if TYPE_CHECKING:
    from backreef.cli.progress import ProgressLine
    from backreef.judgement.verdict import Forecast
    from backreef.usecases.why import Working


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What is to be shown and written of a forecast."""

    html_file: str | None
    json_file: str | None
    fluxes: bool
    work: bool
    quiet: bool
    own: str | None
    store: str | None
    workings: bool

    @property
    def page(self) -> bool:
        """Whether the page is printed."""
        return not self.quiet and STANDARD_OUTPUT not in (self.html_file, self.json_file)

    @property
    def minutes_shown(self) -> bool:
        """Whether anything is wanted in which the minutes of the log are set beside the assumed ones."""
        return self.work or self.html_file is not None or self.json_file is not None


def _explain_kernel(ctx: click.Context, _: click.Parameter, *, value: bool) -> None:
    if value and not ctx.resilient_parsing:
        from backreef.usecases.kernel import kernel_equations

        ctx.ensure_object(Terminal).say(kernel_equations())
        ctx.exit(OK)


@click.command()
@plan_argument()
@click.option("html_file", "--html", metavar="FILE", help="Write the report as one self-contained HTML file.")
@catalogue_option()
@json_option("the forecast")
@ensemble_options(members=MEMBERS, most=MOST_MEMBERS, seed=SEED)
@click.option(
    "--thorough", is_flag=True, help="Simulate every remedy, not only those of the gravest findings."
)
@click.option(
    "--fluxes", is_flag=True, help="Print by which doors N, P, C and O2 came and left, after the page."
)
@click.option(
    "--work",
    is_flag=True,
    help="List the work after the page: months, days that need somebody, and the minutes of each animal, "
    "meal and device, simulated without it.",
)
@click.option(
    "stops",
    "--stop",
    multiple=True,
    callback=read_stops,
    metavar="TASK=MONTHS",
    help="What if this chore is dropped after so many months? May be given several times.",
)
@store_option("Log whose minutes are set beside the assumed ones; else backreef-log.sqlite3 beside the plan.")
@click.option(
    "--workings",
    is_flag=True,
    help="Let each number of the HTML report that has one lead to its working; this simulates once more.",
)
@click.option("--quiet", is_flag=True, help="Print nothing: files and the exit code are the answer.")
@click.option(
    "--explain-kernel",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=lambda ctx, option, value: _explain_kernel(ctx, option, value=value),
    help="Print the equations that are simulated, and stop.",
)
@click.pass_obj
def forecast(
    terminal: Terminal,
    /,
    plan: str,
    *,
    members: int,
    seed: int,
    thorough: bool,
    stops: dict[str, float],
    **wanted: str | bool | None,
) -> int:
    """Say what becomes of a plan: does it hold, where does it break, what helps.

    The plan is simulated for its horizon, three years unless it says otherwise, many times over with the
    uncertain numbers drawn anew. It holds if at least 95 % of these members keep all three balances. The exit
    code is 0 if it holds and 1 if it breaks.
    """
    want = Wanted(**wanted)  # type: ignore[arg-type]
    look_at(want.html_file, want.json_file, plan=plan)
    if want.workings and (want.html_file is None or want.own is not None or stops):
        words = "--workings goes with --html, and not with --stop or another catalogue"
        raise click.UsageError(words, click.get_current_context())
    from backreef.cli.interrupt import leaving_at_once
    from backreef.cli.progress import ProgressLine
    from backreef.usecases.check import load_plan
    from backreef.usecases.forecast import forecast_plan
    from backreef.usecases.work import stopping, with_marginal_minutes

    with leaving_at_once(), ProgressLine(terminal, silent=want.quiet) as progress:
        read = stopping(load_plan(plan, own=want.own), stops)
        found = forecast_plan(read, members=members, seed=seed, thorough=thorough, progress=progress)
        if want.work:
            found = with_marginal_minutes(found, read, progress=progress)
    if want.minutes_shown:
        from backreef.cli.forecasting import with_log

        found = with_log(found, plan, want.store, terminal)
    told = {}
    if want.workings:
        with leaving_at_once(), ProgressLine(terminal, silent=want.quiet) as progress:
            told = _workings(found, plan, progress)
    _deliver(found, want, told, terminal)
    return OK if found.holds else BREAKS


def _workings(found: Forecast, plan: str, progress: ProgressLine) -> dict[str, Working]:
    from backreef.reports.html import figures_of
    from backreef.usecases.why import workings

    return workings(plan, figures_of(found), members=found.members, seed=found.seed, progress=progress)


def _deliver(found: Forecast, want: Wanted, told: dict[str, Working], terminal: Terminal) -> None:
    if want.page:
        from backreef.cli.forecasting import show_page

        show_page(found, terminal, fluxes=want.fluxes, work=want.work)
    if want.json_file is not None:
        from backreef.reports.document import to_json

        deliver(to_json(found), want.json_file, terminal)
    if want.html_file is not None:
        from backreef.reports.html import report_html

        deliver(report_html(found, workings=told), want.html_file, terminal)
        if want.page:
            terminal.say(f"\nReport: {want.html_file}\n")
