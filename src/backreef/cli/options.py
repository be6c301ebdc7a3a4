"""What several verbs take in the same way: a plan, files to write, and where JSON goes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

import click

from backreef.cli.target import STANDARD_OUTPUT, check_target, write_target
from backreef.cli.terminal import Terminal

MOST_MONTHS = 1200.0
"""As many as the longest life of a tank that anybody plans."""
Command = TypeVar("Command", bound=Callable[..., Any])


def plan_argument(*, required: bool = True) -> Callable[[Command], Command]:
    """The plan file; whether it can be read is the loader's to say."""
    return click.argument("plan", required=required, metavar="PLAN" if required else "[PLAN]")


def catalogue_option() -> Callable[[Command], Command]:
    """The option that names a folder of own entries."""
    words = "Folder of your own animals, foods, devices or tasks; takes the place of the plan's own key."
    return click.option("own", "--catalogue", metavar="DIR", help=words)


def store_option(words: str) -> Callable[[Command], Command]:
    """The option that says where the log is; `words` tell what stands for it where nothing is said."""
    return click.option("--store", envvar="BACKREEF_LOG", metavar="PLACE", help=words)


def weeks_option(whose: str, *, usual: int, most: int) -> Callable[[Command], Command]:
    """The option for how many weeks a fitted plan is carried on."""
    return click.option(
        "--weeks",
        type=click.IntRange(1, most),
        default=usual,
        show_default=True,
        metavar="N",
        help=f"How many weeks to look ahead from the last reading{whose}.",
    )


def seed_option(usual: int) -> Callable[[Command], Command]:
    """The option for where the draws of an ensemble start."""
    return click.option(
        "--seed",
        type=click.IntRange(0),
        default=usual,
        show_default=True,
        metavar="N",
        help="Where the draws start; the same seed gives the same answer.",
    )


def json_option(what: str) -> Callable[[Command], Command]:
    """The option that writes the versioned JSON document."""
    words = f"Write {what} as JSON; - for standard output, and then nothing else stands there."
    return click.option("json_file", "--json", metavar="FILE", help=words)


def read_day(_ctx: click.Context, _param: click.Parameter, value: str) -> date:
    """The date of an option, or what to write."""
    try:
        return date.fromisoformat(value)
    except ValueError:
        raise click.BadParameter(f"'{value}' is no date; write it as 2027-08-02") from None


def read_days(_ctx: click.Context, _param: click.Parameter, value: str | None) -> tuple[int, ...]:
    """The weekdays of an option, 0 for Monday, or what to write."""
    from backreef.aquarium.phrases import Unreadable, read_weekdays

    try:
        return () if value is None else read_weekdays(value)
    except Unreadable as refusal:
        raise click.BadParameter(str(refusal)) from None


def read_stops(_ctx: click.Context, _param: click.Parameter, values: tuple[str, ...]) -> dict[str, float]:
    """Tasks with the months after which they are dropped, as 'test_quick=12'."""
    found = {}
    for value in values:
        task, _, months = value.partition("=")
        try:
            found[task.strip()] = float(months)
        except ValueError:
            raise click.BadParameter(f"'{value}' is not TASK=MONTHS; write it as test_quick=12") from None
        if not 0.0 <= found[task.strip()] <= MOST_MONTHS:
            raise click.BadParameter(f"'{value}': months lie between 0 and {MOST_MONTHS:g}")
    return found


def absence_options(command: Command) -> Command:
    """The days of an absence, and who looks in."""
    sitter = click.option(
        "--sitter",
        callback=read_days,
        metavar="DAYS",
        help="Somebody looks in on these weekdays ('Tue, Fri') and can do what any sitter can.",
    )
    until = click.option(
        "until",
        "--to",
        callback=read_day,
        required=True,
        metavar="DATE",
        help="The day of return, not included.",
    )
    since = click.option(
        "since",
        "--from",
        callback=read_day,
        required=True,
        metavar="DATE",
        help="The first day without the keeper.",
    )
    return since(until(sitter(command)))


def ensemble_options(*, members: int, most: int, seed: int) -> Callable[[Command], Command]:
    """How many members are run, and with which luck."""
    count = click.option(
        "--members",
        type=click.IntRange(1, most),
        default=members,
        show_default=True,
        metavar="N",
        help="Runs of the ensemble: the first with each number at its value, the others with the uncertain "
        "ones drawn anew.",
    )
    return lambda command: count(seed_option(seed)(command))


def look_at(*targets: str | None, plan: str | None = None, plans: Sequence[str] = ()) -> None:
    """Refuse targets that cannot be written or collide, before any time is spent.

    Raises
    ------
    CannotWrite
        If one of them cannot be written.
    click.UsageError
        If two of them are the same.
    """
    sources = [Path(name) for name in (plan, *plans) if name is not None]
    given = [target for target in targets if target is not None]
    if len(set(given)) < len(given):
        raise click.UsageError(f"two documents cannot both go to {given[0]}", click.get_current_context())
    for target in given:
        if target != STANDARD_OUTPUT:
            check_target(Path(target), sources=sources)


def deliver(content: str | bytes, target: str, terminal: Terminal) -> None:
    """Write a document to a file or, for -, to standard output."""
    if target != STANDARD_OUTPUT:
        write_target(Path(target), content)
    elif isinstance(content, str):
        terminal.document(content)
    else:
        terminal.data(content)
