import pytest

from hosewright import catalog, tables
from hosewright.assembly import Roll
from hosewright.catalog import Connection, connections, constructions, families, mates, sizes, why_not
from hosewright.errors import ArgumentError

CATALOG = catalog.load()


def test_loading_reads_nothing(monkeypatch):
    def refuse(*_):
        raise AssertionError("a table was read")

    monkeypatch.setattr(tables, "packaged", refuse)
    assert catalog.load().own_names == ()


@pytest.mark.parametrize(
    ("spelling", "name"),
    [
        ("2SN -8", "2SN -8"),
        ("2SN-8", "2SN -8"),
        ("2sn -08", "2SN -8"),
        ("  2SN  8 ", "2SN -8"),
        ("2SN - 8", "2SN -8"),
        ("SAE 100R2AT-8", "2SN -8"),
        ("100 R2AT 1/2 in", "2SN -8"),
        ('R2AT 1/2"', "2SN -8"),
        ("EN 853 2SN DN 12", "2SN -8"),
        ("2SN DN12", "2SN -8"),
        ("100R15-16", "R15 -16"),
        ("R12-6", "R12 -6"),
        ("EN 855 R7 -4", "EN R7 -4"),
        ("en r7-4", "EN R7 -4"),
        ("R7 -4", "R7 -4"),
        ("1SN 1-1/4 in", "1SN -20"),
    ],
)
def test_spellings_of_hoses(spelling, name):
    assert CATALOG.hose(spelling).name == name


@pytest.mark.parametrize(
    ("asked", "hint"),
    [("2SN -9", "-8, -10"), ("2SX -8", "'2SN -8'"), ("4sp-14", "4SP comes in -4, -6"), ("2SN DN 13", "'2SN -")],
)
def test_unknown_hose_names_a_near_one(asked, hint):
    with pytest.raises(ArgumentError, match=rf"(?s){asked}.*{hint}"):
        CATALOG.hose(asked)


def test_hose_names_are_construction_and_dash_size():
    for hose in CATALOG.hoses():
        assert hose.name == f"{hose.construction} -{hose.dash_size}"
        assert hose.construction in constructions()


def test_every_figure_of_a_hose_has_a_source():
    words = {"name", "construction", "dash_size", "sources"}
    for hose in CATALOG.hoses():
        filled = {name for name, value in vars(hose).items() if value not in (None, ()) and name not in words}
        assert filled == set(hose.sources)


def test_every_hose_has_a_stiffness_marked_as_an_estimate():
    for hose in CATALOG.hoses():
        assert 0.01 < hose.bending_stiffness < 2e3
        assert hose.sources["bending_stiffness"].confidence == "ours"
        assert "0.2 and 3" in str(hose.sources["bending_stiffness"])


def test_stiffness_grows_with_size_and_with_reinforcement():
    for construction in constructions():
        series = [hose.bending_stiffness for hose in CATALOG.hoses() if hose.construction == construction]
        assert series == sorted(series)
    one, two, four = (CATALOG.hose(f"{kind} -12").bending_stiffness for kind in ("1SN", "2SN", "4SP"))
    assert one < two < four


def test_pressure_falls_with_size():
    for construction in constructions():
        series = [hose.max_working_pressure for hose in CATALOG.hoses() if hose.construction == construction]
        assert series == sorted(series, reverse=True)


@pytest.mark.parametrize(
    ("text", "canonical"),
    [
        ("face seal -8 male", "face seal -8 male"),
        ("Face Seal -08 MALE", "face seal -8 male"),
        ("face seal 8 female", "face seal -8 female"),
        ("37° flare -8 female", "37 flare -8 female"),
        ("JIC -8 female", "37 flare -8 female"),
        ("24 cone l15 male", "24 cone L15 male"),
        ("BSP g1/2 male", "BSP G1/2 male"),
        ("BSPP G1-1/4 female", "BSP G1-1/4 female"),
        ("BSP taper R1/2 male", "BSP taper R1/2 male"),
        ("metric 30 flare M18 x 1.5 female", "metric 30 flare M18x1.5 female"),
        ("NPT 1/2 male", "NPT 1/2 male"),
        ("NPT 2 male", "NPT 2 male"),
        ("flange 61 -12 port", "flange 61 -12 port"),
        ("code 62 -12 head", "flange 62 -12 head"),
    ],
)
def test_spellings_of_connections(text, canonical):
    assert str(Connection.parse(text)) == canonical


