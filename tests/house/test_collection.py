import pytest

from tests.house.repository import ROOT, functions, place, python_files

HELD_BY_A_FOLDER = ("unit", "reference", "property", "e2e", "browser", "house", "phenomena")


def test_every_test_stands_in_a_file_that_pytest_collects() -> None:
    lost = [
        place(path, function.lineno)
        for path in python_files("tests/")
        if not path.name.startswith("test_")
        for function in functions(path)
        if function.name.startswith("test_")
    ]
    assert lost == []


def test_every_test_file_stands_in_a_folder_with_a_purpose(pytestconfig: pytest.Config) -> None:
    paths = [path.relative_to(ROOT / "tests") for path in python_files("tests/")]
    tests = [path for path in paths if path.name.startswith("test_")]
    assert [str(path) for path in tests if path.parts[0] not in HELD_BY_A_FOLDER] == []
    marked = {marker.partition(":")[0] for marker in pytestconfig.getini("markers")}
    assert set(HELD_BY_A_FOLDER) <= marked


def test_no_two_test_files_of_a_folder_share_a_module_name() -> None:
    names = [str(path.relative_to(ROOT)) for path in python_files("tests/")]
    assert len(names) == len({name.lower() for name in names})
