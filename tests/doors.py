"""Every door through which something comes in that somebody else wrote, for tests that throw things at them.

A door takes bytes and gives what it said of them: nothing where it took them, else a message for each fault.
Whatever else it raises is our own failure.
"""

from __future__ import annotations

import json
import re
import signal
import time
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from types import FrameType

from backreef.aquarium.closures import Span, read_closures
from backreef.aquarium.document import decode
from backreef.aquarium.load import load_plan_text
from backreef.aquarium.phrases import Unreadable
from backreef.catalogue.entries import Catalogue
from backreef.catalogue.load import load_catalogue
from backreef.cli.fault_lines import faults_text
from backreef.company.engine import check_plan
from backreef.errors import Fault, InputFaults
from backreef.judgement.verdict import Forecast
from backreef.logbook.changes import Hand
from backreef.logbook.entries import BadEntry
from backreef.logbook.line import read_line
from backreef.logbook.photographs import NotTaken, take
from backreef.logbook.plain import entry_fields, entry_from
from backreef.logbook.table_read import Layout
from backreef.logbook.vocabulary import Vocabulary
from backreef.reports.text_layout import Style
from backreef.units import UnitError, read_quantity
from backreef.usecases.kept import NotKept, read_kept
from backreef.usecases.log_moments import NoMoment, read_moment
from backreef.usecases.log_table import draft_table
from tests.logbook_world import an_entry

ROOT = Path(__file__).resolve().parents[1]
CATALOGUE = ROOT / "src" / "backreef" / "catalogue" / "data"
LONGEST_S = 2.0
NOW = datetime(2027, 3, 2, 12, 0, tzinfo=UTC)
HAND = Hand(who="librarian", now=NOW)
PLAN = """\
start_on = 2027-01-04
[tank]
name = "Reading room"
display = "300 L"
light_hours = "10 h"
[tank.start]
kind = "live_rock"
nitrate = "5 mg/L NO3"
[keeper]
minutes_per_month = "240 min"
presence = ["Mon-Fri 18:00-22:00"]
closed = [{ weekday = "Sunday" }, { every_year = "23 Dec to 2 Jan" }]
[[animals]]
id = "clowns"
species = "ocellaris_clown"
count = 2
length = "4 cm"
gate = "nitrate < 20 mg/L NO3"
[[meals]]
food = "pellet_small"
amount = "0.2 g"
times = ["12:00"]
[[upkeep]]
task = "wc_do"
share = "10 %"
every = "14 days"
when = "nitrate > 15 mg/L NO3 at the last test"
[[devices]]
kind = "feeder_auger"
hopper = "80 g"
[goals]
horizon = "2 years"
[goals.bands.nitrate]
act_high = "20 mg/L NO3"
"""
CALENDAR = """\
BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//tests//EN
BEGIN:VEVENT
UID:1
DTSTART;VALUE=DATE:20270301
DTEND;VALUE=DATE:20270303
RRULE:FREQ=YEARLY;COUNT=3
EXDATE;VALUE=DATE:20280301
SUMMARY:Stocktaking
END:VEVENT
BEGIN:VEVENT
UID:2
DTSTART:20270405T080000
DURATION:P1DT2H
RRULE:FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,TU;UNTIL=20271231
SUMMARY:Away
END:VEVENT
END:VCALENDAR
"""
TABLE = """\
date,time,NO3 (mg/L),kh,line,note
,,,dKH,,
2027-02-01,18:30,12,8.1,fed double,'=clear water
2.2.2027,,"<5",,water change 10 % 20 min,
"""
LINES = (
    "no3 12 ppm, po4 0.08",
    "fed double and 2 snails died",
    "water change 10 % 20 min; note: clear, at last",
    "added 1 firefish",
    "hair algae 5 %, clownfish not eating",
)
MOMENTS = ("yesterday 18:30", "Tue 8:00", "2 hours ago", "half a day ago", "2027-03-01T18:30+02:00")
QUANTITIES = (
    "66 gal US",
    "12 mg/L NO3",
    "1.5 m",
    "78 degF",
    "0.4 g",
    "3 %/day",
    "-1e3 L",
    "120 x 50 x 50 cm",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Door:
    """A way in."""

    name: str
    seeds: tuple[bytes, ...]
    """What people send, to begin a search with."""
    words: tuple[str, ...]
    """What such a thing is made of."""
    enter: Callable[[bytes, Path], Sequence[str]]
    """Takes something, with a folder to write in; gives a message for each fault."""


class TooLong(BaseException):
    """Something takes longer than anybody waits; no handler for failures may catch it."""


@contextmanager
def in_time(longest_s: float = LONGEST_S) -> Iterator[None]:
    """Raise `TooLong` after so much time of this process, even within an endless loop."""

    def ring(_number: int, _frame: FrameType | None) -> None:
        raise TooLong(f"longer than {longest_s:g} s")

    before = signal.signal(signal.SIGPROF, ring)
    signal.setitimer(signal.ITIMER_PROF, longest_s, 0.2)  # again, if a library swallowed the first
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)


