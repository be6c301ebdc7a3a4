"""`backreef compare`: plans side by side, with the same luck."""

from __future__ import annotations

import click

from backreef.cli.app import OK
from backreef.cli.options import deliver, ensemble_options, json_option, look_at
from backreef.cli.target import STANDARD_OUTPUT
from backreef.cli.terminal import Terminal
from backreef.usecases.compare import FEWEST, MOST
from backreef.usecases.forecast import MEMBERS, MOST_MEMBERS, SEED


@click.command()
@click.argument("plans", nargs=-1, metavar="PLAN PLAN ...")
@click.option(
    "html_file", "--html", metavar="FILE", help="Write the comparison as one self-contained HTML file."
)
@json_option("the comparison")
@ensemble_options(members=MEMBERS, most=MOST_MEMBERS, seed=SEED)
@click.pass_obj
def compare(
    terminal: Terminal,
    plans: tuple[str, ...],
    *,
    html_file: str | None,
    json_file: str | None,
    members: int,
    seed: int,
) -> int:
    """Lay plans side by side: what becomes of each, and what they say differently.

    Two to six plans are compared. Each is forecast with the same draws, so that what differs is the plans'
    doing and not luck. Remedies are not tried. The exit code is 0 whatever becomes of the plans.
    """
    if not FEWEST <= len(plans) <= MOST:
        raise click.UsageError(f"name {FEWEST} to {MOST} plan files", click.get_current_context())
    look_at(html_file, json_file, plans=plans)
    from backreef.cli.interrupt import leaving_at_once
    from backreef.cli.progress import ProgressLine
    from backreef.usecases.compare import compare_plans

    with leaving_at_once(), ProgressLine(terminal) as progress:
        found = compare_plans(plans, members=members, seed=seed, progress=progress)
    if json_file is not None:
        from backreef.reports.compare_document import compare_json

        deliver(compare_json(found), json_file, terminal)
    if html_file is not None:
        from backreef.reports.compare_html import compare_html

        deliver(compare_html(found), html_file, terminal)
    if STANDARD_OUTPUT not in (html_file, json_file):
        from backreef.reports.compare_text import compare_page

        style = terminal.style()
        terminal.say(compare_page(found, style.width, colour=style.colour, ascii_only=style.ascii_only))
    return OK
