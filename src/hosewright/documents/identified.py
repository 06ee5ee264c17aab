"""What a thread in the hand is, for the terminal and as JSON."""

from __future__ import annotations

import json
from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from hosewright import __version__
from hosewright.catalog import Match, Size, families
from hosewright.service import Flange, Identification, Near, Thread
from hosewright.service.identify import connection, mate
from hosewright.words import read

FORMAT, VERSION = "hosewright-identification", 1
INCH_MM = 25.4

SEATS = {"74 cone": "74 cone (a 37 flare)", "none": "none (seals on the thread)"}
"""Seats with the words that the trade has for them."""

NOMINAL = {
    "male": "male_diameter",
    "female": "female_diameter",
    "head": "head_diameter",
    "port": "bolt_spacing_long",
}
"""The figure of a size that the first reading is compared with, by half."""


def as_dict(found: Identification, catalog: str) -> dict[str, Any]:
    """The identification as plain data, in mm, bar and N m, numbers rounded once and for all.

    Parameters
    ----------
    found
        What was identified.
    catalog
        Version of the catalog.
    """
    return {
        "format": FORMAT,
        "version": VERSION,
        "program": f"hosewright {__version__}",
        "catalog": catalog,
        "readings": _readings(found.reading),
        "decided": None if found.best is None else str(connection(found.best)),
        "matches": [_match(match) for match in found.matches],
        "nearest": [_near(near) for near in found.near],
        "measure_next": list(map(str, found.measure_next)),
    }


def as_text(found: Identification, catalog: str) -> str:
    """The identification as JSON text; the same input gives the same bytes."""
    return json.dumps(as_dict(found, catalog), indent=2, ensure_ascii=False) + "\n"


def _readings(reading: Thread | Flange) -> dict[str, Any]:
    if isinstance(reading, Flange):
        return {f"{name}_mm": _mm(value) for name, value in vars(reading).items()}
    return _thread_readings(reading)


def _thread_readings(thread: Thread) -> dict[str, Any]:
    return {
        "diameter_mm": _mm(thread.diameter),
        "half": thread.half,
        "pitch_mm": _mm(thread.pitch),
        "threads_per_inch": thread.threads_per_inch,
        "seat": thread.seat,
        "tapered": thread.tapered,
        "recess_mm": _mm(thread.recess),
    }


def _mm(length: float | None) -> float | None:
    """To a hundredth, as a caliper reads."""
    return None if length is None else round(length * 1e3, 2) + 0.0


def _match(match: Match) -> dict[str, Any]:
    return {
        "connection": str(connection(match)),
        "mates_with": str(mate(match)),
        "difference_mm": _mm(match.diameter_error),
        "distance": round(match.distance, 2),
        **_size(match.size, match.half),
        "look_alikes": [{"connection": name, "tell_apart_by": tell} for name, tell in match.look_alikes],
    }


def _near(near: Near) -> dict[str, Any]:
    return {
        "connection": str(connection(near)),
        "difference_mm": _mm(near.diameter_error),
        "contradicted": list(near.contradicted),
        "thread": near.size.thread,
    }


def _size(size: Size, half: str) -> dict[str, Any]:
    family = families()[size.family]
    nominal = NOMINAL[half]
    return {
        "standard": family.standard,
        "thread": size.thread,
        "screw": size.screw,
        "nominal_mm": _mm(getattr(size, nominal)),
        "pitch_mm": None if size.pitch is None else round(size.pitch * 1e3, 3),
        "threads_per_inch": _threads_per_inch(size),
        "seat": family.seat,
        "seal": family.seal,
        "tapered": family.tapered,
        "recess_mm": _mm(size.tube_diameter),
        "head_diameter_mm": _mm(size.head_diameter),
        "head_thickness_mm": _mm(size.head_thickness),
        "bolt_spacing_mm": None
        if size.bolt_spacing_long is None
        else [_mm(size.bolt_spacing_long), _mm(size.bolt_spacing_short)],
        "working_pressure_bar": read(size.max_working_pressure, "pressure"),
        "nut_width_mm": _mm(size.nut_width),
        "torque_low_nm": _newton_metres(size.torque_low),
        "torque_high_nm": _newton_metres(size.torque_high),
        "sources": {
            "thread": _source(size, nominal),
            "working_pressure": _source(size, "max_working_pressure"),
            "nut_width": _source(size, "nut_width"),
            "torque": _source(size, "torque_low"),
        },
    }


def _threads_per_inch(size: Size) -> float | None:
    """Whole or half threads per inch; ``None`` for a metric pitch."""
    if size.pitch is None:
        return None
    threads = INCH_MM / (size.pitch * 1e3)
    whole = round(2.0 * threads) / 2.0
    return whole if abs(threads - whole) < 0.02 else None


def _newton_metres(torque: float | None) -> float | None:
    return None if torque is None else round(torque, 1)


def _source(size: Size, attribute: str) -> str | None:
    """Where a figure comes from; ``None`` where there is none."""
    return None if getattr(size, attribute) is None else str(size.sources[attribute])


