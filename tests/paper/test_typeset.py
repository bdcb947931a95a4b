"""A page from a template and data: same bytes again, text never markup, errors passed on."""

import re

import pypdfium2
import pytest

from groundglow.errors import GroundglowError
from groundglow.paper.typeset import typeset

TEMPLATE = """#import "style.typ": *
#let d = json("data.json")
#show: dressed.with(title: d.title, version: "1", date: (2026, 4, 16))
= Words
#d.words
#grid-table((1fr, auto), ("Name", "Value"), d.rows)
#note[Careful.]
"""
DATA = {"title": "A page", "words": "#pagebreak() *plain* $x$", "rows": [["a", "1"], ["b", "2"]]}


@pytest.fixture
def template(tmp_path):
    path = tmp_path / "page.typ"
    path.write_text(TEMPLATE, encoding="utf-8")
    return path


def test_text_is_set_as_it_is(template):
    document = pypdfium2.PdfDocument(typeset(template, DATA, {}))
    said = re.sub(r"\s+", " ", document[0].get_textpage().get_text_bounded())
    assert len(document) == 1
    assert "#pagebreak() *plain* $x$" in said
    assert "Careful." in said


def test_same_data_gives_the_same_bytes(template):
    assert typeset(template, DATA, {}) == typeset(template, DATA, {})


def test_what_the_typesetter_refuses_is_passed_on(template):
    with pytest.raises(GroundglowError, match=r"(?s)could not be typeset: .*rows"):
        typeset(template, {"title": "x", "words": ""}, {})
