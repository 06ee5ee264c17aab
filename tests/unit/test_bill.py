import csv
import io
from collections import Counter
from dataclasses import replace
from decimal import Decimal

import pytest
from pypdf import PdfReader

import counter_papers
from counter_papers import EXAMPLES, bundle_of, counter_bundle, priced_catalog
from hosewright.assembly import Adapter
from hosewright.checks.check import check
from hosewright.documents import cutting
from hosewright.documents.bill import Item, bill, files
from hosewright.documents.bundle import Bundle
from hosewright.documents.cutting import Method
from hosewright.errors import DataError
from hosewright.jobfile import read_job
from hosewright.settings import read_settings


def text_of(data):
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)
    return " ".join(text.replace("\N{NO-BREAK SPACE}", " ").split())


def rows(data):
    return list(csv.DictReader(io.StringIO(data.decode("utf-8"))))


def buildable(one):
    """The papers as if no rule failed: what fails is neither ordered nor cut."""
    return replace(one, data={**one.data, "runs": [{**run, "findings": []} for run in one.data["runs"]]})


def bundle(**settings):
    return buildable(counter_papers.bundle(**settings))


def priced_bundle(**settings):
    return buildable(counter_papers.priced_bundle(**settings))


def with_assemblies(one, **changes):
    """The papers with other figures in every assembly of the contract."""
    runs = [{**run, "assembly": {**run["assembly"], **changes}} for run in one.data["runs"]]
    return replace(one, data={**one.data, "runs": runs})


def test_hose_is_the_pieces_with_kerfs_trims_and_waste():
    one = bundle(kerf=0.004, reel_trim=0.1)
    lengths = [run["assembly"]["cut_length_mm"] for run in one.data["runs"] if run["assembly"]["hose"] == "2SC -8"]
    item = next(item for item in bill(one).items if item.name == "2SC -8")
    assert (item.kind, item.unit) == ("hose", "m")
    assert item.quantity == pytest.approx((sum(lengths) + 4.0 * len(lengths) + 100.0) / 1e3)


def test_a_rest_too_short_to_keep_is_charged():
    one = bundle(reel_lengths=(4.2,), least_offcut=0.3)
    cut = next(cut for cut in bill(one).cuts if cut.hose == "2SC -8")
    (reel,) = cut.plan.reels
    assert 0.0 < reel.offcut < 300.0
    assert cut.used_up == 4200.0
    kept = next(cut for cut in bill(bundle(reel_lengths=(4.2,), least_offcut=0.0)).cuts if cut.hose == "2SC -8")
    assert kept.used_up == pytest.approx(4200.0 - reel.offcut)


def test_every_end_is_counted():
    one = bundle()
    counted = {(item.name, item.hose_size): item.quantity for item in bill(one).items if item.kind == "end"}
    expected = Counter(
        (f"{end['form']}, {end['connection']}", run["assembly"]["dash_size"])
        for run in one.data["runs"]
        for end in run["assembly"]["ends"]
    )
    assert counted == expected
    assert expected.total() == 2 * len(one.data["runs"])
    lines = {row["item"]: row["quantity"] for row in rows(dict(files(one))["bill.csv"]) if row["kind"] == "end"}
    assert lines == {f"{name}, hose -{size}": str(count) for (name, size), count in expected.items()}


def test_adapters_sleeves_and_clamps():
    one = bundle()
    elbow = Adapter("90 elbow", "face seal -8 male", "face seal -8 male", 1.57, 0.03, 0.03, price=4.5)
    first = one.result.runs[0]
    end = replace(first.run.assembly.a, adapters=((elbow, 0.0), (elbow, 0.0)))
    run = replace(first.run, assembly=replace(first.run.assembly, a=end))
    result = replace(one.result, runs=(replace(first, run=run), *one.result.runs[1:]))
    clamps = [{"mount": "m1"}, {"mount": "m2"}]
    sleeve = {"sleeve": True, "sleeve_length_mm": 500.0, "sleeve_over_mm": 27.0, "sleeve_kinds": ["abrasion", "heat"]}
    made = bill(with_assemblies(replace(one, result=result), clamps=clamps, **sleeve))
    items = {(item.kind, item.name): item for item in made.items}
    assert items["adapter", "90 elbow, face seal -8 male > face seal -8 male"].quantity == 2
    assert items["adapter", "90 elbow, face seal -8 male > face seal -8 male"].total == Decimal("9.00")
    hoses = [run["assembly"]["hose"] for run in one.data["runs"]]
    for hose in set(hoses):
        assert items["clamp", hose].quantity == 2 * hoses.count(hose)
        assert items["sleeve", hose].quantity == 0.5 * hoses.count(hose)
    over = {run["assembly"]["hose"]: run["assembly"]["outside_diameter_mm"] for run in one.data["runs"]}
    text = text_of(dict(files(with_assemblies(one, clamps=clamps, **sleeve)))["bill.pdf"])
    for hose in over:
        assert f"Protective sleeve against abrasion and heat, for hose {hose}, drawn over ⌀ 27 mm" in text
        assert f"Clamp for hose {hose}, ⌀ {over[hose]:g} mm, with its sleeve" in text