def ask(door: Door, sent: bytes, folder: Path) -> Sequence[str]:
    """Send something through a door, in time, and look over what it says.

    Raises
    ------
    AssertionError
        If it takes too long, or says something that nobody should be told so.
    """
    began_s = time.process_time()
    try:
        with in_time():
            said = door.enter(sent, folder)
    except TooLong as late:
        raise AssertionError(f"{door.name}: {late}") from late
    assert time.process_time() - began_s < LONGEST_S
    for message in said:
        trouble = trouble_with(message)
        assert not trouble, f"{door.name}: {trouble}: {message!r}"
    assert len(set(said)) == len(said), f"{door.name} says the same twice: {said}"
    return said


_OURS = re.compile(
    r"Traceback|<class |<function | object at 0x|\b[A-Z]\w+(?:Error|Exception)\b|NoneType|\[Errno"
)
TURNS = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
"""Signs that turn the direction of what follows."""
_LEAST_LETTERS = 12
_MOST_LETTERS = 1500


def trouble_with(message: str) -> str:
    """What a message does that none should do; empty where it is well."""
    shown = faults_text([Fault(file="plan.toml", line=None, key="", message=message)], Style(width=80))
    if not len(message.strip()) >= _LEAST_LETTERS:
        return "says next to nothing"
    if len(message) > _MOST_LETTERS:
        return "goes on and on"
    if _OURS.search(message):
        return "speaks of our own parts"
    if any(unicodedata.category(one) in ("Cc", "Cs") or one in TURNS for one in shown.removesuffix("\n")):
        return "carries signs that move a terminal's cursor"
    return ""


def doors() -> dict[str, Door]:
    """Every door that takes bytes."""
    return {door.name: door for door in (*_files(), *_words())}


def _files() -> Iterator[Door]:
    yield Door(
        name="plan",
        seeds=(PLAN.encode(), *(path.read_bytes() for path in sorted((ROOT / "examples").glob("*.toml")))),
        words=(
            "[[animals]]",
            'species = "',
            "start_on",
            "{ first = ",
            '"when present"',
            "enough_for",
            "every",
        ),
        enter=_plan,
    )
    for kind, ident in (("species", "abalone"), ("foods", "nori"), ("devices", "heater"), ("tasks", "wc_do")):
        files = sorted((CATALOGUE / kind).glob("*.toml"))
        named = [path for path in files if path.stem == ident] or files[:1]
        yield Door(
            name=f"own {kind}",
            seeds=(named[0].read_bytes(),),
            words=("value", "low", "high", "source", "status", "unit", "nan", "inf", "1e400"),
            enter=_own(kind, f"{named[0].stem}.toml"),
        )
    yield Door(
        name="calendar",
        seeds=(CALENDAR.encode(),),
        words=(
            "RRULE:FREQ=",
            "SECONDLY",
            "BYDAY",
            "TZID=",
            "EXDATE",
            "BEGIN:",
            "VTIMEZONE",
            "RDATE",
            "DURATION",
        ),
        enter=_calendar,
    )
    yield Door(
        name="table",
        seeds=(TABLE.encode(), TABLE.replace(",", ";").encode()),
        words=("when", "date", "line", "note", "id", "(mg/L)", "'=", "unit", "2027-02-01"),
        enter=_table,
    )
    yield Door(
        name="photograph", seeds=tuple(pictures()), words=("IHDR", "IDAT", "WEBP", "Exif"), enter=_photograph
    )
    yield Door(
        name="kept answer",
        seeds=(b'{"mark": "backreef.kept/1", "kind": "Forecast", "answer": {"holds": true}}',),
        words=('"mark"', "backreef.kept/1", '"form"', '"shape"', '"bytes"'),
        enter=_kept,
    )
    yield Door(
        name="entry of a document",
        seeds=(json.dumps(entry_fields(an_entry())).encode(),),
        words=('"kind"', '"reading"', '"at"', '"value"', '"series"', "1e400"),
        enter=_entry,
    )


