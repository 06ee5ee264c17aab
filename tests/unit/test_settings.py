"""Settings of a shop: what is read, and what is said about what cannot be."""

from pathlib import Path

import pytest

from hosewright import settings
from hosewright.errors import ArgumentError, DataError
from hosewright.settings import Settings, read_settings

PNG = b"\x89PNG\r\n\x1a\n" + b"0" * 20


def written(folder: Path, text: str) -> Path:
    path = folder / "shop.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_everything_that_can_be_set(tmp_path: Path) -> None:
    (tmp_path / "mark.SVG").write_text("<svg/>", encoding="utf-8")
    text = """
        shop = " Orchard & <Söhne> "
        address = ["Cherry Lane 1", "Orchard"]
        logo = "mark.SVG"
        units = "us"
        language = "de"
        paper = "letter"
        reel_lengths = ["100 m", "164 ft"]
    """
    read = read_settings(written(tmp_path, text))
    assert (read.shop, read.address) == ("Orchard & <Söhne>", ("Cherry Lane 1", "Orchard"))
    assert (read.units, read.language, read.paper) == ("us", "de", "letter")
    assert read.reel_lengths == pytest.approx((49.9872, 100.0))
    assert read.logo is not None
    assert (read.logo.name, read.logo.content) == ("logo.svg", b"<svg/>")


def test_without_a_file_the_usual_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(settings, "user_file", lambda: tmp_path / "none.toml")
    assert read_settings() == Settings()


def test_the_file_of_the_user_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(settings, "user_file", lambda: written(tmp_path, 'language = "de"'))
    assert read_settings().language == "de"
    assert settings.user_file().suffix == ".toml"


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ('languag = "de"', ("languag", "Did you mean 'language'")),
        ('language = "fr"', ("language", "'fr'", "en, de")),
        ('paper = "a3"', ("a3", "a4, letter")),
        ("units = 3", ("units: 3 is no", "metric, us")),
        ('units = "usa"', ("'usa'", "Did you mean 'us'?")),
        ("shop = 3", ("shop", "got 3")),
        (f'shop = "{"x" * 300}"', ("shop", "200")),
        ("reel_lengths = [50]", ("reel_lengths", "[50]", '"50 m"')),
        ('reel_lengths = ["50 bar"]', ("reel_lengths", "50 bar")),
        ("reel_lengths = []", ("reel_lengths", "[]")),
        ('logo = "logo.gif"', ("logo.gif", "SVG nor a PNG")),
        ('logo = "none.png"', ("no file", "none.png")),
        ('logo = "fake.png"', ("fake.png", "no PNG picture")),
        ("shop = ", (":1:8", "'shop' has no value")),
        ('address = ["a" "b"]', (":1:16", "a comma is missing")),
        ("kerf = 901", ("kerf", "900 mm", "901")),
        ("[shop]\nname = 1", ("shop", "in quotes", "a table with name")),
    ],
)
def test_what_is_wrong_is_said_with_its_value(tmp_path: Path, text: str, parts: tuple[str, ...]) -> None:
    (tmp_path / "fake.png").write_text("<svg/>", encoding="utf-8")
    with pytest.raises(DataError) as caught:
        read_settings(written(tmp_path, text))
    for part in ("shop.toml", *parts):
        assert part in str(caught.value)


def test_a_named_file_has_to_be_there(tmp_path: Path) -> None:
    with pytest.raises(DataError, match=r"no file .*none\.toml"):
        read_settings(tmp_path / "none.toml")
    (tmp_path / "latin.toml").write_bytes("shop = 'Söhne'".encode("latin-1"))
    with pytest.raises(DataError, match="is not UTF-8 text"):
        read_settings(tmp_path / "latin.toml")


def test_a_picture_of_dots_is_taken(tmp_path: Path) -> None:
    (tmp_path / "logo.png").write_bytes(PNG)
    logo = read_settings(written(tmp_path, 'logo = "logo.png"')).logo
    assert logo is not None
    assert logo.content == PNG


def test_capitals_do_not_matter(tmp_path: Path) -> None:
    read = read_settings(written(tmp_path, 'units = "US"\nlanguage = "DE "\npaper = "Letter"'))
    assert (read.units, read.language, read.paper) == ("us", "de", "letter")


def test_all_that_is_wrong_is_told_at_once_in_the_order_of_the_file(tmp_path: Path) -> None:
    text = 'papr = "a4"\nlanguage = "fr"\nlogo = "none.png"\nreel_lengths = [50]\nkerf = "3 bar"\naddress = [1]\n'
    with pytest.raises(DataError) as caught:
        read_settings(written(tmp_path, text))
    heads = [line for line in str(caught.value).splitlines() if "shop.toml" in line]
    assert [line.split("shop.toml:")[1].partition(":")[0] for line in heads] == ["1", "2", "3", "4", "5", "6"]
    assert "Did you mean 'paper'?" in heads[0]


def test_words_on_the_spot_count_before_the_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = written(tmp_path, 'units = "us"\nlanguage = "de"')
    read = read_settings(path, units="Metric", language=None, paper="LETTER")
    assert (read.units, read.language, read.paper) == ("metric", "de", "letter")
    monkeypatch.setattr(settings, "user_file", lambda: tmp_path / "none.toml")
    assert read_settings(units="us") == Settings(units="us")
    with pytest.raises(ArgumentError, match=r"'latter' is no paper.*a4, letter.*Did you mean 'letter'"):
        read_settings(paper="latter")
