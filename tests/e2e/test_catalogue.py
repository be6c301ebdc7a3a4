from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from backreef.usecases.documents import document_schema
from tests.cli_world import ROOT
from tests.e2e.conftest import Run

BAD_CATALOGUE = ROOT / "tests" / "data" / "bad_catalogue"


def test_it_says_what_there_is(run: Run) -> None:
    done = run("catalogue")
    assert done.code == 0, done.err
    assert " animals" in done.out
    assert "backreef catalogue royal gramma" in done.out


def test_it_shows_an_animal_as_a_page(run: Run) -> None:
    done = run("catalogue", "royal", "gramma")
    assert done.code == 0
    assert done.out.startswith("Royal gramma\nGramma loreto;")
    for part in ("Its day", "Its year", "What it does for you", "What it costs you", "Whom it troubles"):
        assert f"\n{part}\n" in done.out
    for part in ("Who troubles it", "How sure we are", "On whose word"):
        assert f"\n{part}\n" in done.out
    assert "minutes a month" in done.out
    assert max(len(line) for line in done.out.splitlines()) <= 80


@pytest.mark.parametrize("name", ["pellet_small", "feeder_auger", "wc_do"])
def test_it_shows_things_as_pages_too(run: Run, name: str) -> None:
    done = run("catalogue", name)
    assert done.code == 0
    assert f"in plans: {name}" in done.out
    assert "What it costs you" in done.out


def test_it_lists_what_words_are_about(run: Run) -> None:
    done = run("catalogue", "zebrasoma")
    assert done.code == 0
    assert "yellow_tang" in done.out
    assert "royal_gramma" not in done.out


def test_it_lists_a_whole_shelf(run: Run) -> None:
    done = run("catalogue", "--kind", "foods")
    assert done.out.startswith("Foods (")
    assert "pellet_small" in done.out


def test_a_misspelt_name_finds_the_animal_and_says_so(run: Run) -> None:
    done = run("catalogue", "royal grama")
    assert done.code == 0
    assert done.out.startswith("Royal gramma\n")
    assert "comes near: Royal gramma" in " ".join(done.err.split())


def test_it_ends_with_2_where_nothing_is_found(run: Run) -> None:
    done = run("catalogue", "xyzzy")
    assert (done.code, done.out) == (2, "")
    assert "Nothing in the catalogue" in done.err


def test_everything_as_json_fits_the_schema(run: Run) -> None:
    done = run("catalogue", "--json", "-")
    assert (done.code, done.err) == (0, "")
    document = json.loads(done.out)
    jsonschema.validate(document, document_schema("catalogue"))
    assert len(document["species"]) >= 60
    assert len(document["foods"]) >= 25
    assert len(document["devices"]) >= 12
    assert len(document["tasks"]) >= 30


def test_one_entry_as_json_brings_its_guild_and_sources(run: Run, folder: Path) -> None:
    done = run("catalogue", "royal gramma", "--json", "gramma.json")
    assert (done.code, done.out) == (0, "")
    document = json.loads((folder / "gramma.json").read_text(encoding="utf-8"))
    jsonschema.validate(document, document_schema("catalogue"))
    (animal,) = document["species"]
    assert animal["id"] == "royal_gramma"
    assert [guild["id"] for guild in document["guilds"]] == [animal["guild"]]
    assert animal["adult_length_cm"]["source"] in document["sources"]


def test_its_schema_is_printed(run: Run) -> None:
    done = run("catalogue", "--schema")
    assert done.code == 0
    assert json.loads(done.out) == document_schema("catalogue")


def test_the_catalogue_that_ships_has_no_faults(run: Run) -> None:
    done = run("catalogue", "check")
    assert done.code == 0, done.err
    assert done.out.startswith("No faults: ")


def test_own_entries_are_checked_with_all_their_faults(run: Run) -> None:
    done = run("catalogue", "check", BAD_CATALOGUE / "numbers")
    assert (done.code, done.out) == (2, "")
    assert "my_gramma.toml:20: max_days_unfed" in done.err
    assert "faults in 2 files." in done.err


def test_a_folder_that_is_not_there_is_a_fault(run: Run, folder: Path) -> None:
    done = run("catalogue", "check", "nowhere")
    assert done.code == 2
    assert done.err.startswith("nowhere: is no directory")


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A folder of own entries: a gramma that the catalogue does not have."""
    shelf = ROOT / "src" / "backreef" / "catalogue" / "data" / "species"
    text = (shelf / "royal_gramma.toml").read_text(encoding="utf-8")
    text = text.replace('id = "royal_gramma"', 'id = "my_gramma"').replace("Royal gramma", "My gramma")
    (tmp_path / "mine" / "species").mkdir(parents=True)
    (tmp_path / "mine" / "species" / "my_gramma.toml").write_text(text, encoding="utf-8")
    return tmp_path


PLAN = (
    'start_on = 2027-01-04\n{}[tank]\ndisplay = "300 L"\nname = "Pond"\n[[animals]]\nspecies = "my_gramma"\n'
)


def test_a_plan_reads_the_keepers_own_entries_and_the_check_says_so(run: Run, own: Path) -> None:
    plan = own / "plan.toml"
    plan.write_text(PLAN.format('catalogue = "mine"\n'), encoding="utf-8")
    done = run("check", str(plan))
    assert done.code == 0, done.err
    assert "from your own catalogue: species/my_gramma" in " ".join(done.out.split())
    plan.write_text(PLAN.format(""), encoding="utf-8")
    assert run("check", str(plan)).code == 2
    assert run("check", str(plan), "--catalogue", str(own / "mine")).code == 0
    assert "is no directory" in run("check", str(plan), "--catalogue", str(own / "none")).err


def test_an_own_entry_has_a_page_that_says_whose_it_is(run: Run, own: Path) -> None:
    done = run("catalogue", "my", "gramma", "--catalogue", str(own / "mine"))
    assert done.out.startswith("My gramma\n")
    assert "your own catalogue" in " ".join(done.out.split())
    assert "your own catalogue" not in run("catalogue", "royal", "gramma").out


def test_an_animal_is_shown_beside_a_plan(run: Run) -> None:
    plan = ROOT / "examples" / "family_first_reef.toml"
    done = run("catalogue", "yellow", "tang", "--plan", str(plan))
    assert done.code == 0, done.err
    told = " ".join(done.out.split())
    assert "In Living-room reef" in told
    assert "outgrows this tank" in told
    assert "of 100 live through the first year" in told


def test_members_of_a_group_are_not_called_its_old_names(run: Run) -> None:
    title = " ".join(run("catalogue", "euphyllia").out.split("\n\n")[0].split())
    assert "Euphyllia spp., also Fimbriaphyllia; Indo-Pacific" in title
    assert "once" not in title