def test_names_of_connections_read_back():
    for family in families().values():
        for size in sizes(family.name):
            for half in family.halves:
                connection = Connection(family.name, size, half)
                assert Connection.parse(str(connection)) == connection


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("37 flair -8 male", "37 flare"),
        ("face seal -8", "male"),
        ("face seal -8 head", "female"),
        ("flange 61 -12 male", "port"),
        ("face seal -7 male", "-6"),
        ("24 cone L14 male", "S14"),
        ("", "connection"),
    ],
)
def test_unknown_connection_says_what_is_known(text, told):
    with pytest.raises(ArgumentError, match=told):
        Connection.parse(text)


def test_halves_of_one_family_and_size_mate():
    assert mates("face seal -8 male", "face seal -8 female")
    assert mates("flange 61 -12 port", "flange 61 -12 head")
    assert CATALOG.why_not("37 flare -6 male", "37 flare -6 female") is None


@pytest.mark.parametrize(
    ("a", "b", "reason"),
    [
        ("face seal -8 male", "face seal -8 male", "both male"),
        ("face seal -8 male", "face seal -6 female", "different sizes"),
        ("37 flare -8 male", "face seal -8 female", "different families"),
        ("37 flare -6 male", "face seal -4 female", "9/16-18"),
        ("flange 61 -12 port", "flange 62 -12 head", "different families"),
        ("24 cone L15 male", "24 cone S14 female", "different sizes"),
    ],
)
def test_others_do_not_mate_and_say_why(a, b, reason):
    assert not mates(a, b)
    assert reason in str(why_not(a, b))
    assert reason in str(why_not(b, a))


@pytest.mark.parametrize(("name", "canonical"), [("HM 46", "HM 46"), ("hm46", "HM 46"), ("HLP 46", "HM 46")])
def test_spellings_of_fluids(name, canonical):
    assert CATALOG.fluid(name).name == canonical


@pytest.mark.parametrize(("name", "told"), [("HM 47", "46"), ("HX 46", "HV"), ("oil", "HM 46")])
def test_unknown_fluid(name, told):
    with pytest.raises(ArgumentError, match=told):
        CATALOG.fluid(name)


def test_fluids_without_a_known_hot_viscosity_leave_it_open():
    fluid = CATALOG.fluid("HFC 46")
    assert fluid.viscosity_100 is None
    assert fluid.highest_temperature == pytest.approx(333.15)
    assert "viscosity_100" not in fluid.sources


def test_high_index_oil_is_thinner_cold_and_thicker_hot():
    assert CATALOG.fluid("HV 46").viscosity_100 > CATALOG.fluid("HM 46").viscosity_100


@pytest.mark.parametrize(
    ("reading", "told"),
    [
        ({"diameter": 20.9}, "mm"),
        ({"diameter": 20e-3, "half": "port"}, "male"),
        ({"diameter": 20e-3, "pitch": 1.5e-3, "threads_per_inch": 16}, "not both"),
        ({"diameter": 20e-3, "threads_per_inch": 1.5}, "1.5"),
        ({"diameter": 20e-3, "pitch": 1.5}, "1500"),
        ({"diameter": 20e-3, "seat": "75 cone"}, "74 cone"),
    ],
)
def test_readings_that_no_thread_has(reading, told):
    with pytest.raises(ArgumentError, match=told):
        catalog.identify(**reading)


