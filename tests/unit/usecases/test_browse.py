from __future__ import annotations

import json

import jsonschema
import pytest

from backreef.catalogue.entries import Catalogue, Unknown, Value
from backreef.catalogue.load import load_catalogue
from backreef.usecases.browse import KINDS, Kind, browse_catalogue, kind_of
from backreef.usecases.catalogue_document import catalogue_document, fields_of
from backreef.usecases.catalogue_schema import catalogue_schema
from backreef.usecases.check_catalogue import check_catalogue
from backreef.usecases.documents import document_schema
from tests.cli_world import ROOT

HOW = "write it anew: backreef catalogue --schema > src/backreef/usecases/data/catalogue.schema.json"


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load_catalogue()


@pytest.mark.parametrize(
    ("words", "entry"),
    [
        ("royal_gramma", "royal_gramma"),
        ("Royal Gramma", "royal_gramma"),
        ("Gramma loreto", "royal_gramma"),
        ("g loreto", "royal_gramma"),
        ("yellow tang", "yellow_tang"),
        ("pellet_small", "pellet_small"),
        ("feeder_auger", "feeder_auger"),
        ("wc_do", "wc_do"),
        ("royal grama", "royal_gramma"),
    ],
)
def test_a_name_finds_its_entry(catalogue: Catalogue, words: str, entry: str) -> None:
    found = browse_catalogue(words, catalogue=catalogue)
    assert found.entry is not None
    assert found.entry.id == entry


@pytest.mark.parametrize(
    ("words", "kind", "within", "without"),
    [
        ("tang", "species", {"yellow_tang", "kole_tang", "regal_blue_tang"}, {"royal_gramma"}),
        ("zebrasoma", None, {"yellow_tang", "sailfin_tang"}, {"kole_tang"}),
        ("snail", "species", {"trochus", "nerite"}, {"yellow_tang"}),
        ("screw feeder", None, {"feeder_auger"}, {"feeder_disc"}),
        ("frozen mysid", None, {"fz_mysid"}, {"flake"}),
    ],
)
def test_words_list_what_they_are_about(
    catalogue: Catalogue, words: str, kind: Kind | None, within: set[str], without: set[str]
) -> None:
    ids = {entry.id for entry in browse_catalogue(words, kind, catalogue).matches}
    assert within <= ids
    assert not without & ids


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_alone_lists_its_shelf(catalogue: Catalogue, kind: Kind) -> None:
    found = browse_catalogue("", kind, catalogue)
    assert {entry.id for entry in found.matches} == set(getattr(catalogue, kind))
    assert {kind_of(entry) for entry in found.matches} == {kind}


def test_every_entry_is_found_by_its_id(catalogue: Catalogue) -> None:
    for entry in browse_catalogue("", None, catalogue).matches:
        assert entry in browse_catalogue(entry.id, kind_of(entry), catalogue).matches


def test_nonsense_finds_nothing(catalogue: Catalogue) -> None:
    found = browse_catalogue("xyzzy plugh", None, catalogue)
    assert (found.entry, found.matches, found.near) == (None, (), ())


def test_the_document_holds_what_the_catalogue_holds(catalogue: Catalogue) -> None:
    everything = browse_catalogue("", None, catalogue).matches
    document = json.loads(json.dumps(catalogue_document(everything, catalogue), allow_nan=False))
    jsonschema.validate(document, document_schema("catalogue"))
    assert {entry["id"] for entry in document["species"]} == set(catalogue.species)
    assert len(document["guilds"]) == len({animal.guild for animal in catalogue.species.values()})
    number = catalogue.species["royal_gramma"].adult_length_cm
    assert isinstance(number, Value)
    (told,) = (e["adult_length_cm"] for e in document["species"] if e["id"] == "royal_gramma")
    assert (told["value"], told["unit"], told["status"]) == (number.value, "cm", number.status)


def test_the_document_says_unknown_with_a_reason(catalogue: Catalogue) -> None:
    animal = catalogue.species["royal_gramma"]
    assert isinstance(animal.coral_area_cm2_per_unit, Unknown)
    told = fields_of(animal)["coral_area_cm2_per_unit"]
    assert told == {"unknown": animal.coral_area_cm2_per_unit.reason}


def test_every_source_that_the_document_cites_is_in_it(catalogue: Catalogue) -> None:
    animal = catalogue.species["yellow_tang"]
    document = catalogue_document([animal], catalogue)
    cited = {
        key.strip()
        for v in document["species"][0].values()
        if isinstance(v, dict) and "source" in v
        for key in v["source"].split(";")
    }
    assert cited
    assert cited <= set(document["sources"])


def test_the_schema_in_the_repository_is_that_of_the_entries() -> None:
    schema = catalogue_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    assert document_schema("catalogue") == schema, HOW


@pytest.mark.parametrize(
    "change",
    [{"schema": "backreef.catalogue/2"}, {"species": [{"id": "x"}]}, {"more": []}, {"sources": {"a": {}}}],
    ids=str,
)
def test_the_schema_refuses_other_documents(catalogue: Catalogue, change: dict[str, object]) -> None:
    document = catalogue_document([catalogue.species["yellow_tang"]], catalogue) | change
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(document, catalogue_schema())


def test_a_check_counts_what_it_looked_at(catalogue: Catalogue) -> None:
    result = check_catalogue()
    assert result.faults == ()
    assert result.counts["species"] == len(catalogue.species)
    assert result.values > 3000


def test_a_check_of_own_entries_tells_their_faults() -> None:
    result = check_catalogue(ROOT / "tests" / "data" / "bad_catalogue" / "laws")
    assert result.faults
    assert all("bad_catalogue" in fault.file for fault in result.faults)
    assert result.counts == {}
