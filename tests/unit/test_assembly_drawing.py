"""Drawing of an assembly: the DXF file read again, and the picture made of the same model."""

from __future__ import annotations

import io
import math
import re
from typing import Any

import ezdxf
import numpy as np
import pytest

from build_sheet_jobs import bundle
from hosewright.assembly import orientation_angle
from hosewright.documents.assembly_drawing import HEIGHT, WIDTH, draw, spread
from hosewright.words import Figures


def assembly(**changes: Any) -> dict[str, Any]:
    return dict(bundle().data["runs"][0]["assembly"], **changes)


def read_again(content: bytes) -> Any:
    return ezdxf.read(io.StringIO(content.decode("utf-8")))


def dimensions(document: Any) -> list[tuple[float, str]]:
    """Measured length and the text that is drawn, of every dimension."""
    found = []
    for one in document.modelspace().query("DIMENSION"):
        (text,) = [part.plain_text() for part in one.virtual_entities() if part.dxftype() == "MTEXT"]
        measured = one.get_measurement()
        found.append((abs(measured if isinstance(measured, float) else measured.x), text))
    return found


@pytest.mark.parametrize("mark", [".", ","])
def test_a_reader_of_dxf_finds_the_lengths_in_mm(mark: str) -> None:
    data = assembly(orientation_angle_deg=0.0, overall_length_mm=1040.5, cut_length_mm=949.5)
    document = read_again(draw(data, "T/17", Figures(decimal_mark=mark)).dxf)
    assert document.header["$INSUNITS"] == 4  # millimetres
    assert not document.audit().errors
    found = dimensions(document)
    drops = [end["drop_mm"] for end in data["ends"]]
    wanted = [data["overall_length_mm"], data["cut_length_mm"], data["clamps"][0]["mark_mm"]]
    assert set(wanted) <= {round(length, 6) for length, _ in found}
    assert {round(length, 6) for length, _ in found} <= {*wanted, *drops}
    for length, text in found:
        assert text == f"{length:.1f}".removesuffix(".0").replace(".", mark)


def test_inches_stand_beside_the_millimetres() -> None:
    """1 in is 25.4 mm exactly (international yard and pound, 1959): 1040 mm are 40.945 in, 952.5 mm 37 1/2."""
    data = assembly(cut_length_mm=952.5)
    texts = [text for _, text in dimensions(read_again(draw(data, "T/17", Figures("us")).dxf))]
    assert "1040 [≈ 40 15/16 in]" in [text.replace("\N{NO-BREAK SPACE}", " ") for text in texts]
    assert "952.5 [37 1/2 in]" in [text.replace("\N{NO-BREAK SPACE}", " ") for text in texts]


def test_the_picture_shows_the_texts_of_the_file() -> None:
    drawing = draw(assembly(orientation_angle_deg=0.0), "T/17", Figures())
    shown = re.findall(r">([^<>]+)</text>", drawing.svg.decode())
    assert sorted(shown) == sorted([*(text for _, text in dimensions(read_again(drawing.dxf))), "a", "b"])


def test_the_same_data_give_the_same_bytes() -> None:
    one, two = draw(assembly(), "T/17", Figures()), draw(assembly(), "T/17", Figures())
    assert one.dxf == two.dxf
    assert one.svg == two.svg


@pytest.mark.parametrize("length", [200.0, 985.0, 7800.0, 60000.0])
def test_any_length_fits_the_page(length: float) -> None:
    drawing = draw(assembly(overall_length_mm=length, cut_length_mm=length - 91.0), "T/17", Figures())
    width, height = (float(size) for size in re.findall(r'(?:width|height)="([\d.]+)mm"', drawing.svg.decode())[:2])
    assert width <= WIDTH + 2.0
    assert height <= HEIGHT + 8.0


