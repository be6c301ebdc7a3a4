"""Whatever a plan file says comes back when the plan is written and read again."""

from __future__ import annotations

import string
from datetime import date, timedelta
from functools import cache

import hypothesis.strategies as st
from hypothesis import given

from backreef.aquarium.document import parse
from backreef.aquarium.dump import dump_plan
from backreef.aquarium.load import load_plan_text
from backreef.aquarium.places import find_lines
from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue, known
from backreef.catalogue.load import load_catalogue
from backreef.errors import Fault, InputFaults
from tests.searching import tries

START = date(2027, 1, 4)
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@cache
def catalogue() -> Catalogue:
    return load_catalogue()


def number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


def quantity(low: float, high: float, *units: str) -> st.SearchStrategy[str]:
    """Quoted quantities; bounds hold in each of the units."""
    return st.builds(lambda value, unit: f'"{value!r} {unit}"', number(low, high), st.sampled_from(units))


def text() -> st.SearchStrategy[str]:
    letters = st.characters(codec="utf-8", exclude_categories=["Cs"])
    return st.text(letters, max_size=30).map(quoted)


def quoted(words: str) -> str:
    signs = {'"': '\\"', "\\": "\\\\"}
    return '"' + "".join(signs.get(c, c if c.isprintable() else f"\\U{ord(c):08x}") for c in words) + '"'


def names() -> st.SearchStrategy[str]:
    return st.text(string.ascii_lowercase, min_size=3, max_size=8)


def hours() -> st.SearchStrategy[str]:
    return st.builds(lambda h, m: f'"{h:02d}:{m:02d}"', st.integers(0, 23), st.integers(0, 59))


