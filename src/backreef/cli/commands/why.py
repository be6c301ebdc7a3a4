"""`backreef why`: the working behind a number."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from backreef.cli.app import OK, program_name
from backreef.cli.options import (
    deliver,
    ensemble_options,
    json_option,
    look_at,
    plan_argument,
    store_option,
    weeks_option,
)
from backreef.cli.target import STANDARD_OUTPUT
from backreef.cli.terminal import Terminal
from backreef.usecases import reconcile as fitting
from backreef.usecases.forecast import MEMBERS, MOST_MEMBERS, SEED
from backreef.usecases.reconcile import MOST_WEEKS, WEEKS_AHEAD
from backreef.usecases.told_numbers import FIT

if TYPE_CHECKING:
    from backreef.usecases.why import Working

_NO_ANSWER = "nothing is simulated for it, or it is 0 with all numbers at their middle"


@click.command()
@plan_argument()
@click.argument("figure", required=False, metavar="[FIGURE]")
@json_option("the working")
@ensemble_options(members=MEMBERS, most=MOST_MEMBERS, seed=SEED)
@click.option(
    "--one-by-one",
    is_flag=True,
    help="Also move each uncertain number alone and say what that does to the figure; this simulates some "
    "hundred members more.",
)
@click.option(
    "--all",
    "told",
    is_flag=True,
    help="Without FIGURE: simulate the plan, and list also the numbers of its forecast's lines.",
)
@store_option("Where the log is that a figure of a fit rests on, if not beside the plan.")
@weeks_option(", for a figure of a fit", usual=WEEKS_AHEAD, most=MOST_WEEKS)
@click.pass_obj
def why(  # noqa: PLR0913  one for each option
    terminal: Terminal,
    /,
    plan: str,
    figure: str | None,
    *,
    json_file: str | None,
    members: int,
    seed: int,
    one_by_one: bool,
    told: bool,
    store: str | None,
    weeks: int,
) -> int:
    """Show the working behind a number: formulas, inputs with units, and on whose word.

    A figure is asked by its name, a daily one with its day: 'floor_load_kn_per_m2', 'mass_g' of the entry
    'clowns' as 'clowns.mass_g@2028-03-01', nitrate as 'nitrate_mg_no3_per_l@2028-03-01', the hours until a
    mishap harms an animal as 'mains_off_8h.hours_to_risk@2027-08-02..2027-08-16', the first day away and the
    day of return. What a report tells of a month or a quarter is asked as 'nitrate_mg_no3_per_l@2028-03' and
    '@2028-Q1', the edges of its band with _p05 and _p95 after the name, and every number of a line of the
    forecast by the name that --all lists: 'doors.N.food.g_per_month', 'minutes.per_month', 'share_holding'.
    What 'reconcile' tells of the plan and its log is asked as 'fit.moved.hand_ration.after.p50'; 'fit' alone
    lists it.
    Without FIGURE, all that this plan can be asked is listed. The tree is recorded by the code
    that computes the number, down to lines of the plan, values of the catalogue, named constants and states
    that were simulated. Where the plan is simulated, what came in and left is told too, and which uncertain
    inputs move the figure most.
    """
    look_at(json_file, plan=plan)
    from backreef.cli.interrupt import leaving_at_once
    from backreef.cli.progress import ProgressLine
    from backreef.usecases import why as usecase

    if figure is None:
        from backreef.reports.why_text import figures_page

        for option, given in (("--json", json_file is not None), ("--one-by-one", one_by_one)):
            if given:
                raise click.UsageError(f"name a FIGURE for {option}", click.get_current_context())
        figures = usecase.askable_figures(plan, members=members, told=told)
        terminal.say(figures_page(figures, terminal.style(), program=program_name(), plan=plan))
        return OK
    if figure == FIT.rstrip(".") or figure.startswith(FIT):
        for option, given in (("--one-by-one", one_by_one), ("--all", told)):
            if given:
                raise click.UsageError(f"{option} is of no figure of a fit", click.get_current_context())
        return _of_fit(terminal, plan, figure, json_file=json_file, store=store, asked=(members, seed, weeks))
    if told:
        raise click.UsageError("--all goes without FIGURE", click.get_current_context())
    with leaving_at_once(), ProgressLine(terminal, silent=False) as progress:
        found = usecase.why(
            plan, figure, members=members, seed=seed, progress=progress, one_by_one=one_by_one
        )
    if one_by_one and found.elasticities is None:
        terminal.tell(f"{found.figure} has no answer to --one-by-one: {_NO_ANSWER}\n")
    return _say(found, json_file, terminal)


def _say(found: Working, json_file: str | None, terminal: Terminal) -> int:
    if json_file is not None:
        from backreef.reports.why_document import why_json

        deliver(why_json(found), json_file, terminal)
    if json_file != STANDARD_OUTPUT:
        from backreef.reports.why_text import why_page

        terminal.say(why_page(found, terminal.style()))
    return OK


def _of_fit(
    terminal: Terminal,
    plan: str,
    figure: str,
    *,
    json_file: str | None,
    store: str | None,
    asked: tuple[int, int, int],
) -> int:
    """Answer for a figure of the plan and its log put together, or list them all."""
    from click.core import ParameterSource

    from backreef.cli.interrupt import leaving_at_once
    from backreef.cli.log_entries import logged_entries
    from backreef.cli.progress import ProgressLine
    from backreef.usecases import why as usecase

    members, seed, weeks = asked
    said = click.get_current_context().get_parameter_source("members") is not ParameterSource.DEFAULT
    members = -(-members // fitting.LANES) * fitting.LANES if said else fitting.MEMBERS
    if members < fitting.LEAST_MEMBERS:
        words = f"a fit takes {fitting.LEAST_MEMBERS} members or more"
        raise click.UsageError(words, click.get_current_context())
    if json_file is not None and not figure.startswith(FIT):
        raise click.UsageError("name a figure of the fit for --json", click.get_current_context())
    entries = logged_entries(plan, store, terminal)
    with leaving_at_once(), ProgressLine(terminal, silent=False) as progress:
        if figure.startswith(FIT):
            found = usecase.why_fit(plan, entries, figure, asked=(members, seed, weeks), progress=progress)
        else:
            figures = usecase.askable_of_fit(plan, entries, asked=(members, seed, weeks), progress=progress)
    if figure.startswith(FIT):
        return _say(found, json_file, terminal)
    from backreef.reports.why_text import figures_page

    terminal.say(figures_page(figures, terminal.style(), program=program_name(), plan=plan))
    return OK
