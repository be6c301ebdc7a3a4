"""Every address and every form of a served folder, for tests that throw things at them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from functools import cached_property
from html.parser import HTMLParser
from typing import TYPE_CHECKING, Any
from urllib.parse import quote_from_bytes, urlsplit

from django.urls import URLPattern, get_resolver, resolve
from django.urls.exceptions import Resolver404

from backreef.logbook.changes import Hand, Moment, new_entries
from backreef.logbook.entries import Photograph
from backreef.usecases.kept import kept_text
from backreef.usecases.offers import Offer, Offers
from backreef.usecases.plan_desk import digest_of, text_of
from backreef.web import bootstrap
from tests import page_world
from tests.logbook_world import an_entry

if TYPE_CHECKING:
    from django.test import Client

    from backreef.web.place import Place

NOW = datetime(2027, 1, 10, 18, 0, tzinfo=UTC)
SHA256 = "a" * 64
PLAN = f"""\
{page_world.PLAN}
[keeper]
presence = ["Mon-Fri 18:00-22:00"]
closed = [{{ weekday = "Sunday" }}, {{ first = 2027-07-05, last = 2027-07-16 }}]
[[upkeep]]
task = "wc_do"
share = "10 %"
every = "14 days"
[[devices]]
kind = "feeder_auger"
"""


ASKED = (
    "/t/reef/what-if/?skip=0",
    "/t/reef/away/?first=2027-08-02&until=2027-08-06",
    "/t/reef/why/?of=minutes_per_month",
    "/t/reef/plan/add/animals/?thing=firefish",
)
"""Addresses of which parts only come once something was asked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """A form as it stands on a page."""

    action: str
    method: str
    fields: tuple[tuple[str, str], ...]
    """Names with what stands in them, in their order; a name may come again."""
    files: tuple[str, ...]

    @property
    def route(self) -> str:
        """Name of the address that it is sent to."""
        return name_of(self.action)


@dataclass
class _Half:
    action: str
    method: str
    fields: list[tuple[str, str]] = field(default_factory=list)
    files: list[str] = field(default_factory=list)
    others: list[tuple[str, str]] = field(default_factory=list)
    """Addresses to which further buttons send the same fields, and how."""


class _Forms(HTMLParser):
    """Collects the forms of a page; a field outside of any belongs to none."""

    def __init__(self, at: str) -> None:
        super().__init__()
        self._at = at
        self._open: _Half | None = None
        self._area = ""
        self._choices = ""
        self.found: list[Form] = []
        self.links: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {key: value or "" for key, value in attrs}
        self.links += [said[key] for key in ("href", "hx-get") if key in said]
        for key in ("hx-get", "hx-post"):
            if key in said and tag != "form" and self._open is None and said.get("name"):
                method = key.removeprefix("hx-")
                one = Form(action=said[key], method=method, fields=((said["name"], ""),), files=())
                self.found.append(one)
        if tag == "form":
            self._open = _Half(said.get("action") or self._at, said.get("method", "get").lower())
        elif self._open is not None:
            self._field(tag, said)

    def _field(self, tag: str, said: Mapping[str, str]) -> None:
        assert self._open is not None
        name = said.get("name", "")
        if tag == "option" and self._choices:
            self._open.fields.append((self._choices, said.get("value", "")))
        elif tag == "select":
            self._choices = name
        elif tag == "textarea":
            self._area = name
        elif tag == "input" and said.get("type") == "file":
            self._open.files.append(name)
        elif "formaction" in said:
            self._open.others.append((said["formaction"], said.get("formmethod", self._open.method)))
        elif tag in ("input", "button") and name:
            self._open.fields.append((name, said.get("value", "")))

    def handle_data(self, data: str) -> None:
        if self._area and self._open is not None:
            self._open.fields.append((self._area, data))
            self._area = ""

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea" and self._area and self._open is not None:
            self._open.fields.append((self._area, ""))
        if tag == "select":
            self._choices = ""
        self._area = "" if tag == "textarea" else self._area
        if tag == "form" and self._open is not None:
            half = self._open
            for action, method in ((half.action, half.method), *half.others):
                one = Form(action=action, method=method, fields=tuple(half.fields), files=tuple(half.files))
                self.found.append(one)
            self._open = None


def name_of(address: str) -> str:
    """Name of the route that an address belongs to; empty where there is none."""
    try:
        return str(resolve(urlsplit(address).path, urlconf="backreef.web.urls").url_name)
    except Resolver404:
        return ""