def _words() -> Iterator[Door]:
    yield Door(
        name="line",
        seeds=tuple(line.encode() for line in LINES),
        words=("no3", "ppm", "fed", "died", "added", " and ", "note:", "not eating", "water change", "min"),
        enter=_line,
    )
    yield Door(
        name="moment",
        seeds=tuple(text.encode() for text in MOMENTS),
        words=("ago", "yesterday", "Tue", "hours", "2027-", "T", "+14:00", "weeks"),
        enter=_moment,
    )
    yield Door(
        name="quantity",
        seeds=tuple(text.encode() for text in QUANTITIES),
        words=("mg/L", "NO3", "gal", "degF", "%", "1e", " x ", "inf", "nan"),
        enter=_quantity,
    )


@cache
def catalogue() -> Catalogue:
    """The catalogue that ships, read once."""
    return load_catalogue()


@cache
def vocabulary() -> Vocabulary:
    """The words of a log, with the animals of the plan above."""
    return Vocabulary(catalogue=catalogue(), animals=load_plan_text(PLAN, "plan.toml", catalogue()).animals)


def text_of(sent: bytes) -> str:
    """What somebody may type: any letters, also some that no keyboard has."""
    return sent.decode("utf-8", errors="surrogateescape")


def told(refusal: InputFaults) -> list[str]:
    """What is said of each fault."""
    assert refusal.faults, "a refusal without a reason"
    return [str(fault) for fault in refusal.faults]


def _plan(sent: bytes, _folder: Path) -> Sequence[str]:
    try:
        plan = load_plan_text(decode(sent, "plan.toml"), "plan.toml", catalogue())
        check_plan(plan, catalogue())
    except InputFaults as refusal:
        return told(refusal)
    return ()


def _own(kind: str, name: str) -> Callable[[bytes, Path], Sequence[str]]:
    def enter(sent: bytes, folder: Path) -> Sequence[str]:
        own = folder / "own"
        (own / kind).mkdir(parents=True, exist_ok=True)
        (own / kind / name).write_bytes(sent)
        try:
            load_catalogue(extra=own)
        except InputFaults as refusal:
            return told(refusal)
        return ()

    return enter


def _calendar(sent: bytes, folder: Path) -> Sequence[str]:
    (folder / "closed.ics").write_bytes(sent)
    span = Span(first_on=date(2027, 1, 4), last_on=date(2030, 1, 3), time_zone="Europe/London")
    try:
        read_closures("closed.ics", plan_file=str(folder / "plan.toml"), span=span)
    except Unreadable as refusal:
        return [str(refusal)]
    return ()


def _table(sent: bytes, folder: Path) -> Sequence[str]:
    path = folder / "log.csv"
    path.write_bytes(sent)
    try:
        draft_table(path, Layout(), tank="Reading room", plan=None, dates=None, hand=HAND)
    except InputFaults as refusal:
        return told(refusal)
    return ()


def _photograph(sent: bytes, folder: Path) -> Sequence[str]:
    path = folder / "picture"
    path.write_bytes(sent)
    try:
        take(path, folder / "photographs")
    except NotTaken as refusal:
        return [str(refusal)]
    return ()


def _kept(sent: bytes, _folder: Path) -> Sequence[str]:
    try:
        read_kept(text_of(sent), Forecast)
    except NotKept as refusal:
        return [str(refusal)]
    return ()


def _entry(sent: bytes, _folder: Path) -> Sequence[str]:
    try:
        document = json.loads(sent)
    except (ValueError, RecursionError):
        return ()
    try:
        if isinstance(document, dict):  # a row of the log holds nothing else
            entry_from(document)
    except BadEntry as refusal:
        return [str(refusal)]
    return ()


def _line(sent: bytes, _folder: Path) -> Sequence[str]:
    try:
        read_line(text_of(sent), vocabulary())
    except InputFaults as refusal:
        return told(refusal)
    return ()


def _moment(sent: bytes, _folder: Path) -> Sequence[str]:
    try:
        read_moment(text_of(sent), NOW)
    except NoMoment as refusal:
        return [str(refusal)]
    return ()


def _quantity(sent: bytes, _folder: Path) -> Sequence[str]:
    said = []
    for dimension, token in (("volume", "l"), ("length", "cm"), ("mass", "g"), ("time", "s")):
        try:
            read_quantity(text_of(sent), dimension=dimension, token=token, basis=None)
        except UnitError as refusal:
            said.append(f"{refusal} (as {dimension})")
        else:
            return ()
    return said


def pictures() -> Iterator[bytes]:
    """A small picture in each format that is taken, and one that is not."""
    import io

    from PIL import Image

    for kind in ("PNG", "JPEG", "WEBP", "GIF"):
        out = io.BytesIO()
        Image.new("RGB", (12, 8), (20, 90, 160)).save(out, kind)
        yield out.getvalue()
