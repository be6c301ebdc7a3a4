"""The verbs, and what becomes of everything that may go wrong under them: words, and an exit code.

Verbs are imported when they are called, so that asking for help costs nothing.
"""

from __future__ import annotations

import difflib
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import Any, NoReturn, cast

import click

from backreef import __version__
from backreef.cli.interrupt import INTERRUPTED
from backreef.cli.terminal import OWN_NAME, Terminal
from backreef.errors import BackreefError, InputFaults

OK, BREAKS, FAULTY, FAILED = 0, 1, 2, 3
VERBS = {
    "demo": "Forecast the reading room's reef, an example, and write its report.",
    "check": "Look a plan file over: every fault at once, and what stands out.",
    "forecast": "Say what becomes of a plan: does it hold, where does it break, what helps.",
    "propose": "Find plans that this keeper can keep: who comes, when, and how they are fed.",
    "compare": "Lay plans side by side: what becomes of each, and what they say differently.",
    "rehearse": "Try an absence out: hour by hour, with what may go wrong, and what helps.",
    "sheet": "Write one page for whoever looks in while the keeper is away.",
    "why": "Show the working behind a number: formulas, inputs with units, and on whose word.",
    "log": "Keep the log of a tank: readings, feedings, chores, deaths, sightings.",
    "reconcile": "Put the plan and its log together: what came, what moved, what comes.",
    "fleet": "Look at every tank of a folder or a database, and make the week's rounds of each carer.",
    "serve": "Open the plans of a folder in a browser: forecasts, plans, the log, days away.",
    "catalogue": "Look up animals, foods, devices and tasks.",
}
"""Verb -> one line of help; the command of a verb is in `backreef.cli.commands.<verb>`."""
EPILOG = """\b
Exit codes: 0 the plan holds, or the work is done; 1 the plan breaks; 2 what was
given has faults; 3 backreef itself failed; 130 interrupted."""


class Verbs(click.Group):
    """The group of all verbs, each imported only when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002  click's
        """Every verb, in the order of a first visit."""
        return list(VERBS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002  click's
        """The command of a verb."""
        if cmd_name not in VERBS:
            return None
        module = import_module(f"backreef.cli.commands.{cmd_name}")
        return cast("click.Command", getattr(module, cmd_name))

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002  click's
        """Write the verbs without importing any of them."""
        with formatter.section("Verbs"):
            formatter.write_dl(list(VERBS.items()))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Give the verb that was called, or say which was probably meant."""
        if args[0] not in VERBS:
            raise click.UsageError(_no_such_verb(args[0], str(ctx.command_path)), ctx)
        return super().resolve_command(ctx, args)

    def main(self, args: Sequence[str] | None = None, **_: Any) -> NoReturn:  # type: ignore[override]  # noqa: ANN401  click's
        """Run and leave the process, as click's own runner expects it."""
        sys.exit(run(list(sys.argv[1:] if args is None else args)))


def _no_such_verb(word: str, program: str) -> str:
    if word.endswith(".toml"):
        return f"'{word}' is a file, not a verb; did you mean '{program} forecast {word}'?"
    near = difflib.get_close_matches(word, VERBS, n=1, cutoff=0.5)
    hint = f"did you mean '{near[0]}'?" if near else f"there are {', '.join(VERBS)}"
    return f"'{word}' is no verb of backreef; {hint}"


@click.group(
    cls=Verbs,
    invoke_without_command=True,
    no_args_is_help=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
    epilog=EPILOG,
    subcommand_metavar="VERB ...",
)
@click.version_option(__version__, prog_name="backreef", message="%(prog)s %(version)s")
@click.pass_context
def backreef(ctx: click.Context) -> None:
    """Forecast a reef aquarium for years ahead, from a plan file.

    Is every animal fed, do the nutrients leave again, and do the chores fit the keeper's minutes and days?
    """
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())


def run(arguments: list[str]) -> int:
    """Do what the arguments say; say what went wrong in plain words; give the exit code."""
    terminal = Terminal.standard()
    terminal.called = program_name()
    try:
        return _run(arguments, terminal)
    except InputFaults as refusal:
        _tell_faults(refusal, terminal)
        return FAULTY
    except click.exceptions.Exit as end:
        return end.exit_code
    except click.ClickException as refusal:
        terminal.tell(_refusal_text(refusal, arguments))
        return refusal.exit_code
    except BrokenPipeError:
        terminal.leave()
        return OK
    except (KeyboardInterrupt, click.Abort):
        terminal.tell("\nStopped.\n")
        return INTERRUPTED
    except (BackreefError, Exception) as error:  # noqa: BLE001  whatever fails, nobody is shown a traceback
        from backreef.cli.failure import failure_text

        terminal.tell(failure_text(error, arguments, terminal.environment))
        return FAILED
    finally:
        terminal.close()


def _run(arguments: list[str], terminal: Terminal) -> int:
    with backreef.make_context(program_name(), arguments, obj=terminal) as context:
        code = backreef.invoke(context)
    return code if isinstance(code, int) else OK


def program_name() -> str:
    """What people type to start the program here."""
    return sys.argv[0] if sys.argv[0].endswith((" go.py", " -m backreef")) else OWN_NAME


def _tell_faults(refusal: InputFaults, terminal: Terminal) -> None:
    from backreef.cli.fault_lines import faults_text

    terminal.tell(faults_text(refusal.faults, terminal.err_style()))


def _refusal_text(refusal: click.ClickException, arguments: list[str]) -> str:
    """What was wrong with the words on the command line, and where to look."""
    message = refusal.format_message()
    if not isinstance(refusal, click.UsageError):
        return f"{message}\n"
    if isinstance(refusal, click.NoSuchOption):
        message = f"there is no option {refusal.option_name}"
        near = difflib.get_close_matches(refusal.option_name, refusal.possibilities or (), n=1)
        if near:
            message += f"; did you mean {near[0]}?"
    called = [program_name(), *(word for word in arguments[:1] if word in VERBS)]
    path = refusal.ctx.command_path if refusal.ctx else " ".join(called)
    return f"{path}: {message}\n'{path} --help' shows what it takes.\n"
