from xml.etree import ElementTree as ET

import pytest

from backreef.plots.markup import Safe, element, joined, number, printable, safe


def test_it_escapes_text_between_tags() -> None:
    assert element("text", "<script>alert('a & b')</script>") == (
        "<text>&lt;script&gt;alert('a &amp; b')&lt;/script&gt;</text>"
    )


def test_it_escapes_quotes_in_attributes() -> None:
    drawn = element("a", href='" onload="x')
    assert 'href="&quot; onload=&quot;x"' in drawn
    assert ET.fromstring(drawn).attrib == {"href": '" onload="x'}


def test_it_leaves_markup_as_it_is_and_says_so_to_templates() -> None:
    inner = element("b", "1 < 2")
    assert element("p", inner) == "<p><b>1 &lt; 2</b></p>"
    assert inner.__html__() == str(inner)
    assert safe(inner) is inner
    assert isinstance(joined([inner, "&"]), Safe)


@pytest.mark.parametrize("odd", ["bell\x07", "\x1b[31mred", "lone \ud800", "turned \u202e round", "\ufffe"])
def test_it_drops_what_no_document_may_hold(odd: str) -> None:
    drawn = element("text", odd, title=odd)
    ET.fromstring(drawn)
    assert printable(odd) == odd.translate({ord(c): None for c in "\x07\x1b\ud800\u202e\ufffe"})


def test_it_writes_names_with_hyphens_and_keeps_the_ones_of_svg() -> None:
    drawn = element(
        "svg", class_="chart", aria_label="x", viewBox="0 0 1 1", hidden=True, lang=None, open=False
    )
    assert drawn == '<svg class="chart" aria-label="x" viewBox="0 0 1 1" hidden></svg>'


def test_it_closes_no_void_element() -> None:
    assert element("meta", charset="utf-8") == '<meta charset="utf-8">'


@pytest.mark.parametrize(
    ("value", "text"),
    [(1.0, "1"), (1.239, "1.24"), (-0.001, "0"), (10.0, "10"), (0.1, "0.1"), (100.0, "100")],
)
def test_it_writes_short_coordinates(value: float, text: str) -> None:
    assert number(value) == text
