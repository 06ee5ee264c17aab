import datetime
import io
from dataclasses import replace

import pypdfium2
import pytest
import segno
import zxingcpp
from pypdf import PdfReader

from counter_papers import bundle, counter_bundle
from hosewright.documents import tags
from hosewright.documents.tags import coded, files, picture, quarter
from hosewright.standards.iso_7064 import is_whole
from hosewright.words import Texts


def changed(one, times=1, **assembly):
    """The papers with all runs free of failing findings, so many times over, some figures changed."""
    runs = [
        {
            **run,
            "findings": [finding for finding in run["findings"] if finding["verdict"] != "fail"],
            "assembly": {**run["assembly"], "number": f"{run['assembly']['number']}-{k}", **assembly},
        }
        for k in range(times)
        for run in one.data["runs"]
    ]
    return replace(one, data={**one.data, "runs": runs, "warnings": []})


def scanned(data, dots_per_inch=150):
    """Texts of all codes on all pages, as an independent reader finds them in a grey render."""
    document = pypdfium2.PdfDocument(data)
    pages = [page.render(scale=dots_per_inch / 72, grayscale=True).to_pil() for page in document]
    document.close()
    return [code for page in pages for code in zxingcpp.read_barcodes(page)]


def text_of(data):
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", ["tags.pdf", "tag-labels.pdf"])
def test_every_code_is_read_from_a_render_at_150_dots_per_inch(paper, name):
    one = changed(bundle(paper=paper), times=3)
    codes = scanned(dict(files(one))[name])
    expected = [coded(run["assembly"]["number"]) for run in one.data["runs"]]
    assert sorted(code.text for code in codes) == sorted(expected)
    assert {code.symbology for code in codes} == {zxingcpp.BarcodeFormat.QRCode}
    assert all(is_whole(code.text) for code in codes)


def test_a_long_number_is_read_too():
    one = changed(bundle(), number="ORCHARD/PLATFORM-2026/LIFT-CYLINDER/ROD-SIDE/000123456789")
    assert {code.text for code in scanned(dict(files(one))["tag-labels.pdf"])} == {
        coded(one.data["runs"][0]["assembly"]["number"])
    }


def test_the_code_keeps_its_quiet_zone_and_is_no_micro_code():
    """ISO/IEC 18004: four modules of quiet zone."""
    code = segno.make_qr("H-3F2A-7/K0", error="m")
    assert not code.is_micro
    size = code.symbol_size(border=4)[0]
    assert f'viewBox="0 0 {size} {size}"' in picture("H-3F2A-7/K0").decode()


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("language", ["en", "de"])
def test_what_a_label_says_is_what_the_contract_says(language, system):
    one = changed(bundle(language=language, units=system))
    for _, data in files(one):
        text = text_of(data)
        for run in one.data["runs"]:
            assembly = run["assembly"]
            for part in (
                coded(assembly["number"]),
                assembly["hose"],
                one.figures.at_most(assembly["rating_bar"], "bar"),
                one.figures.cut(assembly["overall_length_mm"]),
                one.settings.shop,
                "Q3 / 2026",
            ):
                assert part.replace("\N{NO-BREAK SPACE}", " ") in text.replace("\N{NO-BREAK SPACE}", " ")


def test_an_assembly_that_fails_gets_no_code_and_no_pressure():
    one = bundle()
    stopped = [run for run in one.data["runs"] if any(f["verdict"] == "fail" for f in run["findings"])]
    assert stopped
    pages = PdfReader(io.BytesIO(dict(files(one))["tag-labels.pdf"])).pages
    for run, page in zip(one.data["runs"], pages, strict=True):
        text = page.extract_text()
        rules = {finding["rule"] for finding in run["findings"] if finding["verdict"] == "fail"}
        assert ("DO NOT BUILD" in text) == bool(rules)
        assert ("max. working pressure" in text) == (not rules)
        assert all(one.texts(f"rules.{rule}") in " ".join(text.split()) for rule in rules)
    good = [coded(run["assembly"]["number"]) for run in one.data["runs"] if run not in stopped]
    assert sorted(code.text for code in scanned(dict(files(one))["tags.pdf"])) == sorted(good)


def test_an_unknown_rating_says_so():
    assert "unknown" in text_of(dict(files(changed(bundle(), rating_bar=None)))["tag-labels.pdf"])


@pytest.mark.parametrize(("month", "part"), [(1, 1), (3, 1), (4, 2), (9, 3), (10, 4), (12, 4)])
def test_quarter(month, part):
    assert quarter(datetime.date(2026, month, 28), Texts.load("en")) == f"Q{part} / 2026"


def test_without_a_date_there_is_a_blank_to_fill_in():
    text = text_of(dict(files(changed(bundle(date=None))))["tag-labels.pdf"])
    assert tags.BLANK.replace("\N{NO-BREAK SPACE}", " ") in text.replace("\N{NO-BREAK SPACE}", " ")
    assert "2026" not in text


def test_fourteen_labels_a_sheet():
    sheet = dict(files(changed(bundle(), times=3)))["tags.pdf"]
    assert len(PdfReader(io.BytesIO(sheet)).pages) == 2  # 18 labels


