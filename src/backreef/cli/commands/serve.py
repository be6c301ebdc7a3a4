"""`backreef serve`: the keeper's whole day in a browser."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from backreef.cli.app import OK
from backreef.cli.options import store_option
from backreef.cli.terminal import Terminal
from backreef.usecases.forecast import MEMBERS

if TYPE_CHECKING:
    from backreef.web.place import Place

PORT = 8717


@click.command()
@click.argument("folder", default=".", metavar="[FOLDER]")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=PORT,
    show_default=True,
    help="Where to listen; 0 for any free port.",
)
@store_option("The log, if it is not backreef-log.sqlite3 in the folder.")
@click.option("--lan", is_flag=True, help="Let other machines of this network in, with a password.")
@click.option(
    "--host",
    "hosts",
    multiple=True,
    metavar="NAME",
    help="A name under which it is reached with --lan; may be repeated.",
)
@click.option(
    "--behind-tls", is_flag=True, help="A proxy on this machine speaks TLS and sets X-Forwarded-Proto."
)
@click.option(
    "--members",
    type=click.IntRange(1),
    default=MEMBERS,
    show_default=True,
    metavar="N",
    help="Runs of each forecast.",
)
@click.option(
    "--workers",
    type=click.IntRange(1),
    default=1,
    show_default=True,
    metavar="N",
    help="How many pieces of long work are done at a time.",
)
@click.option(
    "--tables",
    envvar="BACKREEF_TABLES",
    default="",
    metavar="ADDRESS",
    help="A PostgreSQL server for the page's own tables, in place of a file in the folder.",
)
@click.pass_obj
def serve(
    terminal: Terminal, /, folder: str, *, port: int, lan: bool, hosts: tuple[str, ...], **wanted: object
) -> int:
    """Open the plans of a folder in a browser: forecasts, plans, the log, days away.

    Prints an address that lets you in, once; nobody else on this machine or elsewhere gets in without it.
    With --lan other machines of the network may come, with a password that is asked for first. Run it again
    in the same folder, while it serves, for another such address. Nothing is sent to any other host.
    """
    root = Path(folder)
    if not root.is_dir():
        raise click.UsageError(
            f"{folder} is no folder; name the one with your plans", click.get_current_context()
        )
    from backreef.usecases.log_desk import STORE_NAME
    from backreef.web import bootstrap, serving
    from backreef.web.place import Place

    place = Place(
        folder=root.resolve(),
        log=str(wanted["store"] or root.resolve() / STORE_NAME),
        tables=str(wanted["tables"]),
    )
    doors = bootstrap.Doors(
        hosts=(*bootstrap.LOCAL_HOSTS, *(_names() if lan else ()), *hosts),
        behind_tls=bool(wanted["behind_tls"]),
        members=int(str(wanted["members"])),
        workers=int(str(wanted["workers"])),
    )
    with _told(), bootstrap.hindered(place):
        place.prepare()
        lock = serving.OnlyOne(place)
        other = lock.taken_on()
        if other is None:
            serving.get_ready()
        bootstrap.prepare(place, doors)
        from backreef.web import access  # it knows the tables, which are there only now

        address = "" if other is None else serving.sign_in_address(other)
        asks = other is None and (lan or doors.behind_tls) and not access.has_password()
    if other is not None:
        terminal.say(f"This folder is being served already. Open\n\n    {address}\n\n")
        return OK
    behind = doors.behind_tls
    if asks:
        _ask_for_password(terminal)
    host = serving.EVERYWHERE if lan and not behind else serving.LOOPBACK
    try:
        with _told(), bootstrap.hindered(place):
            served = serving.Served(place, doors, host=host, port=port)
            lock.say(served.port)
            address = serving.sign_in_address(served.port)
    except serving.PortTaken as refusal:
        raise click.UsageError(str(refusal), click.get_current_context()) from None
    _tell(terminal, place, address, lan=lan, tls=behind)
    served.run()
    terminal.tell("Stopped.\n")
    return OK


@contextmanager
def _told() -> Iterator[None]:
    """Refuse in plain words what the folder does not allow."""
    from backreef.logbook.store import StoreTrouble
    from backreef.web.bootstrap import CannotServe

    try:
        yield
    except (CannotServe, StoreTrouble) as refusal:
        raise click.UsageError(str(refusal), click.get_current_context()) from refusal


def _tell(terminal: Terminal, place: Place, address: str, *, lan: bool, tls: bool) -> None:
    words = f"Serving {place.folder}. Open this address; it works once, for ten minutes:\n\n"
    terminal.say(f"{words}    {address}\n\nCtrl-C stops it.\n")
    if lan and not tls:
        terminal.tell(
            "Other machines reach it too, and what they send is not encrypted: only in a network that you "
            "trust, or put a proxy with TLS before it and say --behind-tls.\n"
        )


def _ask_for_password(terminal: Terminal) -> None:
    from backreef.web import access

    if sys.stdin is None or not sys.stdin.isatty():
        words = "--lan needs a password first; run it once in a terminal and choose one"
        raise click.UsageError(words, click.get_current_context())
    while True:
        password = click.prompt("A password for other machines", hide_input=True, confirmation_prompt=True)
        try:
            access.choose_password(password)
        except ValueError as refusal:
            terminal.tell(f"{refusal}\n")
            continue
        return


def _names() -> tuple[str, ...]:
    """What this machine is called in its network, and its addresses there."""
    import socket

    name = socket.gethostname()
    try:
        found = {str(one[4][0]) for one in socket.getaddrinfo(name, None, socket.AF_INET)}
    except OSError:
        found = set()
    return (name, f"{name}.local", *sorted(found))
