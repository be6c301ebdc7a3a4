from tests.house.repository import ROOT, python_files

MOST_LINES = 500


def test_it_has_no_module_that_is_too_long_to_read() -> None:
    lengths = {
        str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines())
        for path in python_files("src/", "tests/", "bench/", "go.py")
    }
    assert {name: lines for name, lines in lengths.items() if lines > MOST_LINES} == {}


def test_its_starter_stays_readable_at_a_sitting() -> None:
    assert len((ROOT / "go.py").read_text(encoding="utf-8").splitlines()) <= 250
