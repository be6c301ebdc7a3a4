"""What several verbs take in the same way: a plan, files to write, and where JSON goes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from backreef.cli.target import STANDARD_OUTPUT, check_target, write_target
from backreef.cli.terminal import Terminal

Command = TypeVar("Command", bound=Callable[..., Any])


def plan_argument(*, required: bool = True) -> Callable[[Command], Command]:
    """The plan file; whether it can be read is the loader's to say."""
    return click.argument("plan", required=required, metavar="PLAN" if required else "[PLAN]")


def json_option(what: str) -> Callable[[Command], Command]:
    """The option that writes the versioned JSON document."""
    words = f"Write {what} as JSON; - for standard output, and then nothing else stands there."
    return click.option("json_file", "--json", metavar="FILE", help=words)


def look_at(*targets: str | None, plan: str | None = None) -> None:
    """Refuse targets that cannot be written or collide, before any time is spent.

    Raises
    ------
    CannotWrite
        If one of them cannot be written.
    click.UsageError
        If two of them are the same.
    """
    given = [target for target in targets if target is not None]
    if len(set(given)) < len(given):
        raise click.UsageError(f"two documents cannot both go to {given[0]}", click.get_current_context())
    for target in given:
        if target != STANDARD_OUTPUT:
            check_target(Path(target), sources=[] if plan is None else [Path(plan)])


def deliver(text: str, target: str, terminal: Terminal) -> None:
    """Write a document to a file or, for -, to standard output."""
    if target == STANDARD_OUTPUT:
        terminal.document(text)
    else:
        write_target(Path(target), text)
