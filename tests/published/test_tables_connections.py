"""Rows of the connection tables, retyped from the documents: the first, a middle and the last one of each table."""

import math
import re

import pytest
from fluids.piping import nearest_pipe

from hosewright import catalog
from hosewright.catalog import families, sizes

CATALOG = catalog.load()


@pytest.mark.parametrize(
    ("name", "thread", "male", "female", "bar", "nut"),
    [
        # ISO 8434-2 and SAE J514; pressures from memory, nuts in inch
        ("37 flare -2 male", "5/16-24", 7.94, 6.79, 345, 9.52),
        ("37 flare -8 male", "3/4-16", 19.05, 17.33, 310, 22.23),
        ("37 flare -32 male", "2 1/2-12", 63.50, 61.21, 105, 73.03),
        # ISO 8434-3 and SAE J1453-3:2012
        ("face seal -4 male", "9/16-18", 14.29, 12.76, 630, 17),
        ("face seal -8 male", "13/16-16", 20.64, 18.92, 630, 24),
        ("face seal -32 male", "2 1/2-12", 63.50, 61.21, 210, 75),
        # ISO 8434-1
        ("24 cone L6 male", "M12x1.5", 12, 10.5, 250, 14),
        ("24 cone L15 male", "M22x1.5", 22, 20.5, 250, 27),
        ("24 cone L42 male", "M52x2", 52, 50, 100, 60),
        ("24 cone S6 male", "M14x1.5", 14, 12.5, 630, 17),
        ("24 cone S16 male", "M24x1.5", 24, 22.5, 400, 30),
        ("24 cone S38 male", "M52x2", 52, 50, 250, 60),
        ("24 cone LL4 male", "M8x1", 8, 6.92, 100, 10),
        # ISO 228-1 (nuts doubtful, no pressure)
        ("BSP G1/8 male", "G1/8", 9.73, 8.57, None, 14),
        ("BSP G1/2 male", "G1/2", 20.96, 18.63, None, 27),
        ("BSP G2 male", "G2", 59.61, 56.66, None, 70),
        # metric thread with 30 degree flare, thread charts
        ("metric 30 flare M14x1.5 male", "M14x1.5", 14, 12.5, None, None),
        ("metric 30 flare M36x1.5 male", "M36x1.5", 36, 34.5, None, None),
    ],
)
def test_threads(name, thread, male, female, bar, nut):
    size = CATALOG.connection(name)
    assert size.thread == thread
    assert (size.male_diameter * 1e3, size.female_diameter * 1e3) == pytest.approx((male, female), abs=0.006)
    assert size.max_working_pressure == (bar if bar is None else pytest.approx(bar * 1e5))
    assert size.nut_width == (nut if nut is None else pytest.approx(nut * 1e-3, abs=1.2e-5))


@pytest.mark.parametrize(
    ("name", "long", "short", "head", "thickness", "bar", "screw"),
    [
        # ISO 6162-1 and -2 = SAE J518 codes 61 and 62
        ("flange 61 -8 port", 38.1, 17.5, 30.2, 6.7, 345, "M8"),
        ("flange 61 -16 port", 52.4, 26.2, 44.5, 8.0, 345, "M10"),
        ("flange 61 -48 port", 106.4, 61.9, 101.6, 9.6, 138, "M16"),
        ("flange 62 -8 port", 40.5, 18.2, 31.8, 7.8, 414, "M8"),
        ("flange 62 -20 port", 66.7, 31.8, 54.0, 10.3, 414, "M12"),
        ("flange 62 -32 port", 96.8, 44.5, 79.4, 12.6, 414, "M20"),
    ],
)
def test_flanges(name, long, short, head, thickness, bar, screw):
    size = CATALOG.connection(name)
    spacings = size.bolt_spacing_long, size.bolt_spacing_short, size.head_diameter, size.head_thickness
    assert spacings == pytest.approx((long * 1e-3, short * 1e-3, head * 1e-3, thickness * 1e-3))
    assert (size.max_working_pressure, size.screw) == (pytest.approx(bar * 1e5), screw)
    assert size.sources["torque_low"].confidence == "doubtful"


@pytest.mark.parametrize(
    ("name", "low", "high", "confidence"),
    [
        ("37 flare -4 male", 13, 15, "practice"),
        ("37 flare -8 male", 47, 52, "practice"),
        ("37 flare -32 male", 296, 329, "practice"),
        ("face seal -8 male", 43, 53, "practice"),
        ("face seal -16 male", 125, 142, "practice"),  # 240 in one chart is a misprint
        ("24 cone L8 male", 38, 38, "practice"),
        ("24 cone L22 male", 135, 135, "memory"),
        ("BSP G1/2 male", 44, 44, "practice"),
        ("BSP G1-1/2 male", 244, 244, "practice"),
    ],
)
def test_torques(name, low, high, confidence):
    """Fitting suppliers' charts and machine builders' manuals, steel, lubricated."""
    size = CATALOG.connection(name)
    assert (size.torque_low, size.torque_high) == (low, high)
    assert size.sources["torque_low"].confidence == confidence


def test_doubtful_nuts_of_bsp_say_so():
    assert CATALOG.connection("BSP G1/2 male").sources["nut_width"].confidence == "doubtful"


@pytest.mark.parametrize("family", [name for name, one in families().items() if one.thread_angle is not None])
def test_threads_follow_their_standard_profile(family):
    """Basic minor diameter: D - 1.0825 P (ISO 68-1, ASME B1.1), D - 1.2807 P (ISO 228-1, Whitworth).

    The charts print metric ones to 0.5 mm.
    """
    rounding = 0.25e-3 if family in ("24 cone", "metric 30 flare") else 0.012e-3
    depth = 1.280654 if families()[family].thread_angle == pytest.approx(math.radians(55)) else 1.082532
    for size in sizes(family).values():
        if size.female_diameter is not None:
            assert size.female_diameter == pytest.approx(size.male_diameter - depth * size.pitch, abs=rounding)


