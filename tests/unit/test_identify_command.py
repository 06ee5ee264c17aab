"""`hosewright identify`: words and options, exit status, what is printed and written."""

import json
import math
import os
from functools import partial
from pathlib import Path

import pytest

from hosewright import cli
from hosewright.catalog import sizes
from hosewright.errors import ArgumentError
from hosewright.jobfile.end_words import read_end, read_thread
from hosewright.service import Flange, Thread, identify


@pytest.fixture
def call(command, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("COLUMNS", "200")
    return partial(command, "identify")


def test_options_and_words_give_the_same_answer(call) -> None:
    by_options = call("20.9", "--male", "--tpi", 14, "--parallel")
    by_words = call("male, 20.9 mm, 14 threads per inch, parallel")
    assert by_options == by_words
    assert by_options[0] == 0


def test_what_is_told_of_a_match(call) -> None:
    """Ratings, nut, torque with source and confidence, the mate, look-alikes, and what decides."""
    status, out, _ = call("20.6", "--male", "--tpi", 16)
    assert status == 0
    for part in (
        "1  face seal -8 male   thread 13/16-16, 16 to the inch (1.588 mm), nominal 20.64 mm (-0.04)",
        "mates with face seal -8 female",
        "working pressure 630 bar [SAE J1453-3, working pressures and nuts (standard)]",
        "nut across flats 24 mm",
        "torque 43 to 53 N m [torque ranges of machine builders' manuals, steel, lubricated (practice)]",
        "looks like BSP G1/2: tell by pitch",
        "Most likely face seal -8 male; nothing else reads like this.",
    ):
        assert part in out, part


def test_what_is_not_decided_says_what_to_measure(call) -> None:
    status, out, _ = call("M22x1.5", "male")
    assert status == 0
    last = out.strip().splitlines()[-1]
    assert last == "Not decided: 24 cone L15 male or 24 cone S14 male or metric 30 flare M22x1.5 male."
    assert "recess: measure the bore in which the tube sits, inside the cone (15 mm: 24 cone L15; 14 mm" in out


def test_trade_words_of_options(call) -> None:
    status, out, _ = call(16.6, "--pitch", 1.5, "--female", "--seat", "24° cone", "--recess", "12 mm")
    assert status == 0
    assert "Most likely 24 cone L12 female" in out
    inches = call("13/16 in", "--male", "--seat", "flat face")[1]
    assert "Most likely face seal -8 male" in inches


def test_no_match_has_status_1_and_names_the_nearest(call) -> None:
    status, out, _ = call(18.5, "--male", "--pitch", 3)
    assert status == cli.SOMETHING_FAILS
    assert "24 cone L12 male (thread M18x1.5): +0.5 mm off nominal; pitch speaks against it" in out
    assert "pitch: look again; without it these would match: 37 flare -8" in out


def test_the_wrong_half_is_thought_of(call) -> None:
    """20.96 mm, 14 to the inch is over the thread of a G1/2; inside a female no size has it with a 24 degree cone."""
    out = call(20.6, "--female", "--tpi", 16)[1]
    assert "half: as a male thread it would match face seal -8" in out


@pytest.mark.parametrize(
    ("arguments", "parts"),
    [
        ((), ("which diameter",)),
        (("20.9",), ("male or female",)),
        (("--male",), ("which diameter",)),
        (("20.9", "--male", "--pitch", "1.5", "--tpi", "14"), ("either the pitch or the threads per inch",)),
        (("20.9", "--male", "--seat", "45 cone"), ("45 cone", "74 cone")),
        (("209", "--male"), ("209 mm", "3 and 150")),
        (("20.9", "--male", "--tpi", "900"), ("900", "80")),
        (("20.9 male paralel",), ("paralel", "Did you mean 'parallel'")),
        (("20.9 mm 30 mm male",), ("diameter twice",)),
        (("male 20.9", "--female"), ("half", "option")),
        (("20.9 furlong", "--male"), ("furlong",)),
        (("20.9", "--male", "--pitch", "1.5 bar"), ("1.5 bar",)),
        (("1/0 in", "--male"), ("1/0",)),
    ],
)
def test_wrong_input_is_a_sentence_with_status_2(call, arguments, parts) -> None:
    status, out, err = call(*arguments)
    assert status == cli.BAD_INPUT
    assert out == ""
    assert err.startswith("hosewright: ")
    assert "Traceback" not in err
    for part in parts:
        assert part in err


def test_json(call, tmp_path: Path) -> None:
    target = tmp_path / "thread.json"
    status, out, _ = call(20.9, "--male", "--tpi", 14, "--parallel", "--json", target)
    assert status == 0
    assert "BSP G1/2" in out
    result = json.loads(target.read_text(encoding="utf-8"))
    assert (result["format"], result["version"], result["decided"]) == ("hosewright-identification", 1, None)
    assert result["readings"]["diameter_mm"] == 20.9
    first = result["matches"][0]
    assert (first["connection"], first["mates_with"]) == ("BSP G1/2 male", "BSP G1/2 female")
    assert (first["nominal_mm"], first["difference_mm"], first["threads_per_inch"]) == (20.96, -0.06, 14)
    assert (first["torque_low_nm"], first["working_pressure_bar"]) == (44, None)
    assert "practice" in first["sources"]["torque"]
    assert first["sources"]["working_pressure"] is None
    assert {"connection": "NPT 1/2", "tell_apart_by": "taper and 55 against 60 degree flanks"} in first["look_alikes"]
    again = call(20.9, "--male", "--tpi", 14, "--parallel", "--json", "-")[1]
    assert again == target.read_text(encoding="utf-8")


def test_json_of_no_match(call) -> None:
    status, out, _ = call(18.5, "--male", "--pitch", 3, "--json", "-")
    result = json.loads(out)
    assert status == cli.SOMETHING_FAILS
    assert result["matches"] == []
    assert len(result["nearest"]) == 5
    assert result["nearest"][0]["contradicted"] == ["pitch"]


@pytest.mark.parametrize(
    ("words", "thread"),
    [
        ("male 20,9", Thread(20.9e-3, "male")),
        ("an outside thread of 22 mm, 1.5 mm pitch", Thread(22e-3, "male", 1.5e-3)),
        ("female; 18.9 mm inside; 16 tpi; flat face", Thread(18.9e-3, "female", None, 16, "flat")),
        ("Male thread 33.1 mm, 11 threads to the inch, not tapered", Thread(33.1e-3, "male", None, 11, None, False)),
        ("male 33 mm 11.5 threads/inch taper", Thread(33e-3, "male", None, 11.5, None, True)),
        (
            "22 mm male, pitch 1.5, 24 degree cone, recess 15 mm",
            Thread(22e-3, "male", 1.5e-3, None, "24 cone", None, 15e-3),
        ),
        ("male 13/16 in", Thread(20.6375e-3, "male")),
        ("male 1 5/16 inch 12 tpi 37° flare", Thread(33.3375e-3, "male", None, 12, "74 cone")),
        ("7/8-14 male", Thread(22.225e-3, "male", None, 14)),
        ("1 1/16-12 male", Thread(26.9875e-3, "male", None, 12)),
        ("M 30 x 2 male", Thread(30e-3, "male", 2e-3)),
        # ISO 68-1: the basic minor diameter is 1.082532 pitches below the nominal one, 16.376 mm for M18x1.5
        ("M18x1.5 female", Thread(16.376202e-3, "female", 1.5e-3)),
        # ASME B1.1: the basic minor diameter of 13/16-16 is 0.7448 in
        ("13/16-16 female", Thread(0.744842 * 25.4e-3, "female", None, 16)),
    ],
)
def test_words(words: str, thread: Thread) -> None:
    read = read_thread(words, {})
    assert (read.half, read.seat, read.tapered, read.threads_per_inch) == (
        thread.half, thread.seat, thread.tapered, thread.threads_per_inch,
    )  # fmt: skip
    for name in ("diameter", "pitch", "recess"):
        found, expected = getattr(read, name), getattr(thread, name)
        assert (found is None) == (expected is None)
        assert found is None or math.isclose(found, expected, rel_tol=1e-6)


def test_words_may_not_go_on_for_ever() -> None:
    with pytest.raises(ArgumentError, match="200 characters"):
        read_end("male " * 60, {})


@pytest.mark.parametrize(
    ("words", "bolts", "flange"),
    [
        ("flange 38.1", None, Flange(38.1e-3)),
        ("SAE flange, head 1.5 in", None, Flange(38.1e-3)),
        ("four-bolt flange, bolts 22.2 x 47.6 mm", None, Flange(None, 47.6e-3, 22.2e-3)),
        ("flange head 41.3 mm, bolts 50.8", None, Flange(41.3e-3, 50.8e-3)),
        ("38.1", "47.6 x 22.2", Flange(38.1e-3, 47.6e-3, 22.2e-3)),
        ("", "47.6", Flange(None, 47.6e-3)),
    ],
)
def test_words_about_flanges(words: str, bolts: str | None, flange: Flange) -> None:
    read = read_end(words, {}, bolts)
    for name, expected in vars(flange).items():
        assert getattr(read, name) == (None if expected is None else pytest.approx(expected))


@pytest.mark.parametrize(
    ("arguments", "part"),
    [
        (("flange",), "38.1 mm"),
        (("flange 38.1 foo",), "foo"),
        (("flange 38.1 41.3",), "one flange"),
        (("flange 38.1", "--male"), "no half"),
        (("flange 381",), "381 mm"),
        (("--bolts", "wide"), "wide"),
    ],
)
def test_flanges_that_cannot_be_read(call, arguments, part) -> None:
    status, _, err = call(*arguments)
    assert status == cli.BAD_INPUT
    assert part in err


def test_a_flange_on_the_terminal_and_as_json(call) -> None:
    status, out, _ = call("flange, head 38 mm")
    assert status == 0
    assert "head 38.1 mm, 6.7 mm thick, bolts 47.6 x 22.2 mm, screws M10, nominal 38.1 mm (-0.1)" in out
    assert "torque of each screw 70 N m [screws of class 10.9 (doubtful)]" in out
    assert "looks like flange 62 -12: tell by the head, 38.1 against 41.3 mm, bolts 47.6 against 50.8 mm" in out
    result = json.loads(call("flange, head 38 mm", "--json", "-")[1])
    assert result["decided"] == "flange 61 -12 head"
    assert result["matches"][0]["bolt_spacing_mm"] == [47.6, 22.2]
    assert call("flange 55")[0] == cli.SOMETHING_FAILS


@pytest.mark.parametrize("half", ["male", "female"])
@pytest.mark.parametrize("family", ["24 cone", "BSP", "BSP taper", "NPT"])
def test_every_named_size_is_identified_as_itself(family: str, half: str) -> None:
    for size in sizes(family).values():
        named = f"{size.size[2:]}LL" if size.size.startswith("LL") else f"{size.size[1:]}{size.size[0]}"
        thread = size.thread or ""
        for words in (
            (f"{half} {named}", f"{thread} {named}, {half}") if family == "24 cone" else (f"{half}, {thread}",)
        ):
            if (family, half) == ("NPT", "female"):
                with pytest.raises(ArgumentError, match="measure inside it"):
                    read_thread(words, {})
                continue
            found = identify(read_thread(words, {}))
            assert size.name in [match.size.name for match in found.matches], words


@pytest.mark.parametrize(
    ("words", "diameter", "more"),
    [
        ("12L male", 18.0, {"seat": "24 cone", "recess": 0.012, "pitch": 0.0015}),  # ISO 8434-1: M18x1.5
        ("male, L 12", 18.0, {"seat": "24 cone", "recess": 0.012}),
        ("12 S male", 20.0, {"recess": 0.012}),  # ISO 8434-1: M20x1.5
        ("17.9 mm male, tube 12L", 17.9, {"seat": "24 cone", "recess": 0.012, "pitch": None}),
        ("male G 1/2 A", 20.96, {"tapered": False, "seat": None}),  # ISO 228-1: 20.955 mm
        ("1/2 BSP male", 20.96, {"tapered": None}),
        ("male R1-1/4", 41.91, {"tapered": True}),  # ISO 7-1: 41.910 mm
        ("1 1/4-11.5 NPT male", 42.16, {"tapered": True}),  # ASME B1.20.1: 1.660 in
    ],
)
def test_sizes_of_the_trade_name_a_thread(words: str, diameter: float, more: dict) -> None:
    read = read_thread(words, {})
    assert read.diameter * 1e3 == pytest.approx(diameter, abs=0.011)
    assert {name: getattr(read, name) for name in more} == pytest.approx(more)


@pytest.mark.parametrize(
    ("words", "parts"),
    [
        ("male 13L", ("'13l'", "12L", "15L")),
        ("M20x1.5 12L male", ("24 cone L12", "M18x1.5", "20 mm")),
        ("male 12L 12S", ("size twice",)),
        ("male G7/8", ("'g7/8'", "G3/4")),
        ("12L", ("male or female?",)),
    ],
)
def test_sizes_that_are_none(words: str, parts: tuple[str, ...]) -> None:
    with pytest.raises(ArgumentError) as caught:
        read_thread(words, {})
    for part in parts:
        assert part in str(caught.value)


def test_the_seat_is_echoed_in_the_words_of_the_trade(call) -> None:
    _, out, _ = call("22.1", "--male", "--tpi", 14, "--seat", "37 flare")
    assert "seat 74 cone (a 37 flare)" in out.splitlines()[0]


def test_a_file_that_cannot_be_written_is_told_first(call, tmp_path: Path) -> None:
    status, out, err = call("22.1", "--male", "--json", tmp_path / "none" / "found.json")
    assert (status, out) == (cli.BAD_INPUT, "")
    assert "there is no folder" in err


def test_a_pipe_is_written_into_and_stays_one(call, tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    try:
        call("20.9", "--male", "--tpi", 14, "--json", pipe)
        assert json.loads(os.read(reader, 60_000))["format"] == "hosewright-identification"
    finally:
        os.close(reader)
    assert pipe.is_fifo()
    assert list(tmp_path.iterdir()) == [pipe]


def test_a_link_stays_and_what_it_leads_to_is_written(call, tmp_path: Path) -> None:
    (tmp_path / "far").mkdir()
    target, link = tmp_path / "far" / "found.json", tmp_path / "link.json"
    link.symlink_to(Path("far") / "found.json")  # there is no such file yet
    for diameter in ("20.9", "22.1"):
        call(diameter, "--male", "--json", link)
        assert link.is_symlink()
        assert json.loads(target.read_text(encoding="utf-8"))["readings"]["diameter_mm"] == float(diameter)
    assert list(target.parent.iterdir()) == [target]


def test_a_file_that_cannot_be_written_whole_stays_as_it_was(
    call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "found.json"
    target.write_text("before", encoding="utf-8")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    status, _, err = call("20.9", "--male", "--json", target)
    assert (status, target.read_text(encoding="utf-8")) == (cli.BAD_INPUT, "before")
    assert "No space left" in err
    assert list(tmp_path.iterdir()) == [target]


@pytest.mark.parametrize(
    ("words", "readings"),
    [
        ("male 22 mm pitch 1.5", {"diameter": 0.022, "pitch": 0.0015}),
        ("male 1.5 mm pitch, 22 mm", {"diameter": 0.022, "pitch": 0.0015}),
        ("male 20.9, tpi 14", {"diameter": 0.0209, "threads_per_inch": 14.0}),
        ("male, 37 degree, 7/8-14", {"seat": "74 cone", "threads_per_inch": 14.0}),
        ("male, 24°, 18 mm", {"seat": "24 cone", "diameter": 0.018}),
    ],
)
def test_what_people_say_in_another_order(words: str, readings: dict) -> None:
    read = read_thread(words, {})
    assert {name: getattr(read, name) for name in readings} == pytest.approx(readings)


@pytest.mark.parametrize(
    ("arguments", "part"),
    [
        (("male 20.9 mm 14 theards per inch",), "'theards' in 'male 20.9 mm 14 theards per inch'"),
        (("male 20.9 mm 14 theards per inch",), "Did you mean 'threads'?"),
        (("20.9", "--male", "--tpi", "fourteen"), "'fourteen': give a number, such as 14"),
        (("male 22 mm pitch 15",), "pitch 15 mm: expected between"),
    ],
)
def test_what_is_wrong_is_what_is_named(call, arguments: tuple[str, ...], part: str) -> None:
    status, _, err = call(*arguments)
    assert status == cli.BAD_INPUT
    assert part in err


@pytest.mark.parametrize(
    ("words", "seat"),
    [
        ("flat face with o-ring", "flat"),
        ("flat face, O-ring", "flat"),
        ("O-ring face seal", "flat"),
        ("face seal", "flat"),
        ("orfs", "flat"),
        ("24° cone with O-ring", "24 cone"),
        ("24 degrees cone, oring", "24 cone"),
        ("cone 24", "24 cone"),
        ("cone of 60 degrees", "60 cone"),
        ("seat angle 60°", "60 cone"),
        ("seat 37", "74 cone"),
        ("37 seat", "74 cone"),
        ("flared 37°", "74 cone"),
        ("37 degree flare", "74 cone"),
        ("JIC", "74 cone"),
        ("flare: 30", "30 flare"),
        ("74 cone seat", "74 cone"),
        ("no seat", "none"),
    ],
)
def test_seats_as_people_say_them(words: str, seat: str) -> None:
    for said in (f"male 20.9 mm, {words}", f"{words}, 20.9 mm male", f"male {words} 14 tpi 20.9 mm"):
        read = read_thread(said, {})
        assert (read.seat, read.diameter) == (seat, pytest.approx(0.0209)), said


@pytest.mark.parametrize(
    ("words", "part"),
    [
        ("male 18 mm with o-ring", "'flat face' or '24 cone'"),
        ("male 18 mm flare", "37 or 30"),
        ("male cone 18 mm", "24, 60 or 74"),
        ("male 18 mm, 45 cone", "no seat '45 cone'"),
    ],
)
def test_a_seat_that_is_half_said_is_asked_for(words: str, part: str) -> None:
    with pytest.raises(ArgumentError, match=part):
        read_thread(words, {})


def test_a_decimal_comma_in_an_option(call) -> None:
    assert call("33,2", "--male", "--tpi", "11,5") == call("33.2", "--male", "--tpi", "11.5")
