"""What the verbs below `log` share: how they are found, their options, and how refusals are told."""

from __future__ import annotations

import getpass
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from backreef.cli.terminal import Terminal

if TYPE_CHECKING:
    from backreef.logbook.changes import Hand
    from backreef.usecases.log_desk import Desk

Command = TypeVar("Command", bound=Callable[..., Any])
LINE = "line"


class Refused(click.ClickException):
    """What was asked cannot be done with what is there; the message says what to do."""

    exit_code = 2


class LogVerbs(click.Group):
    """The group below `log`: whatever is no verb of its own is a line to be logged."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Take the arguments as a line, unless the first is a verb or asks for help."""
        if args and args[0] not in self.commands and args[0] not in ctx.help_option_names:
            args = [LINE, *args]
        return super().parse_args(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:  # noqa: ANN401  click's
        """Run a verb; what the log refuses is told in plain words."""
        from backreef.logbook.entries import BadEntry
        from backreef.logbook.store import StoreTrouble
        from backreef.usecases.log import NothingToDo
        from backreef.usecases.log_desk import WhichTank
        from backreef.usecases.log_moments import NoMoment

        try:
            return super().invoke(ctx)
        except (BadEntry, NoMoment, NothingToDo, StoreTrouble, WhichTank) as refusal:
            raise Refused(str(refusal)) from refusal


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """Whose log, where it is, and who writes."""

    tank: str | None
    store: str | None
    who: str | None

    def desk(self) -> Desk:
        """The desk that was asked for."""
        from backreef.usecases.log_desk import desk_of

        return desk_of(tank=self.tank, place=self.store, folder=Path.cwd())

    def hand(self) -> Hand:
        """Who writes, now."""
        from backreef.logbook.changes import Hand

        return Hand(who=self.who or _account_name(), now=datetime.now().astimezone())


def _account_name() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "somebody"


def seat_options(command: Command) -> Command:
    """The options that say which log: --tank, --store and --who, handed over as one `Seat`."""

    def seated(*args: Any, tank: str | None, store: str | None, who: str | None, **others: Any) -> Any:  # noqa: ANN401
        return command(*args, seat=Seat(tank=tank, store=store, who=who), **others)

    seated.__name__, seated.__doc__ = command.__name__, command.__doc__
    taken: Any = seated
    taken.__click_params__ = list(getattr(command, "__click_params__", []))
    for name, variable, metavar, words in _SEAT:
        option: Callable[[Any], Any] = click.option(name, envvar=variable, metavar=metavar, help=words)
        taken = option(taken)
    return taken  # type: ignore[no-any-return]


_SEAT: tuple[tuple[str, str | None, str, str], ...] = (
    ("--who", "BACKREEF_WHO", "NAME", "Who writes; else this account."),
    (
        "--store",
        "BACKREEF_LOG",
        "PLACE",
        "File or postgresql:// address of the log; else backreef-log.sqlite3 beside the plan.",
    ),
    ("--tank", None, "TANK", "Which tank: its plan file, or its name."),
)


yes_option = click.option("--yes", "-y", is_flag=True, help="Save without asking.")


def agreed(question: str, terminal: Terminal, *, yes: bool) -> bool:
    """Whether the keeper agrees; where nobody answers, nothing is done."""
    if yes:
        return True
    try:
        if click.confirm(question):
            return True
    except click.Abort:
        if sys.stdin is not None and sys.stdin.isatty():
            raise
        terminal.tell("\n")
        raise Refused(
            "nobody answered, so nothing was changed; add --yes to go on without a question"
        ) from None
    terminal.say("Nothing was changed.\n")
    return False