@pytest.mark.parametrize("family", ["37 flare", "face seal"])
def test_inch_threads_agree_with_their_designation(family):
    """Unified threads: nominal diameter in inches, then threads to the inch (ASME B1.1)."""
    for size in sizes(family).values():
        whole, top, bottom, threads = re.fullmatch(r"(?:(\d+)[ -])?(?:(\d+)/(\d+)-)?(\d+)", size.thread).groups()
        diameter = int(whole or 0) + (int(top) / int(bottom) if top else 0)
        assert size.male_diameter == pytest.approx(diameter * 25.4e-3, abs=0.006e-3)
        assert size.pitch == pytest.approx(25.4e-3 / int(threads), abs=0.001e-3)


@pytest.mark.parametrize(("size", "nps"), [("1/8", 0.125), ("1/2", 0.5), ("1-1/4", 1.25), ("2", 2)])
def test_taper_pipe_threads_have_the_diameter_of_the_pipe(size, nps):
    """Outside diameters of ASME B36.10M pipe, from a general-purpose library that prints them to 0.1 mm."""
    outside = nearest_pipe(NPS=nps)[2]
    assert sizes("NPT")[size].male_diameter == pytest.approx(outside, abs=0.06e-3)


@pytest.mark.parametrize(("width", "head", "thickness"), [(14, 30, 6.5), (27, 56, 10.5), (60, 123, 18)])
def test_spanners(width, head, thickness):
    """Typical forged heads; common practice, no source."""
    spanner = catalog.spanner_for(width * 1e-3)
    figures = spanner.width, spanner.head_width, spanner.head_thickness
    assert figures == pytest.approx((width * 1e-3, head * 1e-3, thickness * 1e-3))


def names(matches):
    return [match.size.name for match in matches]


@pytest.mark.parametrize(
    ("reading", "expected"),
    [
        # worked from the thread tables, as a caliper and a pitch gauge read real parts
        ({"diameter": 20.9e-3, "threads_per_inch": 14, "tapered": False, "seat": "60 cone"}, "BSP G1/2"),
        ({"diameter": 20.6e-3, "threads_per_inch": 16, "seat": "flat"}, "face seal -8"),
        ({"diameter": 22.2e-3, "threads_per_inch": 14, "seat": "74 cone"}, "37 flare -10"),
        ({"diameter": 22.0e-3, "pitch": 1.5e-3, "seat": "24 cone", "recess": 15e-3}, "24 cone L15"),
        ({"diameter": 22.0e-3, "pitch": 1.5e-3, "seat": "24 cone", "recess": 14e-3}, "24 cone S14"),
        ({"diameter": 17.3e-3, "threads_per_inch": 16, "seat": "74 cone", "half": "female"}, "37 flare -8"),
        ({"diameter": 18.9e-3, "threads_per_inch": 16, "seat": "flat", "half": "female"}, "face seal -8"),
    ],
)
def test_identification(reading, expected):
    assert names(catalog.identify(**reading)) == [expected]


def test_pitch_separates_metric_from_inch():
    """M22x1.5 and 7/8-14 differ by 0.23 mm over the thread but clearly in pitch."""
    metric = names(catalog.identify(21.9e-3, pitch=1.5e-3))
    inch = names(catalog.identify(22.1e-3, threads_per_inch=14))
    assert set(metric) == {"24 cone L15", "24 cone S14", "metric 30 flare M22x1.5"}
    assert "37 flare -10" in inch
    assert not set(metric) & set(inch)


def test_parallel_and_taper_pipe_threads_are_both_named_until_the_taper_is_known():
    """G1/2, R1/2 and 1/2 NPT all have 14 threads to the inch."""
    both = names(catalog.identify(20.9e-3, threads_per_inch=14))
    assert {"BSP G1/2", "BSP taper R1/2", "NPT 1/2"} <= set(both)
    assert names(catalog.identify(20.9e-3, threads_per_inch=14, tapered=False)) == ["BSP G1/2", "JIS 30 flare G1/2"]


def test_look_alikes_come_with_what_tells_them_apart():
    (match,) = catalog.identify(14.2e-3, threads_per_inch=18, seat="flat")
    assert match.size.name == "face seal -4"
    assert any(name == "37 flare -6" and "seat" in tell for name, tell in match.look_alikes)


@pytest.mark.parametrize(
    ("name", "other", "tell"),
    [
        # compared from the thread standards
        ("BSP G1/2", "NPT 1/2", "taper"),
        ("24 cone L15", "37 flare -10", "pitch"),
        ("24 cone L22", "face seal -12", "20.0 against 21.2 mm"),
        ("37 flare -14", "face seal -12", "seat"),
        ("24 cone L10", "24 cone S8", "recess"),
        ("24 cone S16", "metric 30 flare M24x1.5", "seat"),
        ("BSP G1/2", "JIS 30 flare G1/2", "seat"),
        ("BSP G1/2", "BSP taper R1/2", "taper"),
    ],
)
def test_look_alikes(name, other, tell):
    assert tell in dict(catalog.look_alikes(name))[other]
    assert tell in dict(catalog.look_alikes(other))[name]


def test_every_look_alike_pair_is_close_in_the_hand():
    for family in families():
        for size in sizes(family).values():
            for other_name, _ in catalog.look_alikes(size.name):
                other = CATALOG.connection(f"{other_name} male")
                assert abs(size.male_diameter - other.male_diameter) < 1.7e-3
