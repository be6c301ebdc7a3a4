from __future__ import annotations

import pytest

from backreef.aquarium.load import load_plan
from backreef.catalogue.entries import Catalogue
from backreef.catalogue.load import load_catalogue
from backreef.logbook.vocabulary import Vocabulary
from backreef.usecases.examples import example_plan


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    return load_catalogue()


@pytest.fixture(scope="session")
def reading_room(catalogue: Catalogue) -> Vocabulary:
    """The words of the reading room: two clownfish, an urchin, ceriths, and what is to come."""
    return Vocabulary(catalogue=catalogue, animals=load_plan(example_plan(), catalogue).animals)


@pytest.fixture(scope="session")
def no_plan(catalogue: Catalogue) -> Vocabulary:
    return Vocabulary(catalogue=catalogue)
