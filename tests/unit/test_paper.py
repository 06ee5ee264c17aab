"""Pages from templates: data are never markup, signs without a glyph, the same bytes."""

import io

import pypdf
import pytest
from PIL import Image

from build_sheet_jobs import bundle, text_of
from hosewright.documents import paper
from hosewright.errors import DataError
from hosewright.settings import Logo

SVG = b'<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20"><rect width="40" height="20"/></svg>'

TEMPLATE = b"""#import "common.typ": *
#show: sheet
= #common.title
#stop-banner(data.stops)
#caution-box(data.stops)
#fig(data.text)"""


@pytest.fixture
def page(monkeypatch: pytest.MonkeyPatch):
    """Makes a page of a small template that shows a text, and gives back its words."""
    templates = {**paper._templates(), "trial.typ": TEMPLATE}
    monkeypatch.setattr(paper, "_templates", lambda: templates)

    def make(text: str, title: str = "Trial", **settings: object) -> bytes:
        return bundle(**settings).pdf("trial", title, {"text": text, "stops": [text]})

    return make


@pytest.mark.parametrize(
    "text",
    ["#panic()", "$x^2$ and @ref and <label>", "= no heading", "*bold* _slanted_ `raw` \\ // not a note",
     '"quoted" #[x]', "Größe Ø12 № 7 ≥ ½ Ωж", "{name}", "https://orchard.example"],
)  # fmt: skip
def test_a_text_comes_out_as_it_went_in(page, text: str) -> None:
    shown = text_of(page(text, title=text)).replace("\n", " ")
    assert shown.count(text) >= 5  # head, heading, banner, caution and the text itself


@pytest.mark.parametrize(
    ("text", "shown"),
    [("漢字", "??"), ("tab\x07bell", "tab?bell"), ("half \ud800 pair", "half ? pair"), ("😀 hose", "? hose"),
     ("\u202eturned", "?turned")],
)  # fmt: skip
def test_a_sign_without_glyph_becomes_a_question_mark(page, text: str, shown: str) -> None:
    assert text_of(page(text)).count(shown) >= 3


def test_lines_and_combined_signs_do_not_break_a_page(page) -> None:
    assert "second" in text_of(page("first\nsecond\tthird e\u0301"))


def test_a_logo_and_an_address(page) -> None:
    logo = Logo("logo.svg", SVG)
    without, shown = (page("x", shop="Orchard", address=("Lane 1", "Town"), logo=one) for one in (None, logo))
    assert "Lane 1, Town" in text_of(shown)
    assert len(shown) > len(without)


def test_a_logo_of_a_shop_without_a_name(page) -> None:
    picture = io.BytesIO()
    Image.new("L", (40, 20), 128).save(picture, "png")
    assert text_of(page("x", shop="", logo=Logo("logo.png", picture.getvalue())))


@pytest.mark.parametrize(
    ("name", "content"), [("logo.png", b"\x89PNG\r\n\x1a\n broken"), ("logo.svg", b"<svg"), ("logo.svg", b"<html/>")]
)
def test_a_logo_that_cannot_be_drawn_is_said(name: str, content: bytes) -> None:
    with pytest.raises(DataError, match=name.replace(".", r"\.")):
        bundle(logo=Logo(name, content))


def test_the_same_data_give_the_same_bytes_and_no_date(page) -> None:
    made = page("x")
    assert made == page("x")
    metadata = pypdf.PdfReader(io.BytesIO(made)).metadata
    assert metadata is not None
    assert "/CreationDate" not in metadata


@pytest.mark.parametrize(("language", "foot"), [("en", "Page 1 of 1"), ("de", "Seite 1 von 1")])
def test_the_foot_names_job_inputs_and_page(page, language: str, foot: str) -> None:
    shown = text_of(page("x", language=language))
    assert foot in shown
    assert str(bundle().data["input_hash"])[:16] in shown
    assert "given.toml" in shown
