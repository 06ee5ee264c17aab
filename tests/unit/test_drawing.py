"""The sheet that pictures and charts are drawn on: what is drawn lies in its place, and nothing beyond its window."""

import io
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath
from PIL import Image

from hosewright.documents.drawing import DOTS, DOTTED, SMALL, Sheet
from hosewright.documents.lettering import POINT, fitting, text_size

WIDTH, HEIGHT = 60.0, 40.0


def tones(sheet: Sheet) -> np.ndarray:
    """The sheet as the typesetter draws it, in tones from 0 to 255; y upwards."""
    return np.asarray(Image.open(io.BytesIO(sheet.bytes("png"))).convert("L"))[::-1]


def at(dots: np.ndarray, x: float, y: float) -> int:
    return int(dots[round(y * DOTS / 25.4), round(x * DOTS / 25.4)])


def dark(dots: np.ndarray, threshold: int = 128) -> tuple[float, float, float, float]:
    """Box round everything dark: left, bottom, right, top. [mm]"""
    rows, columns = np.nonzero(dots < threshold)
    left, right, bottom, top = columns.min(), columns.max() + 1, rows.min(), rows.max() + 1
    return tuple(25.4 / DOTS * float(side) for side in (left, bottom, right, top))


@pytest.fixture
def sheet():
    return Sheet(WIDTH, HEIGHT)


def test_a_sheet_has_its_size_and_is_white(sheet):
    root = ElementTree.fromstring(sheet.bytes())
    assert (root.get("width"), root.get("height")) == ("60mm", "40mm")
    image = Image.open(io.BytesIO(sheet.bytes("png")))
    assert image.size == pytest.approx((WIDTH * DOTS / 25.4, HEIGHT * DOTS / 25.4), abs=1.0)
    assert tones(sheet).min() == 255


def test_lines_and_polygons_lie_where_they_were_drawn(sheet):
    sheet.polygon(np.array([[10.0, 5.0], [20.0, 5.0], [20.0, 15.0], [10.0, 15.0]]), "0")
    assert dark(tones(sheet)) == pytest.approx((10.0, 5.0, 20.0, 15.0), abs=0.2)
    sheet.line(np.array([[5.0, 30.0], [55.0, 30.0]]), "0", 2.0 / POINT)  # of 2 mm
    assert dark(tones(sheet)) == pytest.approx((5.0, 5.0, 55.0, 31.0), abs=0.2)


def test_a_dotted_line_leaves_gaps(sheet):
    spots = np.array([[5.0, 20.0], [55.0, 20.0]])
    sheet.line(spots, "0", 4.0, DOTTED)
    row = tones(sheet)[round(20.0 * DOTS / 25.4)] < 128
    assert row.mean() == pytest.approx(50.0 / 60.0 / sum(DOTTED), rel=0.1)


def test_tones_and_what_lies_on_top(sheet):
    sheet.triangles(np.array([[[0.0, 0.0], [60.0, 0.0], [0.0, 40.0]]]), np.array([0.8]))
    sheet.box(5.0, 5.0, 15.0, 15.0, "0.4")
    sheet.ground(np.array([10.0, 10.0]), (4.0, 4.0), 1.0)
    dots = tones(sheet)
    found = [at(dots, *spot) for spot in ((3.0, 3.0), (6.0, 6.0), (10.0, 10.0), (12.0, 10.0), (55.0, 35.0))]
    assert found == pytest.approx([204, 102, 255, 0, 255], abs=12)


def test_nothing_shows_beyond_a_window(sheet):
    with sheet.window(10.0, 10.0, 30.0, 25.0):
        sheet.line(np.array([[0.0, 0.0], [60.0, 40.0]]), "0", 10.0)
        sheet.box(0.0, 20.0, 60.0, 40.0, "0")
    sheet.box(50.0, 2.0, 52.0, 4.0, "0")
    dots = tones(sheet)
    assert dark(dots) == pytest.approx((10.0, 2.0, 52.0, 25.0), abs=0.2)
    assert at(dots, 40.0, 30.0) == 255


def test_an_arrow_has_its_head_at_its_end(sheet):
    sheet.arrow(np.array([10.0, 20.0]), np.array([40.0, 20.0]))
    dots = tones(sheet)
    assert dark(dots)[0::2] == pytest.approx((10.0, 40.0), abs=0.2)
    near_end, near_start = ((dots[:, round(x * DOTS / 25.4)] < 128).sum() for x in (39.0, 11.0))
    assert near_end > 1.5 * near_start
    sheet.arrow(np.array([10.0, 20.0]), np.array([40.0, 20.0]), both=True)
    dots = tones(sheet)
    assert (dots[:, round(11.0 * DOTS / 25.4)] < 128).sum() > 1.5 * near_start


@pytest.mark.parametrize("text", ["boom 65°", "Längenreserve ≥ 3 mm\nzwei", 'a<b & "c"'])
@pytest.mark.parametrize("bold", [False, True])
def test_words_stand_in_the_middle_and_take_the_room_they_say(sheet, text, bold):
    width, height = text_size(text, SMALL, bold=bold)
    font = FontProperties(family="DejaVu Sans", weight="bold" if bold else "normal")
    lines = [TextPath((0, 0), line, size=SMALL, prop=font).get_extents().width for line in text.split("\n")]
    ink = max(lines) * POINT
    assert ink < width < ink + 0.25 * SMALL * POINT  # with the air beside a letter
    sheet.write(np.array([30.0, 20.0]), text, bold=bold)
    left, bottom, right, top = dark(tones(sheet))
    assert right - left == pytest.approx(ink, abs=0.4)
    assert top - bottom <= height
    assert ((left + right) / 2.0, (bottom + top) / 2.0) == pytest.approx((30.0, 20.0), abs=0.5)


def test_nothing_and_signs_that_no_font_has_can_be_written(sheet):
    sheet.write(np.array([30.0, 20.0]), " ")
    assert tones(sheet).min() == 255
    sheet.write(np.array([30.0, 20.0]), "\u55dd\U0001f352")
    assert tones(sheet).min() < 128


def test_a_word_too_wide_for_its_room_is_smaller():
    assert fitting("boom", SMALL, 40.0) == SMALL
    points = fitting("a very long name of a part of the machine", SMALL, 20.0)
    assert text_size("a very long name of a part of the machine", points)[0] == pytest.approx(20.0)
    assert fitting("", SMALL, 20.0) == SMALL
