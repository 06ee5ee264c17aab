"""What a sleeve must withstand, told from what lies or stands beside the hose."""

from __future__ import annotations

import pytest

from build_sheet_jobs import JOB, checked
from hosewright.documents.sleeves import against_what, sleeve_kinds
from hosewright.words import Texts

BARE = JOB.replace("sleeve = true\n", "")
COOL = JOB.replace("working = 55, max = 80", "working = 40, max = 49")
HARMLESS = COOL.replace("working = 175.5, peak = 211", "working = 20, peak = 40")


def post(name: str, beside: float, surface: str) -> str:
    """An upright post so far beside the hose of the first run, 15 mm in radius."""
    ends = f"from = [480, {beside}, 0], to = [480, {beside}, 1200]"
    return f'\n[[obstacle]]\nname = "{name}"\ncylinder = {{ {ends}, diameter = 30 }}\nsurface = "{surface}"\n'


def operator(away: float) -> str:
    return f'\n[[operator]]\nname = "driver"\nat = [480, {-away}, 500]\n'


def kinds(text: str) -> list[str]:
    file, result = checked(text)
    return sleeve_kinds(result.runs[0], file.job)


@pytest.mark.parametrize(
    ("beside", "wanted"),
    [
        ("", []),
        (post("edge", 45.0, "sharp"), ["abrasion"]),
        (post("edge", 200.0, "sharp"), []),
        (post("exhaust", 100.0, "hot"), ["heat"]),  # 74 mm off, of the 100 mm that a bare hose keeps
        (post("exhaust", 200.0, "hot"), []),
        (post("beam", 45.0, "plain"), []),
        (operator(600.0), ["spray"]),
        (operator(1500.0), []),
        (operator(600.0) + post("exhaust", 100.0, "hot") + post("edge", -45.0, "sharp"), ["abrasion", "heat", "spray"]),
    ],
)
def test_kinds_follow_from_what_is_near(beside: str, wanted: list[str]) -> None:
    assert kinds(JOB + beside) == wanted


def test_without_a_sleeve_there_is_no_kind() -> None:
    assert kinds(BARE + operator(600.0) + post("edge", 45.0, "sharp")) == []


def test_a_hose_that_harms_nobody_needs_no_guard() -> None:
    """Up to 50 bar and 50 degrees (ISO 4413 in spirit, from memory)."""
    assert kinds(HARMLESS + operator(600.0)) == []
    assert kinds(COOL + operator(600.0)) == ["spray"]


@pytest.mark.parametrize(
    ("found", "words"), [([], ""), (["heat"], "heat"), (["abrasion", "heat"], "abrasion and heat")]
)
def test_kinds_in_words(found: list[str], words: str) -> None:
    assert against_what(found, Texts.load("en")) == words
