import pytest

from hosewright import catalog
from hosewright.assembly import Roll
from hosewright.errors import ArgumentError, DataError

CATALOG = catalog.load()

ENDS = """\
name,connection,dash_size,exit_angle_deg,cutoff_mm,insertion_mm,drop_mm,roll,insert_bore_mm,source
90 short,Face seal -08 female,-8,90,48,30,27.5,swivel,10.2,bench drawing 12
90 tight,face seal -8 female,8,90,40,30,22,swivel,,
"""


def written(tmp_path, text, name="own.csv"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def test_own_hose_overrides_figure_by_figure(tmp_path):
    path = written(tmp_path, "name,minimum_bend_radius_mm,outside_diameter_mm,source\n2sc-8,90,20.5,sheet 7\n")
    mine = CATALOG.with_own(path)
    hose, standard = mine.hose("2SC -8"), CATALOG.hose("2SC -8")
    assert (hose.name, hose.minimum_bend_radius) == ("2SC -8", pytest.approx(0.090))
    assert hose.max_working_pressure == standard.max_working_pressure
    assert str(hose.sources["minimum_bend_radius"]) == "own data: own.csv, sheet 7 (data sheet)"
    assert hose.sources["max_working_pressure"].document == "EN 857"
    assert standard.minimum_bend_radius == pytest.approx(0.130)
    assert len(mine.hoses()) == len(CATALOG.hoses())


def test_estimates_follow_own_diameters_and_give_way_to_own_figures():
    thin = CATALOG.with_own([{"name": "2SN -8", "outside_diameter_mm": 21.0}]).hose("2SN -8")
    assert thin.bending_stiffness < CATALOG.hose("2SN -8").bending_stiffness
    measured = CATALOG.with_own([{"name": "2SN -8", "bending_stiffness_Nm2": 3.1}]).hose("2SN -8")
    assert measured.bending_stiffness == 3.1
    assert measured.sources["bending_stiffness"].confidence == "data sheet"


def test_own_hose_like_another_and_a_later_row_like_it():
    rows = [
        {"name": "orchard -8", "like": "2SC -8", "minimum_bend_radius_mm": 85, "liner": "HNBR", "fluids": "HM HEES"},
        {"name": "orchard soft -8", "like": "orchard -8", "minimum_bend_radius_mm": 75, "confidence": "practice"},
    ]
    mine = CATALOG.with_own(rows, "shop list")
    hose = mine.hose("orchard soft-8")
    assert (hose.liner, hose.fluids, hose.dash_size) == ("HNBR", ("HM", "HEES"), 8)
    assert hose.minimum_bend_radius == pytest.approx(0.075)
    assert hose.sources["minimum_bend_radius"].confidence == "practice"
    assert len(mine.hoses()) == len(CATALOG.hoses()) + 2
    assert mine.version == f"{CATALOG.version} + shop list"
    assert mine.hash != CATALOG.hash


def test_new_hose_keeps_what_is_not_known_open():
    row = {"construction": "orchard", "dash_size": "-6", "inside_diameter_mm": 9.5, "max_working_pressure_bar": 300}
    hose = CATALOG.with_own([row]).hose("orchard -6")
    assert (hose.minimum_bend_radius, hose.longer, hose.outside_diameter) == (None, None, None)
    assert hose.bending_stiffness == pytest.approx(3e7 * 0.0095**4)


def test_own_ends(tmp_path):
    mine = CATALOG.with_own(written(tmp_path, ENDS))
    short = mine.end_form("90 short", "face seal -8 female")
    assert (short.cutoff, short.drop, short.roll) == (pytest.approx(0.048), pytest.approx(0.0275), Roll.SWIVEL)
    assert str(short.source) == "own data: own.csv, bench drawing 12 (data sheet)"
    assert (short.max_working_pressure, short.ferrule_diameter) == (None, None)
    assert mine.end_form("90 tight", "face seal -8 female").drop == pytest.approx(0.022)
    assert CATALOG.end_form("90 short", "face seal -8 female").cutoff != short.cutoff


def test_jump_size_end_needs_the_dash_size(tmp_path):
    row = "name,connection,dash_size,exit_angle_deg,cutoff_mm,insertion_mm,roll\n"
    mine = CATALOG.with_own(written(tmp_path, row + "straight,face seal -8 female,-10,0,33,34,swivel\n"))
    assert mine.end_form("straight", "face seal -8 female", 10).dash_size == 10
    with pytest.raises(ArgumentError, match=r"-8, -10"):
        mine.end_form("straight", "face seal -8 female")


def test_own_adapter_and_fluid():
    adapter = {
        "name": "90 swivel",
        "port_side": "face seal -8 female",
        "hose_side": "face seal -8 male",
        "angle_deg": 90,
        "run_mm": 30,
        "leg_mm": 31,
    }
    fluid = {"name": "orchard oil", "fluid_class": "HEES", "viscosity_40_mm2_s": 47, "viscosity_100_mm2_s": 9.2}
    mine = CATALOG.with_own([adapter]).with_own([fluid], "oils")
    assert mine.adapter("90 swivel", "face seal -8 male").run == pytest.approx(0.030)
    assert mine.fluid("orchard oil").viscosity_100 == pytest.approx(9.2e-6)
    assert mine.fluid("HM 46").viscosity_40 == pytest.approx(46e-6)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("name,minimum_bend_radius_mm\n2SN -8,tight\n", ["own.csv, line 2", "minimum_bend_radius_mm", "tight"]),
        ("# note: mine\nname,bend_radius_mm\n2SN -8,90\n", ["line 3", "bend_radius_mm", "minimum_bend_radius_mm"]),
        ("name,minimum_bend_radius_mm\n2SN -8,90,5\n", ["line 2", "3 cells", "2 columns"]),
        ("name,minimum_bend_radius_mm\n2SN -8,-90\n", ["line 2", "-90", "more than 0"]),
        ("name,outside_diameter_mm\n2SN -8,12\n", ["line 2", "12 mm", "12.5 mm"]),
        ("name,like\norchard -8,2SX -8\n", ["line 2", "2SX -8", "2SN -8"]),
        ("name,dash_size\norchard -8,-8\n", ["line 2", "inside_diameter_mm"]),
        ("name,dash_size\norchard -8,half\n", ["line 2", "inside_diameter_mm"]),
        ("name\n2SN -8\n2sn-8\n", ["line 3", "again", "line 2"]),
        ("name,longer_pct,confidence\n2SN -8,2,sure\n", ["line 2", "sure", "standard"]),
        ("name\n", ["no rows"]),
        ("# mine\nname;longer_pct\n2SN -8;2,5\n", ["line 2", "separated by ';'", "use commas"]),
        ("name\tlonger_pct\n2SN -8\t2.5\n", ["line 1", "separated by tabs", "use commas"]),
        (ENDS.replace("swivel,10.2", "live,10.2"), ["line 2", "live", "swivel"]),
        (ENDS.replace("-08 female", "-07 female"), ["line 2", "'connection'", "no size '-07'"]),
        (ENDS.replace("27.5", ""), ["line 2", "drop"]),
        (ENDS.replace("8,90,40", "8,0,40"), ["line 3", "straight", "22"]),
        (ENDS.replace("40,30", "40,3000"), ["line 3", "insertion_mm", "3000"]),
        (ENDS.replace("40,30", ",30"), ["line 3", "cutoff_mm", "empty"]),
    ],
)
def test_bad_rows_name_file_line_and_value(tmp_path, text, told):
    with pytest.raises(DataError) as caught:
        CATALOG.with_own(written(tmp_path, text))
    assert all(word in str(caught.value) for word in ["own.csv", *told])


