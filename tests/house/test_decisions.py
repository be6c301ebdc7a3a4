import re
from collections import Counter

from tests.house.repository import ROOT, files

NAME = re.compile(r"docs/adr/(\d{4})-[a-z0-9-]+\.md")


def decisions() -> dict[str, str]:
    """Number of each decision by its file."""
    return {name: found[1] for name in files() if (found := NAME.fullmatch(name))}


def test_every_decision_has_a_number_of_its_own() -> None:
    assert decisions()
    assert [number for number, times in Counter(decisions().values()).items() if times > 1] == []


def test_every_decision_begins_with_its_number() -> None:
    wrong = [
        name
        for name, number in decisions().items()
        if not (ROOT / name).read_text(encoding="utf-8").startswith(f"# {number}")
    ]
    assert wrong == []