def test_nothing_close_gives_no_match():
    assert catalog.identify(18.5e-3, pitch=3.0e-3) == ()


def test_every_thread_is_found_again_first_or_with_the_same_thread():
    """Whoever measures a part as it typically reads finds it, among those that share its thread."""
    for size in connections.all_sizes():
        if size.pitch is None:
            continue
        best = catalog.identify(size.male_diameter - 0.1e-3, pitch=size.pitch)
        first = [match for match in best if match.distance < best[0].distance + 0.5]
        assert size.name in [match.size.name for match in first]


def test_spanner_for_an_inch_hex():
    """A 7/8 inch hex, 22.2 mm, takes the room of the 22 mm spanner; above the table nothing is known."""
    assert catalog.spanner_for(7 / 8 * 25.4e-3).width == pytest.approx(22e-3)
    assert catalog.spanner_for(75e-3) is None


FORMS = CATALOG.end_forms()


def test_example_ends_say_that_they_are_invented():
    for item in (*FORMS, *CATALOG.adapters()):
        assert item.source.confidence == "ours"
        assert "invented" in str(item.source)


def test_example_ends_are_plausible():
    """Ferrule over the thickest hose of its size, bore under the hose's, 25 mm or more held, bent ends drop."""
    for form in FORMS:
        hoses = [hose for hose in CATALOG.hoses() if hose.dash_size == form.dash_size]
        assert all(form.ferrule_diameter > hose.outside_diameter for hose in hoses if hose.outside_diameter)
        assert form.insert_bore < CATALOG.hose(f"2SN -{form.dash_size}").inside_diameter
        assert 25e-3 <= form.insertion <= (45e-3 if form.dash_size <= 16 else 70e-3)
        assert (form.drop > 0.0) == (form.exit_angle > 0.0)
        assert form.roll is (Roll.FIXED if form.connection.endswith(" male") else Roll.SWIVEL)


@pytest.mark.parametrize("family", ["face seal", "37 flare"])
def test_example_ends_cover_the_usual_sizes_and_forms(family):
    for dash_size in (4, 6, 8, 10, 12, 16):
        forms = CATALOG.end_forms(connection=f"{family} -{dash_size} female", dash_size=dash_size)
        bent = [f"{angle} {drop}" for angle in (45, 90) for drop in ("short", "medium", "long")]
        assert [form.name for form in forms] == ["straight", *bent]
        drops = [form.drop for form in forms if form.name.startswith("90")]
        assert drops == sorted(set(drops))


def test_drop_grows_with_size():
    for word in ("45 short", "90 medium"):
        forms = (CATALOG.end_form(word, f"face seal -{dash} female", dash) for dash in (4, 6, 8, 10, 12, 16, 20))
        drops = [form.drop for form in forms]
        assert drops == sorted(set(drops))


def test_ends_that_mate_with_a_port():
    forms = CATALOG.end_forms(mating="flange 61 -12 port", dash_size=12)
    assert {form.connection for form in forms} == {"flange 61 -12 head"}
    assert len(forms) == 7


def test_unknown_end_names_a_near_one():
    with pytest.raises(ArgumentError, match=r"90 shrt.*'90 short'"):
        CATALOG.end_form("90 shrt", "face seal -8 female")


def test_adapter_keeps_the_port_s_connection_unless_told_otherwise():
    one = CATALOG.adapter("90 swivel", "face seal -8 male")
    assert (one.port_side, one.hose_side) == ("face seal -8 female", "face seal -8 male")
    other = CATALOG.adapter("straight", "BSP G1/2 female", "face seal -8 male")
    assert mates(other.port_side, "BSP G1/2 female")
    with pytest.raises(ArgumentError, match="99 swivel"):
        CATALOG.adapter("99 swivel", "face seal -8 male")


def test_hash_is_that_of_the_figures():
    assert CATALOG.hash == catalog.load().hash
    assert len(CATALOG.hash) == 64