def lines(**keys: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    """Any selection of the keys, each with a value."""
    return st.fixed_dictionaries({}, optional=keys).map(
        lambda found: "".join(
            f"{value if key == 'much' else f'{key} = {value}'}\n" for key, value in found.items()
        )
    )


def days() -> st.SearchStrategy[str]:
    return st.sets(st.sampled_from(WEEKDAYS), min_size=1).map(lambda found: ", ".join(sorted(found)))


def dates() -> st.SearchStrategy[str]:
    return st.integers(0, 300).map(lambda step: (START + timedelta(days=step)).isoformat())


TANK = lines(
    name=text().filter(lambda words: words != '""'),
    sump=quantity(0, 50, "L", "gal US"),
    rock=quantity(1, 40, "kg", "lb"),
    refugium=quantity(0, 40, "L"),
    glass_area=quantity(0.1, 9, "m2"),
    viewing_glass=quantity(0.2, 4, "m2", "ft2"),
    surface_area=quantity(0.1, 4, "m2"),
    light_ramp=quantity(0, 90, "min"),
    room_temperature=quantity(50, 90, "degF"),
    room_temperature_swing=quantity(0, 9, "degF", "degC"),
    turnover=quantity(0, 80, "/h"),
    sand_area=quantity(0, 0.09, "m2", "ft2"),
    sand_depth=quantity(0, 10, "cm"),
    lid=st.sampled_from(['"open"', '"mesh"', '"glass"']),
    corals=st.sampled_from(['"none"', '"soft"', '"lps"', '"sps"', '"mixed"']),
    light_par=quantity(0, 400, "umol/m2/s"),
    light_hours=quantity(0, 20, "h"),
    light_on_at=hours(),
    temperature=quantity(62, 85, "degF"),
    salinity=quantity(30, 38, "psu", "ppt"),
    evaporation=quantity(0, 3, "%/day"),
    coral_cover=quantity(0, 90, "%"),
    water_volume=quantity(100, 900, "L"),
)
START_STATE = lines(
    kind=st.sampled_from(['"dry_rock"', '"live_rock"', '"seeded"', '"established"']),
    age=quantity(0, 40, "months"),
    nitrate=quantity(0, 60, "mg/L NO3", "mg/L NO3-N"),
    phosphate=quantity(0, 1, "mg/L PO4", "umol/L"),
    alkalinity=quantity(5, 12, "dKH"),
    ph=number(7, 9).map(repr),
)
CLOSED = st.lists(
    st.sampled_from(
        [
            '{ country = "GB", region = "ENG" }',
            '{ weekday = "Sunday", label = "shut" }',
            '{ every_year = "23 Dec to 2 Jan" }',
            "{ first = 2027-03-01, last = 2027-03-05 }",
        ]
    ),
    max_size=3,
).map(lambda rules: f"[{', '.join(rules)}]")
PRESENCE = st.lists(
    st.builds(lambda d, h: f'"{d} {h:02d}:15-{h + 3:02d}:30"', days(), st.integers(0, 20)), max_size=3
).map(lambda windows: f"[{', '.join(windows)}]")
REFUSED = "feed_frozen"
"""A keeper who refuses a task does not plan it."""
KEEPER = lines(
    name=text().filter(lambda words: words != '""'),
    minutes_per_month=quantity(10, 900, "min"),
    presence=PRESENCE,
    closed=CLOSED,
    stops_after=st.just('{ test_quick = "12 months" }'),
    money=number(0, 900).map(repr),
    prices=st.just("{ neon_goby = 18, refugium = 60.5 }"),
    wishes=st.builds(
        lambda words, weight: f"[{{ text = {words}, weight = {weight!r} }}]", text(), number(0.1, 9)
    ),
    refuses=st.just(f'["{REFUSED}"]'),
    helpers=st.builds(
        lambda found, more: f'[{{ name = "neighbour", days = "{found}", {more} }}]',
        days(),
        st.sampled_from(['tasks = ["ato_refill"]', "when_closed = true", 'minutes_per_visit = "10 min"']),
    ),
)


@st.composite
def animals(draw: st.DrawFn) -> str:
    species = draw(st.sampled_from(sorted(catalogue().species)))
    more = draw(
        lines(
            count=st.integers(1, 20).map(str),
            length=quantity(1, 10, "cm", "in"),
            arrives_on=dates(),
            sex=st.sampled_from(['"male"', '"female"', '"young"']),
            gate=st.sampled_from(['"nitrate < 20 mg/L NO3 and film algae visible"', '"the goby eats"']),
            why=text(),
        )
    )
    return f'[[animals]]\nspecies = "{species}"\n{more}'


@st.composite
def meals(draw: st.DrawFn) -> str:
    food = draw(st.sampled_from(sorted(catalogue().foods)))
    much = draw(st.one_of(quantity(0.01, 5, "g").map("amount = {}".format), st.just('enough_for = "growth"')))
    more = draw(
        lines(
            times=st.lists(hours(), min_size=1, max_size=4).map(lambda found: f"[{', '.join(found)}]"),
            days=st.one_of(st.just('"when present"'), days().map('"{}"'.format)),
            by=st.sampled_from(['"hand"', '"feeder"']),
            pump_pause=quantity(0, 30, "min"),
        )
    )
    return f'[[meals]]\nfood = "{food}"\n{much}\n{more}'


@st.composite
def upkeep(draw: st.DrawFn) -> str:
    tasks = catalogue().tasks.items()
    usual = sorted(key for key, task in tasks if known(task.every_days) is not None and key != REFUSED)
    more = draw(
        lines(
            every=st.sampled_from(['"14 days"', '"Thursday"', '"2 weeks on Tue, Fri"', '"last Friday"']),
            much=st.one_of(
                quantity(0, 100, "%").map("share = {}".format),
                quantity(1, 90, "g", "L").map("amount = {}".format),
            ),
            when=st.just('"phosphate > 0.1 mg/L PO4 at the last test"'),
            minutes=quantity(1, 90, "min"),
            at=hours(),
        )
    )
    return f'[[upkeep]]\ntask = "{draw(st.sampled_from(usual))}"\n{more}'


@st.composite
def devices(draw: st.DrawFn) -> str:
    kind = draw(st.sampled_from(sorted(catalogue().devices)))
    more = draw(
        lines(
            count=st.integers(1, 5).map(str),
            on_at=hours(),
            hours=quantity(0, 24, "h"),
            cells=st.integers(1, 30).map(str),
            area=quantity(1, 900, "cm2"),
            reservoir=quantity(1, 90, "L", "gal UK"),
            plumbed=st.sampled_from(["true", "false"]),
            share_per_day=quantity(0, 5, "%/day"),
            alkalinity_per_day=quantity(0, 1, "dKH/day"),
            dose=quantity(0, 900, "mL/day"),
        )
    )
    return f'[[devices]]\nkind = "{kind}"\n{more}'


@st.composite
def plan_texts(draw: st.DrawFn) -> str:
    display = draw(
        st.sampled_from(['"300 L"', '"120 x 50 x 50 cm"', '{ volume = "80 gal US", length = "1.5 m" }'])
    )
    goals = draw(lines(horizon=quantity(1.5, 4, "years"), optimise=st.just('"most_wishes"')))
    band = draw(lines(act_high=quantity(5, 50, "mg/L NO3"), act_low=quantity(0, 1, "mg/L NO3")))
    return "\n".join(
        [
            f"start_on = {START.isoformat()}\nstory = {draw(text())}",
            f"[tank]\ndisplay = {display}\n{draw(TANK)}",
            f"[tank.start]\n{draw(START_STATE)}",
            f"[keeper]\n{draw(KEEPER)}",
            *draw(st.lists(animals(), max_size=4)),
            *draw(st.lists(meals(), max_size=3)),
            *draw(st.lists(upkeep(), max_size=3)),
            '[[devices]]\nid = "feeder"\nkind = "feeder_auger"\nhopper = "80 g"\n',
            *draw(st.lists(devices(), max_size=3)),
            f"[goals]\n{goals}",
            f"[goals.bands.nitrate]\n{band}",
        ]
    )


def load(text: str) -> Plan:
    return load_plan_text(text, "plan.toml", catalogue())


def refused(text: str) -> tuple[Fault, ...] | None:
    """The faults of a text; None if it is a plan."""
    try:
        load(text)
    except InputFaults as refusal:
        return refusal.faults
    return None


@given(plan_texts())
@tries(150)
def test_it_reads_back_the_plan_it_wrote(written: str) -> None:
    plan = load(written)
    again = load(dump_plan(plan))
    assert again == plan
    assert dump_plan(again) == dump_plan(plan)


@given(plan_texts(), st.data())
@tries(150)
def test_it_knows_the_line_of_every_key(written: str, data: st.DataObject) -> None:
    document = parse(written, "plan.toml")
    found = find_lines(written)
    rows = written.split("\n")
    for section in ("tank", "keeper", "goals"):
        for key in document[section]:
            if (section, key) in found and not isinstance(document[section][key], dict):
                assert rows[found[section, key] - 1].lstrip().startswith(key)
    for number_of, entry in enumerate(document.get("animals", [])):
        key = data.draw(st.sampled_from(sorted(entry)))
        assert rows[found["animals", number_of, key] - 1].startswith(f"{key} = ")


@given(st.text(max_size=200))
@tries(300)
def test_it_answers_any_text_with_faults_and_no_crash(written: str) -> None:
    assert refused(written) != ()


SOMETHING = st.recursive(
    st.one_of(
        st.integers().map(str),
        st.booleans().map(lambda found: str(found).lower()),
        st.sampled_from(
            ["nan", "inf", "-inf", "1e400", "2027-01-04", "2027-01-04T00:00:00Z", "08:30:00", '""']
        ),
        st.text(string.printable, max_size=12).map(quoted),
    ),
    lambda inner: (
        st.lists(inner, max_size=3).map(lambda found: f"[{', '.join(found)}]")
        | inner.map("{{ volume = {} }}".format)
    ),
    max_leaves=4,
)
KEEPER_KEYS = [
    f"keeper.{name}" for name in ("closed", "presence", "helpers", "wishes", "stops_after", "refuses")
]
TANK_KEYS = [f"tank.{name}" for name in ("display", "sump", "start", "start.nitrate", "lid")]
GOAL_KEYS = ["goals", "goals.horizon", "goals.bands", "goals.bands.nitrate"]
SECTIONS = ["start_on", "story", "tank", "keeper", "animals", "meals", "upkeep", "devices"]
KEYS = st.sampled_from([*SECTIONS, *TANK_KEYS, *KEEPER_KEYS, *GOAL_KEYS])


@given(st.dictionaries(KEYS, SOMETHING, max_size=5))
@tries(400)
def test_it_answers_any_value_with_faults_and_no_crash(keys: dict[str, str]) -> None:
    assert refused("".join(f"{key} = {value}\n" for key, value in keys.items())) != ()