def test_file_that_cannot_be_read(tmp_path):
    with pytest.raises(DataError, match=r"missing\.csv"):
        CATALOG.with_own(tmp_path / "missing.csv")
    (tmp_path / "latin.csv").write_bytes("name,source\n2SN -8,Schläuche\n".encode("latin-1"))
    with pytest.raises(DataError, match="UTF-8"):
        CATALOG.with_own(tmp_path / "latin.csv")


def test_rows_given_by_hand_are_named_by_count():
    with pytest.raises(DataError, match=r"shop list, row 2"):
        CATALOG.with_own([{"name": "2SN -8"}, {"name": "2SN -6", "longer_pct": "much"}], "shop list")


def test_prices_are_a_shops_own():
    assert CATALOG.hose("2SC -8").price is None
    hose = CATALOG.with_own([{"name": "2SC -8", "price_per_m": 7.5}]).hose("2SC -8")
    assert hose.price == 7.5
    assert all(form.price is None for form in CATALOG.end_forms())
    assert all(one.price is None for one in CATALOG.adapters())
    end = {"name": "tight", "connection": "face seal -8 female", "dash_size": 8, "exit_angle_deg": 90}
    end |= {"cutoff_mm": 40, "insertion_mm": 30, "drop_mm": 22, "roll": "swivel", "price": 12.25}
    assert CATALOG.with_own([end]).end_form("tight", "face seal -8 female").price == 12.25


def test_a_hose_like_another_does_not_take_its_price():
    rows = [{"name": "2SC -8", "price_per_m": 7.5}, {"name": "house -8", "like": "2SC -8"}]
    mine = CATALOG.with_own(rows)
    assert mine.hose("house -8").price is None
    again = mine.with_own([{"name": "2SC -8", "minimum_bend_radius_mm": 100}])
    assert again.hose("2SC -8").price == 7.5


def test_a_price_below_zero_is_refused():
    with pytest.raises(DataError, match="'price_per_m' holds '-1', expected 0 or more"):
        CATALOG.with_own([{"name": "2SC -8", "price_per_m": -1}])