def test_prices_are_multiplied_and_summed():
    made = bill(priced_bundle())
    totals = [item.total for item in made.items if item.total is not None]
    hose = next(item for item in made.items if item.name == "2SC -8")
    assert hose.price == 7.35
    assert hose.total == (Decimal(str(hose.quantity)) * Decimal("7.35")).quantize(Decimal("0.01"))
    assert made.total == sum(totals)
    assert made.unpriced == len(made.items) - len(totals) > 0


def test_halves_of_a_hundredth_round_up_as_in_trade():
    assert Item("hose", "x", 1.5, "m", 0.03).total == Decimal("0.05")
    assert Item("hose", "x", 3.0, "", 0.335).total == Decimal("1.01")


def test_without_prices_there_is_no_column_and_no_sum():
    made = dict(files(bundle()))
    assert "Price each" not in text_of(made["bill.pdf"])
    assert {row["kind"] for row in rows(made["bill.csv"])} >= {"hose", "end"}
    assert "sum" not in {row["kind"] for row in rows(made["bill.csv"])}


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("language", ["en", "de"])
def test_every_figure_of_the_bill_is_on_paper(language, system):
    one = priced_bundle(language=language, units=system, paper="letter")
    text = text_of(dict(files(one))["bill.pdf"])
    made = bill(one)

    def shown(value, unit=""):
        write = one.figures.at_least if unit == "m" else one.figures
        return write(value, unit).replace("\N{NO-BREAK SPACE}", " ")

    for item in made.items:
        assert item.name in text
        assert shown(item.quantity, item.unit) in text
        if item.total is not None:
            assert f"{item.total}".replace(".", one.texts.decimal_mark) in text
    for run in one.data["runs"]:
        assert run["assembly"]["number"] in text
        assert one.figures.cut(run["assembly"]["cut_length_mm"]).replace("\N{NO-BREAK SPACE}", " ") in text
    assert f"{made.total}".replace(".", one.texts.decimal_mark) in text
    assert one.texts("bill.method_shortest") in text
    assert one.texts("bill.unpriced", count=made.unpriced) in text


@pytest.mark.parametrize("method", list(Method))
def test_the_paper_says_how_the_plan_was_found(method, monkeypatch):
    from hosewright.documents import bill as maker

    def found(*given):
        return replace(cutting.cutting_plan(*given), method=method)

    monkeypatch.setattr(maker, "cutting_plan", found)
    text = text_of(dict(files(bundle()))["bill.pdf"])
    keys = {Method.SHORTEST: "(proven)", Method.FOUND: "broken off", Method.FIRST_FIT: "would take too long"}
    assert [key for key, words in keys.items() if words in text] == [method]


def test_a_hose_longer_than_every_reel_is_ordered_in_one_piece():
    made = dict(files(bundle(reel_lengths=(1.2,))))
    special = [row for row in rows(made["bill.csv"]) if row["kind"] == "hose_special"]
    long = [run["assembly"] for run in bundle().data["runs"] if run["assembly"]["cut_length_mm"] > 1150]
    assert sorted(float(row["quantity"]) for row in special) == sorted(one["cut_length_mm"] / 1e3 for one in long)
    text = text_of(made["bill.pdf"])
    for one in long:
        assert f"{one['number']}, {one['cut_length_mm']:g} mm: longer than every reel" in text


def test_cutting_table_adds_up_to_the_reels():
    one = bundle(reel_lengths=(2.5, 6.0))
    lines = rows(dict(files(one))["cutting.csv"])
    named = {(row["piece"], row["for"]) for row in lines if row["for"]}
    assert named == {(run["assembly"]["number"], run["name"]) for run in one.data["runs"]}
    reels = {(row["hose"], row["reel"]) for row in lines}
    for hose, reel in reels:
        mine = [row for row in lines if (row["hose"], row["reel"]) == (hose, reel)]
        pieces = [row for row in mine if row["piece"] not in ("offcut", "waste")]
        total = sum(float(row["length_mm"]) for row in mine) + 3.0 * len(pieces) + 50.0
        assert total == pytest.approx(float(mine[0]["reel_length_mm"]))


def test_a_reel_with_very_many_pieces_runs_over_its_page():
    one = bundle()
    first, result = one.data["runs"][0], one.result.runs[0]
    names = [f"run {k}" for k in range(100)]
    runs = [
        {**first, "name": name, "findings": [], "assembly": {**first["assembly"], "number": f"No{name[4:]}."}}
        for name in names
    ]
    results = tuple(replace(result, run=replace(result.run, name=name)) for name in names)
    long = replace(one, result=replace(one.result, runs=results), data={**one.data, "runs": runs})
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(dict(files(long))["bill.pdf"])).pages]
    assert len(pages) > 1
    assert all(any(run["assembly"]["number"] in page for page in pages) for run in runs)
    assert all("2SC -6, reel " in page for page in pages)