@pytest.mark.parametrize("turn", [0.0, 60.0, 90.0, 180.0, 225.0])
def test_the_outlet_of_end_b_is_turned_as_the_convention_says(turn: float) -> None:
    """Seen from the side, with z towards the reader, against the reckoning of the angle from vectors."""
    far = np.array([0.0, math.cos(math.radians(turn)), math.sin(math.radians(turn))])
    assert math.degrees(orientation_angle((1, 0, 0), (0, 1, 0), far)) == pytest.approx(turn)
    data = assembly(orientation_angle_deg=turn)
    document = read_again(draw(data, "T/17", Figures()).dxf)
    drop = data["ends"][1]["drop_mm"]
    axes = [line for line in document.modelspace().query('LINE[layer=="axis"]') if line.dxf.start.x > 900]
    (seat,) = [line.dxf.start for line in axes]
    assert seat.y == pytest.approx(drop * far[1], abs=1e-6)


def test_what_is_not_known_is_drawn_in_proportion_and_named() -> None:
    end = dict(assembly()["ends"][0], nut_width_mm=None, ferrule_length_mm=None)
    data = assembly(outside_diameter_mm=None, ends=[end, assembly()["ends"][1]])
    drawing = draw(data, "T/17", Figures())
    assert drawing.guessed == ("outside_diameter_mm", "ferrule_length_mm a", "nut_width_mm a")
    assert draw(assembly(), "T/17", Figures()).guessed == ()


def test_the_title_is_in_the_file_alone() -> None:
    drawing = draw(assembly(), "T/17 <tilt>", Figures())
    (text,) = read_again(drawing.dxf).modelspace().query("TEXT")
    assert text.dxf.text.startswith("T/17 <tilt>")
    assert "tilt" not in drawing.svg.decode()


def test_labels_are_spread_as_little_as_can_be() -> None:
    """Where two lie too near, they part from their mean; those further off stay."""
    assert spread([10.0, 11.0, 30.0], 5.0) == pytest.approx([8.0, 13.0, 30.0])
    assert spread([0.0, 0.0, 0.0], 2.0) == pytest.approx([-2.0, 0.0, 2.0])
    assert spread([], 2.0) == []


@pytest.mark.parametrize("marks", [[480.0, 500.0, 512.0, 530.0], [900.0], [200.0, 210.0, 220.0, 230.0]])
@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("length", [1040.0, 12000.0])
def test_no_text_lies_on_another_or_outside(marks: list[float], system: str, length: float) -> None:
    clamps = [{"mount": "m", "mark_mm": mark, "hold": "fixed"} for mark in marks]
    data = assembly(clamps=clamps, overall_length_mm=length, cut_length_mm=length - 91.0)
    svg = draw(data, "T/17", Figures(system)).svg.decode()  # type: ignore[arg-type]
    width, height = (float(size) for size in re.findall(r'(?:width|height)="([\d.]+)mm"', svg)[:2])
    assert width <= WIDTH + 2.0
    assert height <= HEIGHT + 8.0
    boxes = [box_of(text) for text in re.findall(r"<text .*?</text>", svg)]
    assert len(boxes) >= len(marks) + 4
    for left, top, right, bottom in boxes:
        assert -0.1 <= left < right <= width + 0.1
        assert -0.1 <= top < bottom <= height + 0.1
    for k, one in enumerate(boxes):
        for other in boxes[k + 1 :]:
            apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
            assert apart, (one, other)


PLACED = re.compile(
    r'x="(?P<x>[\d.-]+)" y="(?P<y>[\d.-]+)" dy="(?P<dy>[\d.-]+)".*font-size="(?P<size>[\d.]+)" '
    r'text-anchor="(?P<anchor>\w+)" transform="rotate\((?P<turn>[\d.-]+) .*>(?P<signs>[^<]+)</text>'
)


def box_of(text: str) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of a text with its capitals, of a type whose signs are 0.602 of its size wide."""
    found = PLACED.search(text)
    assert found is not None, text
    x, y, down, size, turn = (float(found[key]) for key in ("x", "y", "dy", "size", "turn"))
    wide = 0.602 * size * len(found["signs"])
    start = {"start": 0.0, "middle": -wide / 2.0, "end": -wide}[found["anchor"]]
    top, bottom = down - 0.73 * size, down
    if turn == 0.0:
        return x + start, y + top, x + start + wide, y + bottom
    assert turn == -90.0  # upright, read from the right
    return x + top, y - start - wide, x + bottom, y - start