@dataclass
class World:
    """A folder that is served, with something behind every address."""

    place: Place
    client: Client
    known: dict[str, str]
    """Part of a path by 'route.part' or 'part' -> one that leads somewhere."""

    def mend(self) -> None:
        """Put the plan back as it was, for what is sent may change it or take it away."""
        for path in self.place.folder.glob("*.toml"):
            if path.name != "reef.toml":
                path.unlink()
        (self.place.folder / "reef.toml").write_text(PLAN, encoding="utf-8")

    @cached_property
    def routes(self) -> dict[str, URLPattern]:
        """Every named address."""
        patterns = get_resolver("backreef.web.urls").url_patterns
        return {str(one.name): one for one in patterns if isinstance(one, URLPattern)}

    def parts(self, name: str) -> list[tuple[str, str]]:
        """The open parts of an address, each with a value that leads somewhere."""
        converters: Mapping[str, Any] = getattr(self.routes[name].pattern, "converters", {})
        return [(key, self.known.get(f"{name}.{key}", self.known.get(key, "x"))) for key in converters]

    def address(self, name: str, values: Mapping[str, bytes]) -> str:
        """An address with anything at all in its open parts."""
        route = str(getattr(self.routes[name].pattern, "_route", ""))
        for key, value in values.items():
            for kind in ("str", "int", "day"):
                route = route.replace(f"<{kind}:{key}>", quote_from_bytes(value))
        return f"/{route}"

    @cached_property
    def forms(self) -> tuple[Form, ...]:
        """Every form, in the order in which a walk over all addresses finds them."""
        found: dict[tuple[object, ...], Form] = {}
        waiting = [self.address(name, {k: v.encode() for k, v in self.parts(name)}) for name in self.routes]
        waiting += ASKED
        seen: set[str] = set()
        while waiting:
            at = waiting.pop(0)
            if at in seen:
                continue
            seen.add(at)
            response = self.client.get(at)
            if response.streaming or "html" not in response.headers.get("Content-Type", ""):
                continue
            page = _Forms(at)
            page.feed(response.content.decode())
            waiting += [one for one in page.links if one.startswith("/t/reef/plan/") and "?" not in one]
            for form in page.found:
                names = tuple(sorted({name for name, _ in form.fields}))
                found.setdefault((form.route, form.method, names, form.files), form)
        return tuple(found.values())


def world_of(place: Place, client: Client) -> World:
    """Something behind every address: a forecast, entries, a photograph, links, people."""
    from backreef.web import access, jobs, people, versions, worker
    from backreef.web import tanks as shelf
    from backreef.web.models import Link

    (place.folder / "reef.toml").write_text(PLAN.replace("300 L", "200 L"), encoding="utf-8")
    tank = shelf.tank_of("reef")
    versions.keep(tank, PLAN, before=digest_of(text_of(tank.path)), who="keeper", why="larger")
    _an_offer(place)
    store = bootstrap.log_store(create=True)
    assert store is not None
    shot = Photograph(sha256=SHA256, media_type="image/png", width_count=1, height_count=1)
    hand = Hand(who="keeper", now=NOW)
    (picture,) = store.add(new_entries([shot], tank="Test tank", moment=Moment(at=NOW), hand=hand))
    store.add([an_entry(tank="Test tank", at=NOW)])
    job = shelf.ask_for_forecast(tank)
    begun = jobs.begin(job.pk)
    assert begun is not None
    worker.work(begun)
    jobs.ask(jobs.REHEARSAL, "reef", digest="", asked={})
    carer, invitation = people.let_in("carer", "carer", "reef")
    access.choose_password("a long word of tests", carer)
    says: dict[str, Any] = {"first_on": "2027-08-02", "until_on": "2027-08-06", "sitter_weekdays": []}
    life = timedelta(days=20_000)
    sheet, _ = access.make_link(Link.SHEET, stem="reef", says=says, life=life)
    feed, _ = access.make_link(Link.FEED, stem="reef", life=None)
    return World(
        place=place,
        client=client,
        known={
            "stem": "reef",
            "job.pk": str(job.pk),
            "year": "2027",
            "month": "1",
            "on": date(2027, 2, 1).isoformat(),
            "part": "water",
            "plan-part.name": "tank",
            "section": "animals",
            "number": "0",
            "log-entry.ident": picture.id,
            "sha256": SHA256,
            "kind": "species",
            "ident": "ocellaris_clown",
            "invitation.secret": invitation,
            "sitter.secret": sheet,
            "feed.secret": feed,
            "sign-in-link.secret": "x",
        },
    )


def _an_offer(place: Place) -> None:
    """A search for plans that has ended with one."""
    from backreef.web.models import Job

    job = Job.objects.create(kind="propose", stem="reef", digest=digest_of(PLAN), state=Job.DONE, asked={})
    offer = Offer(
        aim="most_wishes",
        title="Most of the wishes",
        text=PLAN.replace("count = 2", "count = 4"),
        verdict="holds in 63 of 64 members",
        reasons=("4 April 2027: 4 clowns",),
        differences=("animals clowns: count: 2 in the plan as it is, 4 in this one",),
    )
    found = Offers(
        status="found",
        words="One plan holds.",
        plans=(offer,),
        outcomes="",
        wishes=("a shoal: met",),
        conflicts=(),
        as_it_is="",
        tried=(),
        left_out=(),
    )
    (place.results / job.file_name).write_text(kept_text(found), encoding="utf-8")


def told_in(context: Any) -> Iterator[str]:
    """What a page says went wrong."""
    for key in ("faults", "reasons", "others", "elsewhere"):
        for one in (context or {}).get(key, ()) or ():
            yield str(getattr(one, "message", one))
    for one in (context or {}).get("messages", ()) or ():
        yield str(one)
