from tests.house.repository import complaints_of


def test_it_passes_the_strict_type_checker() -> None:
    complaints = complaints_of("mypy", "--no-error-summary")
    assert not complaints, complaints
