import json
from pathlib import Path

import jsonschema
import pytest

from backreef.catalogue.coverage import coverage_page
from backreef.catalogue.load import load_catalogue
from backreef.catalogue.schema import KINDS, json_schema

DOCS = Path(__file__).parents[3] / "docs"


def test_the_page_on_coverage_is_up_to_date() -> None:
    # scripts/carry_over/write_coverage.py writes it anew.
    assert (DOCS / "catalogue_coverage.md").read_text(encoding="utf-8") == coverage_page(load_catalogue())


@pytest.mark.parametrize("kind", KINDS)
def test_it_describes_its_files_for_editors(kind: str) -> None:
    schema = json_schema(kind)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["additionalProperties"] is False
    assert json.loads(json.dumps(schema)) == schema


def test_its_description_accepts_what_ships_and_refuses_what_does_not_fit() -> None:
    from backreef.catalogue.files import read_folder
    from backreef.catalogue.tables import DATA

    folder, _ = read_folder(DATA, ("species",))
    from backreef.catalogue.files import parse

    documents, faults = parse(folder)
    assert faults == []
    check = jsonschema.Draft202012Validator(json_schema("species"))
    tang = dict(documents["species/yellow_tang.toml"])
    assert list(check.iter_errors(tang)) == []
    assert list(check.iter_errors(tang | {"jumps": "sometimes"})) != []
