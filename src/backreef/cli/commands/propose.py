"""`backreef propose`: the best plans that this keeper can keep."""

from __future__ import annotations

from pathlib import Path

import click

from backreef.cli.app import BREAKS, OK
from backreef.cli.interrupt import INTERRUPTED
from backreef.cli.options import deliver, ensemble_options, json_option, look_at, plan_argument
from backreef.cli.target import STANDARD_OUTPUT, check_target, write_target
from backreef.cli.terminal import Terminal
from backreef.usecases.forecast import MEMBERS, MOST_MEMBERS, SEED


@click.command()
@plan_argument()
@click.option(
    "folder",
    "--into",
    default=".",
    show_default=True,
    metavar="DIR",
    help="Folder into which the proposed plans are written, one file each.",
)
@click.option(
    "pins",
    "--pin",
    multiple=True,
    metavar="ID",
    help="Keep this line of the plan as it is: an animal still to come, a meal, a chore, a device. May be "
    "given several times.",
)
@click.option(
    "asked",
    "--why-not",
    multiple=True,
    metavar="ANIMAL",
    help="Say why this animal is in no plan: it is forced in, and that is simulated. May be given several "
    "times.",
)
@click.option(
    "budgets",
    "--for-minutes",
    multiple=True,
    type=click.FloatRange(0.0, 20000.0),
    metavar="MINUTES",
    help="Say too which plan meets most if this many minutes a month were given. May be given several times.",
)
@click.option(
    "html_file", "--html", metavar="FILE", help="Write the proposals as one self-contained HTML file."
)
@json_option("the proposals")
@ensemble_options(members=MEMBERS, most=MOST_MEMBERS, seed=SEED)
@click.pass_obj
def propose(  # noqa: PLR0913  click hands over every option
    terminal: Terminal,
    /,
    plan: str,
    *,
    folder: str,
    pins: tuple[str, ...],
    asked: tuple[str, ...],
    budgets: tuple[float, ...],
    html_file: str | None,
    json_file: str | None,
    members: int,
    seed: int,
) -> int:
    """Find plans that this keeper can keep: who comes, when, and how they are fed.

    From the wishes, the minutes and the days under [keeper] up to three plans are sought: most of the wishes,
    fewest minutes, widest margins. Animals that are there already stay, those still to come are chosen anew.
    Each plan is simulated as by `forecast`, and only those that hold are written. The exit code is 0 if at
    least one was found and 1 if none.
    """
    look_at(html_file, json_file, plan=plan)
    check_target(Path(folder) / "proposal.toml", sources=[Path(plan)])
    from backreef.cli.progress import ProgressLine
    from backreef.usecases.propose import propose_plans, written

    with ProgressLine(terminal) as progress:
        found = propose_plans(
            plan,
            pinned=pins,
            why_not=asked,
            for_minutes=budgets,
            members=members,
            seed=seed,
            progress=progress,
        )
    files = written(found)
    for each in files:
        check_target(Path(folder) / each.file, sources=[Path(plan)])
        write_target(Path(folder) / each.file, each.text)
    if json_file is not None:
        from backreef.reports.propose_document import propose_json

        deliver(propose_json(found, files, folder), json_file, terminal)
    if html_file is not None:
        from backreef.reports.propose_html import propose_html

        deliver(propose_html(found, files), html_file, terminal)
    if STANDARD_OUTPUT not in (html_file, json_file):
        from backreef.reports.propose_text import propose_page

        style = terminal.style()
        page = propose_page(found, files, style.width, colour=style.colour, ascii_only=style.ascii_only)
        terminal.say(page)
    if found.status == "stopped":
        return INTERRUPTED
    return OK if found.proposals else BREAKS
