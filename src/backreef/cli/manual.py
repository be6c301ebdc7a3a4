"""The manual of all commands, made from the commands themselves.

Written anew with `python -m backreef.cli.manual > docs/commands.md`.
"""

from __future__ import annotations

import inspect
import sys
from collections.abc import Iterator

import click

from backreef.cli.app import VERBS, backreef

_HEAD = """\
# Commands

Made from the commands themselves (`python -m backreef.cli.manual > docs/commands.md`).

From a clone each is `python3 go.py VERB ...`, installed it is `backreef VERB ...`. `--help` after a verb
shows the same in the terminal.

| exit code | means |
| --- | --- |
| 0 | the plan holds, or the work is done |
| 1 | the plan breaks |
| 2 | what was given has faults: the plan, an option, a file that cannot be written |
| 3 | backreef itself failed; a line says where the details are |
| 130 | interrupted with Ctrl-C |

Answers go to standard output, everything else to standard error. With `--json -` nothing but the document
stands on standard output, in UTF-8. Colour is used in a terminal only, and never where `NO_COLOR` is set. A
reader who leaves early (`| head`) changes neither files nor the exit code.

| variable | does |
| --- | --- |
| `NO_COLOR` | no colour |
| `BACKREEF_DEBUG=1` | shows the traceback where backreef itself fails |
| `BACKREEF_LOG` | place of the log, as `--store` |
| `BACKREEF_WHO` | who writes into the log, as `--who` |
| `BACKREEF_CACHE` | folder for the compiled engine and calendars, otherwise the user's cache folder |
"""


def commands_markdown() -> str:
    """The whole manual in Markdown."""
    context = click.Context(backreef, info_name="backreef", **backreef.context_settings)
    parts = [_HEAD]
    for verb in VERBS:
        command = backreef.get_command(context, verb)
        if command is not None:
            parts.append("\n".join(_command(click.Context(command, info_name=verb, parent=context))))
    return "\n".join(parts)


def _command(context: click.Context, level: int = 2) -> Iterator[str]:
    command = context.command
    yield f"{'#' * level} {context.info_name}"
    yield ""
    yield f"    {context.command_path} {' '.join(command.collect_usage_pieces(context))}"
    yield ""
    yield inspect.cleandoc(command.help or "")
    yield ""
    if isinstance(command, click.Group):
        for name in command.list_commands(context):
            below = command.get_command(context, name)
            if below is not None:
                yield from _command(click.Context(below, info_name=name, parent=context), level + 1)
        return
    options = [param for param in command.get_params(context) if isinstance(param, click.Option)]
    rows = [row for option in options if (row := option.get_help_record(context))]
    yield "| option | does |"
    yield "| --- | --- |"
    for written, words in rows:
        yield f"| `{_cell(written)}` | {_cell(words)} |"
    yield ""


def _cell(words: str) -> str:
    return " ".join(words.split()).replace("|", "\\|")


if __name__ == "__main__":
    sys.stdout.write(commands_markdown())