@pytest.mark.parametrize(
    ("paper", "size"), [("a4", (210 / 25.4, 297 / 25.4)), ("letter", (8.5, 11.0))], ids=["a4", "letter"]
)
def test_labels_lie_on_their_grid(paper, size):
    """The pitch of the codes' left corners is that of the sheet: 101.6 mm by 38.1 mm, or 4 3/16 by 1 1/3 inch."""
    one = changed(bundle(paper=paper), times=2)
    data = dict(files(one))["tags.pdf"]
    page = PdfReader(io.BytesIO(data)).pages[0]
    assert (page.mediabox.width / 72, page.mediabox.height / 72) == pytest.approx(size, abs=0.01)
    corners = [(code.position.top_left.x / 150, code.position.top_left.y / 150) for code in scanned(data)]
    across = sorted({round(x, 1) for x, _ in corners})
    down = sorted(y for x, y in corners if round(x, 1) == across[0])
    pitch = (4.0, 1.5) if paper == "a4" else (4.1875, 4 / 3)
    assert across[-1] - across[0] == pytest.approx(pitch[0], abs=0.1)
    assert down[1] - down[0] == pytest.approx(pitch[1], abs=0.02)


def test_same_bytes_again():
    assert dict(files(bundle())) == dict(files(bundle()))


def test_tags_of_example_ends_say_so():
    one = changed(bundle())
    assert text_of(dict(files(one))["tag-labels.pdf"]).count("EXAMPLE") == len(one.data["runs"])
    real = [{**end, "source": "a data sheet (data sheet)"} for end in one.data["runs"][0]["assembly"]["ends"]]
    assert "EXAMPLE" not in text_of(dict(files(changed(bundle(), ends=real)))["tag-labels.pdf"])


def test_long_names_stay_within_the_label():
    shop = "The workshop of the large orchard behind the hill by the river, second yard on the left"
    one = changed(bundle(shop=shop), hose="a hose with a very long name of the shop's own")
    text = text_of(dict(files(one))["tag-labels.pdf"])
    (line,) = {line for line in text.splitlines() if line.startswith("The workshop")}
    assert line.endswith("…")
    assert shop.startswith(line[:-1])
    length = one.data["runs"][0]["assembly"]["overall_length_mm"]
    assert f"{length:g} mm" in text.replace("\N{NO-BREAK SPACE}", " ")


def frames(paper, name, width, height):
    """Where the labels of a page lie: left, bottom, right, top within their border. [mm]"""
    if name == "tag-labels.pdf":
        left, top, across, size = 0.0, 0.0, 0.0, (width, height)
    elif paper == "a4":
        left, top, across, size = 4.65, 15.15, 101.6, (99.1, 38.1)
    else:
        left, top, across, size = 25.4 * 5 / 32, 25.4 * 5 / 6, 25.4 * 4.1875, (101.6, 25.4 * 4 / 3)
    for row in range(7 if across else 1):
        for column in range(2 if across else 1):
            x, y = left + column * across, height - top - row * size[1]
            yield x + 1.0, y - size[1] + 1.0, x + size[0] - 1.0, y - 1.0


def outside(paper, name, data):
    """Signs that lie in no label, or across its border."""
    for page in pypdfium2.PdfDocument(data):
        width, height = (25.4 / 72 * length for length in page.get_size())
        boxes = list(frames(paper, name, width, height))
        text = page.get_textpage()
        for k in range(text.count_chars()):
            x0, y0, x1, y1 = (25.4 / 72 * place for place in text.get_charbox(k))
            if not any(a <= x0 and b <= y0 and x1 <= c and y1 <= d for a, b, c, d in boxes):
                yield text.get_text_range(k, 1)


SAID = {"key": "findings.steady", "values": {}}
LONG = {
    "number": "ORCHARDPLATFORM2026LIFTCYLINDERRODSIDE0001234567890123456789",
    "hose": "a hose with a very long name of the shop's own",
    "rating_bar": 1034.25,
    "overall_length_mm": 123456.7,
}


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_nothing_is_cut_off(paper, language, system):
    shop = "W" * 60  # the widest letter
    one = bundle(paper=paper, language=language, units=system, shop=shop, date=None)
    rules = list(one.texts.section("rules"))
    runs = [
        {
            **run,
            "name": "the lift cylinder of the cherry-picking platform, rod side",
            "assembly": {**run["assembly"], **LONG},
            "findings": [{"rule": rule, "verdict": "fail", "said": SAID} for rule in rules if failing],
        }
        for failing in (False, True)
        for run in one.data["runs"]
    ]
    for name, data in files(replace(one, data={**one.data, "runs": runs, "warnings": []})):
        assert list(outside(paper, name, data)) == []


def test_samples_get_labels_as_runs_do():
    one = counter_bundle()
    known = [sample for sample in one.data["samples"] if sample["assembly"] is not None]
    assert len(known) == 3
    for _, data in files(one):
        assert {code.text for code in scanned(data)} == {coded(sample["number"]) for sample in known}
        text = " ".join(text_of(data).split())
        assert all(sample["name"] in text for sample in known)
        assert "hose from the shed" not in text


def test_a_job_without_assemblies_has_no_labels():
    one = counter_bundle()
    assert list(files(replace(one, data={**one.data, "samples": []}))) == []
