from tests.house.repository import complaints_of

CHECKED = ("src", "tests", "bench", "go.py")


def test_it_passes_the_linter() -> None:
    complaints = complaints_of("ruff", "check", "--no-fix", "--output-format=concise", *CHECKED)
    assert not complaints, complaints


def test_it_is_formatted() -> None:
    complaints = complaints_of("ruff", "format", "--check", "--output-format=concise", *CHECKED)
    assert not complaints, complaints