def show(found: Identification, console: Console) -> None:
    """Print what the thread may be, the likeliest first, and what to measure next."""
    data = as_dict(found, "")
    console.print(Text(f"Read: {_said(data['readings'])}", style="dim"))
    if not data["matches"]:
        _show_none(data, console)
    for number, match in enumerate(data["matches"], start=1):
        _show_match(number, match, console)
    if data["measure_next"]:
        heading = "Measure again:" if not data["matches"] else "To decide, measure next:"
        console.print(Text(f"\n{heading}", style="bold"))
        for line in data["measure_next"]:
            console.print(Padding(Text(f"- {line}"), (0, 0, 0, 2)))
    console.print(Text(f"\n{_verdict(found, data)}", style="bold"))


def _said(readings: dict[str, Any]) -> str:
    if "half" not in readings:
        words = {"head_diameter_mm": "head", "bolts_long_mm": "bolts", "bolts_short_mm": "by"}
        told = (f"{word} {readings[key]:g} mm" for key, word in words.items() if readings[key] is not None)
        return f"flange, {', '.join(told)}"
    taper = {None: None, True: "tapered", False: "parallel"}[readings["tapered"]]
    parts = [f"{readings['half']} thread, {readings['diameter_mm']:g} mm"]
    parts += [f"pitch {readings['pitch_mm']:g} mm"] if readings["pitch_mm"] else []
    parts += [f"{readings['threads_per_inch']:g} to the inch"] if readings["threads_per_inch"] else []
    parts += [f"seat {SEATS.get(readings['seat'], readings['seat'])}"] if readings["seat"] else []
    parts += [taper] if taper else []
    parts += [f"recess {readings['recess_mm']:g} mm"] if readings["recess_mm"] else []
    return ", ".join(parts)


def _show_match(number: int, match: dict[str, Any], console: Console) -> None:
    heading = Text(f"\n{number}  {match['connection']}", style="bold")
    nominal = f"nominal {match['nominal_mm']:g} mm ({match['difference_mm']:+g})"
    heading.append(f"   {_made_of(match)}, {nominal}", style="not bold")
    console.print(heading)
    seat = "seals on the thread" if match["seat"] == "none" else f"seat {match['seat']}, seals by {match['seal']}"
    lines = [f"{match['standard']}; {seat}; mates with {match['mates_with']}", *_details(match)]
    lines += [f"looks like {one['connection']}: tell by {one['tell_apart_by']}" for one in match["look_alikes"]]
    for line in lines:
        console.print(Padding(Text(line), (0, 0, 0, 3)))


def _made_of(match: dict[str, Any]) -> str:
    if match["thread"] is not None:
        return f"thread {match['thread']}, {_pitch(match)}"
    long, short = match["bolt_spacing_mm"]
    head = f"head {match['head_diameter_mm']:g} mm, {match['head_thickness_mm']:g} mm thick"
    return f"{head}, bolts {long:g} x {short:g} mm, screws {match['screw']}"


def _pitch(match: dict[str, Any]) -> str:
    threads, pitch = match["threads_per_inch"], match["pitch_mm"]
    return f"pitch {pitch:g} mm" if threads is None else f"{threads:g} to the inch ({pitch:g} mm)"


def _details(match: dict[str, Any]) -> list[str]:
    sources, low, high = match["sources"], match["torque_low_nm"], match["torque_high_nm"]
    torque = None if low is None else f"{low:g} N m" if high in (low, None) else f"{low:g} to {high:g} N m"
    pressure, nut = match["working_pressure_bar"], match["nut_width_mm"]
    details = [
        _detail("working pressure", None if pressure is None else f"{pressure:g} bar", sources["working_pressure"]),
        _detail("torque of each screw" if match["screw"] else "torque", torque, sources["torque"]),
    ]
    if not match["screw"]:
        details.insert(1, _detail("nut across flats", None if nut is None else f"{nut:g} mm", sources["nut_width"]))
    return details


def _detail(name: str, figure: str | None, source: str | None) -> str:
    return f"{name}: not tabulated, take it from the maker" if figure is None else f"{name} {figure} [{source}]"


def _show_none(data: dict[str, Any], console: Console) -> None:
    console.print(Text("\nNo known connection reads like this. The nearest:", style="bold"))
    for near in data["nearest"]:
        against = f"; {', '.join(near['contradicted'])} speaks against it" if near["contradicted"] else ""
        thread = f" (thread {near['thread']})" if near["thread"] else ""
        line = f"{near['connection']}{thread}: {near['difference_mm']:+g} mm off nominal{against}"
        console.print(Padding(Text(line), (0, 0, 0, 3)))


def _verdict(found: Identification, data: dict[str, Any]) -> str:
    if not found.matches:
        return "Not identified."
    if found.best is None:
        return "Not decided: " + " or ".join(str(connection(match)) for match in found.undecided) + "."
    others = len(found.matches) - 1
    rest = f"{others} less likely" if others else "nothing else reads like this"
    return f"Most likely {data['decided']}; {rest}."
