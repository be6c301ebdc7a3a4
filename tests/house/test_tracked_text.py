import re

import pytest

from tests.house.repository import ROOT, files

# Written with [brackets] so that no pattern matches itself.
FORBIDDEN = {
    "the host of a package registry": r"py[p]i\.org|pythonhoste[d]\.org|registry\.npmj[s]|npmj[s]\.(com|org)"
    r"|deb\.debia[n]\.org|proxy\.golan[g]|crate[s]\.io",
    "a line that chooses a registry": r"^\s*--(extra-)?inde[x]-url|^\s*--find-link[s]|^\s*-[i] http",
    "a path of one machine": r"(?<![\w.<])/(wor[k]|roo[t]|hom[e]/\w+|User[s]/\w+|tmp/bash_job[s])/",
    "a conflict left in a merge": r"^(<{7}|>{7}) ",
}


def texts() -> dict[str, str]:
    """Every text file of the repository."""
    found = {}
    for name in files():
        content = (ROOT / name).read_bytes()
        if b"\0" not in content[:8000]:
            found[name] = content.decode("utf-8")
    return found


@pytest.mark.parametrize("what", FORBIDDEN)
def test_no_file_holds(what: str) -> None:
    pattern = re.compile(FORBIDDEN[what], re.MULTILINE | re.IGNORECASE)
    found = [
        f"{name}:{text.count(chr(10), 0, match.start()) + 1}: {match.group()}"
        for name, text in texts().items()
        for match in pattern.finditer(text)
    ]
    assert found == []


@pytest.mark.parametrize(
    ("what", "text"),
    [
        ("the host of a package registry", "https://py" + "pi.org/simple"),
        ("a line that chooses a registry", "--index" + "-url https://example.org"),
        ("a path of one machine", "see /wor" + "k/main/go.py"),
        ("a path of one machine", "/hom" + "e/somebody/reef.toml"),
        ("a conflict left in a merge", "<" * 7 + " HEAD"),
    ],
)
def test_it_notices(what: str, text: str) -> None:
    assert re.search(FORBIDDEN[what], text, re.MULTILINE)


def test_no_lock_that_names_registries_is_kept() -> None:
    assert [name for name in files() if name.endswith(("uv.lock", "poetry.lock", "Pipfile.lock"))] == []


def test_every_text_ends_its_last_line() -> None:
    assert [name for name, text in texts().items() if text and not text.endswith("\n")] == []


def test_no_text_has_the_line_ends_of_another_system() -> None:
    assert [name for name, text in texts().items() if "\r" in text] == []
