import re

from tests.house.repository import ROOT, files

FRAGMENT = re.compile(r"changelog\.d/[a-z0-9-]+\.(added|changed|fixed|data|removed)\.md")


def test_every_fragment_of_the_changelog_says_what_kind_it_is() -> None:
    fragments = [name for name in files() if name.startswith("changelog.d/") and "README" not in name]
    assert fragments
    assert [name for name in fragments if not FRAGMENT.fullmatch(name)] == []
    assert [name for name in fragments if not (ROOT / name).read_text(encoding="utf-8").strip()] == []
