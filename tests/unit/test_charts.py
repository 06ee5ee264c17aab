"""Charts of a run: their lines lie where the figures are."""

import re
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest

from checked_runs import TWO_WIRE, job, run, straight_ports
from hosewright.checks.check import check
from hosewright.documents.charts import BOTTOM, LEFT, RIGHT, WIDTH, margins_chart, radius_chart
from hosewright.machine import Slide
from hosewright.words import Figures, Texts

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def bent():
    made = job(run(0.9), straight_ports(0.6, "arm"), joint=Slide((-1.0, 0.0, 0.0)), poses=0.15)
    return check(made)


def curves(chart: bytes) -> list[np.ndarray]:
    """Full lines of a chart in its windows, (k, 2) each, in mm from the lower left corner."""
    root = ElementTree.fromstring(chart)
    height = float(root.get("viewBox").split()[3])
    paths = [path for window in root.iter(f"{SVG}svg") if window is not root for path in window.iter(f"{SVG}path")]
    full = [path for path in paths if path.get("stroke") == "#000000" and path.get("stroke-dasharray") is None]
    return [
        np.array(re.findall(r"[-\d.e]+", path.get("d")), dtype=float).reshape(-1, 2) * [1.0, -1.0] + [0.0, height]
        for path in full
    ]


def test_the_curve_of_the_radius_is_the_curvature_turned_over(bent):
    (found,) = bent.runs
    (line,) = curves(radius_chart(found))
    assert line[0, 0] == pytest.approx(LEFT, abs=0.02)
    assert line[-1, 0] == pytest.approx(WIDTH - RIGHT, abs=0.02)
    finding = next(one for one in found.findings if one.rule == "bend radius")
    lowest = line[:, 1].min()
    # from the foot of the panel, which is nought, as the worst radius is to the limit
    (limit,) = limits(radius_chart(found))
    assert (lowest - BOTTOM) / (limit - BOTTOM) == pytest.approx(finding.measure / finding.limit, rel=0.02)


def limits(chart: bytes) -> list[float]:
    """Heights of the dashed lines."""
    root = ElementTree.fromstring(chart)
    height = float(root.get("viewBox").split()[3])
    dashed = [path.get("d") for path in root.iter(f"{SVG}path") if path.get("stroke-dasharray")]
    return [height - float(re.findall(r"[-\d.e]+", d)[1]) for d in dashed]


def test_every_followed_rule_has_a_panel_whose_curve_spans_the_motion(bent):
    chart = margins_chart(bent, bent.runs[0])
    lines = curves(chart)
    assert len(lines) == len(limits(chart)) >= 3
    for line in lines:
        left = LEFT if line[0, 0] < WIDTH / 2.0 else WIDTH / 2.0 + LEFT
        assert line[0, 0] == pytest.approx(left, abs=0.02)
        assert line[-1, 0] == pytest.approx(left + WIDTH / 2.0 - LEFT - RIGHT, abs=0.02)
        assert len(line) == len(bent.poses)


def test_charts_in_other_units_have_the_same_curve(bent):
    (found,) = bent.runs
    metric = curves(radius_chart(found))
    inches = curves(radius_chart(found, texts=Texts.load("de"), figures=Figures("us", ",")))
    assert inches[0] == pytest.approx(metric[0], abs=0.03)


def test_without_a_limit_there_is_no_dashed_line():
    (found,) = check(job(run(0.9, replace(TWO_WIRE, minimum_bend_radius=None)), straight_ports(0.6))).runs
    chart = radius_chart(found)
    assert chart is None or limits(chart) == []