def test_assemblies_that_fail_are_neither_ordered_nor_cut():
    one = counter_papers.bundle()
    made = dict(files(one))
    text = text_of(made["bill.pdf"])
    failing = [run for run in one.data["runs"] if any(f["verdict"] == "fail" for f in run["findings"])]
    assert failing
    assert text.count("DO NOT BUILD") == 1
    numbers = {row["piece"] for row in rows(made["cutting.csv"])}
    for run in failing:
        assert f"{run['assembly']['number']}, {run['name']}: " in text
        assert run["assembly"]["number"] not in numbers
    told = {row["item"] for row in rows(made["bill.csv"]) if row["kind"] == "not to be built"}
    assert told == {f"{run['assembly']['number']}, {run['name']}" for run in failing}
    ends = sum(int(row["quantity"]) for row in rows(made["bill.csv"]) if row["kind"] == "end")
    assert ends == 2 * (len(one.data["runs"]) - len(failing))
    assert "DO NOT BUILD" not in text_of(dict(files(bundle()))["bill.pdf"])


def test_a_job_without_assemblies_has_no_papers():
    one = bundle()
    empty = replace(one, result=replace(one.result, runs=()), data={**one.data, "runs": []})
    assert list(files(empty)) == []


def test_samples_that_can_be_made_again_count():
    one = counter_bundle()
    known = [sample["assembly"] for sample in one.data["samples"] if sample["assembly"] is not None]
    left_out = [sample["name"] for sample in one.data["samples"] if sample["assembly"] is None]
    assert (len(known), left_out) == (3, ["hose from the shed"])
    made = dict(files(one))
    lines = rows(made["cutting.csv"])
    cut = {(row["hose"], row["piece"], float(row["length_mm"])) for row in lines if row["for"]}
    assert cut == {(data["hose"], data["number"], data["cut_length_mm"]) for data in known}
    assert sum(int(row["quantity"]) for row in rows(made["bill.csv"]) if row["kind"] == "end") == 2 * len(known)
    text = text_of(made["bill.pdf"])
    assert "as not enough is known of: hose from the shed." in text
    assert all(sample["name"] in text for sample in one.data["samples"])


def test_samples_are_priced_like_runs():
    file = read_job(EXAMPLES / "counter.toml", priced_catalog())
    made = bill(Bundle.make(file, check(file.job), counter_bundle().settings))
    assert {item.name: item.price for item in made.items if item.kind == "hose"}["2SC -8"] == 7.35
    assert all(item.price is not None for item in made.items if item.kind == "end")


def test_runs_and_samples_share_reels():
    platform, counter = ((EXAMPLES / name).read_text("utf-8") for name in ("platform.toml", "counter.toml"))
    both = buildable(bundle_of(platform + counter[counter.index("[[assembly]]") :]))
    cut = next(cut for cut in bill(both).cuts if cut.hose == "2SC -8")
    parts = [run["assembly"] for run in both.data["runs"]] + [one["assembly"] for one in both.data["samples"][:3]]
    lengths = sorted((data["cut_length_mm"] for data in parts if data["hose"] == "2SC -8"), reverse=True)
    assert [piece.length for reel in cut.plan.reels for piece in reel.pieces] == lengths
    assert len(cut.plan.reels) == 1


def test_equal_numbers_keep_their_names():
    names = sorted(run["name"] for run in bundle().data["runs"])
    same = with_assemblies(bundle(), number="H-1")
    assert sorted(row["for"] for row in rows(dict(files(same))["cutting.csv"]) if row["piece"] == "H-1") == names


def test_same_bytes_again():
    assert dict(files(priced_bundle())) == dict(files(priced_bundle()))


def test_what_cutting_loses_is_set_by_the_shop(tmp_path):
    path = tmp_path / "settings.toml"
    path.write_text('kerf = 2.5\nreel_trim = "2 in"\nleast_offcut = "40 cm"\n', encoding="utf-8")
    read = read_settings(path)
    assert (read.kerf, read.reel_trim, read.least_offcut) == pytest.approx((0.0025, 0.0508, 0.4))


@pytest.mark.parametrize("line", ["kerf = -1", 'reel_trim = "1 m"', 'least_offcut = "3"', "kerf = nan"])
def test_a_loss_that_cannot_be_is_refused(tmp_path, line):
    path = tmp_path / "settings.toml"
    path.write_text(line, encoding="utf-8")
    with pytest.raises(DataError, match=f"settings.toml:1:[0-9]+: {line.split(' =')[0]}: "):
        read_settings(path)
