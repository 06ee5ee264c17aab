"""An assembly as plain data: the numbers that a shop builds it by, rounded once, in mm, degrees, bar, N m and °C.

A bench cuts and marks whole mm, so the cut length, the length of a sleeve and the marks of the clamps are whole here,
for every paper, drawing, bill and plan alike. Ends have cut-offs of half a mm, and lengths of samples are read in
inches: ``computed_cut_length_mm`` is the overall length less both cut-offs to a tenth, and ``cut_length_mm`` that in
whole mm, within half a mm and so well within the tolerance of the overall length. All other lengths stay as computed.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping, Sequence
from typing import Any

from hosewright.assembly import ORIENTATION_CONVENTION, Adapter, Assembly, End, Hose
from hosewright.catalog import Connection, constructions
from hosewright.checks.check import CheckResult, RunResult
from hosewright.checks.run import Clamp
from hosewright.documents.joint_values import read_pose
from hosewright.documents.sleeves import sleeve_kinds
from hosewright.duty import PartRating, rating
from hosewright.errors import ArgumentError
from hosewright.jobfile import JobFile
from hosewright.service import Remake, Sample, remake
from hosewright.service.warning import WEIGHTY
from hosewright.standards import din_20066, mil_dtl_83796
from hosewright.standards.values import Tolerance
from hosewright.words import Sentence, as_data, cited_data, read, whole_mm

PROOF = 2.0
"""Proof pressure over the rating of the assembly: the hose standards ask for twice (EN 853, from memory)."""

INVENTED = "invented"
"""What the source of an example says."""

RUN_ONLY = (
    "line", "fluid", "fluid_temperature_min_c", "fluid_temperature_max_c", "working_pressure_bar", "peak_pressure_bar",
    "sleeve_length_mm",
    "sleeve_over_mm",
)  # fmt: skip
"""Keys that only the run of an assembly can fill."""


def assembly_data(run: RunResult, result: CheckResult, number: str | None = None) -> dict[str, Any]:
    """The assembly of a run with its duty, its clamps and its fitting pose.

    Parameters
    ----------
    run, result
        What was found about the run, and about the job.
    number
        Of the assembly, such as those of :func:`hosewright.documents.assembly_numbers.run_numbers`.
    """
    assembly, duty = run.run.assembly, run.run.duty
    data = parts_data(assembly, _orientation(run), number)
    for end, port in zip(data["ends"], (run.run.port_a, run.run.port_b), strict=True):
        end["port"] = port
    return data | {
        "temperature_max_c": _highest_temperature(assembly.hose, water_based=duty.fluid.fluid_class.water_based),
        "line": str(duty.line),
        "fluid": duty.fluid.name,
        "fluid_temperature_min_c": read(duty.temperature_min, "temperature"),
        "fluid_temperature_max_c": read(duty.temperature_max, "temperature"),
        "working_pressure_bar": read(duty.working_pressure, "pressure"),
        "peak_pressure_bar": read(duty.peak_pressure, "pressure"),
        "sleeve": run.run.sleeve,
        "sleeve_kinds": sleeve_kinds(run, result.job),
        **_sleeve(assembly, sleeve=run.run.sleeve),
        "clamps": [_clamp(clamp, assembly.a) for clamp in run.run.clamps],
        "fitting_pose": read_pose(run.solved.fitting_pose, result.job.machine),
    }


def parts_data(assembly: Assembly, orientation: float | None = None, number: str | None = None) -> dict[str, Any]:
    """What an assembly says of itself, without a machine; what only a run knows is ``None`` or empty.

    Parameters
    ----------
    assembly
        Hose and ends.
    orientation
        Orientation angle to build; the assembly's own unless given. [rad]
    number
        Of the assembly.
    """
    orientation = assembly.orientation_angle if orientation is None else orientation
    bent = min(assembly.a.form.exit_angle, assembly.b.form.exit_angle) > 0.0
    return {
        "number": number,
        **_hose(assembly.hose),
        **_lengths(assembly),
        "orientation_angle_deg": read(orientation % math.tau, "angle") if bent and orientation is not None else None,
        "orientation_tolerance_deg": _orientation_tolerance(assembly) if bent else None,
        "orientation_convention": ORIENTATION_CONVENTION,
        **_rating(assembly),
        **dict.fromkeys(RUN_ONLY),
        "sleeve": False,
        "sleeve_kinds": [],
        "ends": [_end("a", assembly.a), _end("b", assembly.b)],
        "clamps": [],
        "fitting_pose": {},
    }


def samples_data(file: JobFile, date: datetime.date | None, numbers: Sequence[str]) -> list[dict[str, Any]]:
    """The samples of a job with the assemblies that replace them, ``None`` where something is missing.

    Parameters
    ----------
    file
        The job file.
    date
        Of the making, from which ages count.
    numbers
        Of the samples, in their order.
    """
    return [
        _sample(remake(sample, file.catalog, date), number)
        for sample, number in zip(file.samples, numbers, strict=True)
    ]


def _remade(assembly: Assembly, sample: Sample, number: str) -> dict[str, Any]:
    told = {"working_pressure_bar": read(sample.working_pressure, "pressure"), "fluid": sample.fluid}
    return parts_data(assembly, number=number) | told


def _sample(made: Remake, number: str) -> dict[str, Any]:
    return {
        "name": made.name,
        "number": number,
        "assembly": None if made.assembly is None else _remade(made.assembly, made.sample, number),
        "warnings": [
            {
                "kind": one.kind,
                "text": str(one.told),
                "said": as_data(one.told),
                "source": None if one.source is None else str(one.source),
                "source_said": cited_data(one.source),
                "weighty": one.rank < WEIGHTY,
                "stops": one.stops,
            }
            for one in made.warnings
        ],
        "missing": list(made.missing),
        "stops": [{"text": one.text, "said": as_data(one.said)} for one in made.warnings if one.stops],
    }


def _orientation(run: RunResult) -> float | None:
    # as built, else as the fitting pose asks
    built = run.run.assembly.orientation_angle
    return run.solved.orientation if built is None else built


def _hose(hose: Hose) -> dict[str, Any]:
    known = constructions().get(hose.construction)
    return {
        "hose": hose.name,
        "construction": hose.construction if known is None else f"{hose.construction}, {known.reinforcement}",
        "dash_size": hose.dash_size,
        "standard": None if known is None else known.standard,
        "inside_diameter_mm": read(hose.inside_diameter, "length"),
        "outside_diameter_mm": read(hose.outside_diameter, "length"),
        "minimum_bend_radius_mm": read(hose.minimum_bend_radius, "length"),
        "temperature_min_c": read(hose.lowest_temperature, "temperature"),
        "temperature_max_c": _highest_temperature(hose, water_based=False),
    }


def _highest_temperature(hose: Hose, *, water_based: bool) -> float | None:
    return read(hose.highest_temperature_water if water_based else hose.highest_temperature, "temperature")


def _lengths(assembly: Assembly) -> dict[str, Any]:
    tolerance = _length_tolerance(assembly)
    computed = read(assembly.cut_length, "length") or 0.0
    return {
        "overall_length_mm": read(assembly.overall_length, "length"),
        "overall_plus_mm": None if tolerance is None else read(tolerance.plus, "length"),
        "overall_minus_mm": None if tolerance is None else read(tolerance.minus, "length"),
        "overall_least_mm": None if tolerance is None else read(assembly.overall_length - tolerance.minus, "length"),
        "overall_greatest_mm": None if tolerance is None else read(assembly.overall_length + tolerance.plus, "length"),
        "tolerance_source": None if tolerance is None else str(tolerance.source),
        "tolerance_source_said": None if tolerance is None else cited_data(tolerance.source),
        "cut_length_mm": whole_mm(computed),
        "computed_cut_length_mm": computed,
        "free_length_mm": read(assembly.free_length, "length"),
    }


def _length_tolerance(assembly: Assembly) -> Tolerance | None:
    try:
        return din_20066.length_tolerance(assembly.overall_length, assembly.hose.inside_diameter)
    except ArgumentError:  # a bore that the table does not cover
        return None


def _orientation_tolerance(assembly: Assembly) -> float | None:
    return read(mil_dtl_83796.orientation_tolerance(assembly.overall_length).plus, "angle")


def _rating(assembly: Assembly) -> dict[str, Any]:
    """What the weakest part bears, and its proof pressure; unknown as long as the rating of a part is doubtful."""
    whole = rating(assembly)
    pressure = None if whole.loose else whole.max_working_pressure
    weakest = whole.weakest if pressure is not None else None
    own = next(part for part in whole.parts if part.place == "hose")
    return {
        "hose_working_pressure_bar": read(own.max_working_pressure if own.is_firm else None, "pressure"),
        "rating_bar": read(pressure, "pressure"),
        "rating_part": None if weakest is None else f"{weakest.place}: {weakest.name}",
        "rating_part_said": None if weakest is None else as_data(_part(weakest)),
        "rating_unknown": [f"{part.place}: {part.name}" for part in whole.loose],
        "rating_unknown_said": [as_data(_part(part)) for part in whole.loose],
        "proof_pressure_bar": None if pressure is None else read(PROOF * pressure, "pressure"),
    }


def _part(part: PartRating) -> Sentence:
    end = Sentence.of("common.end", name=part.place[-1])
    place = Sentence.of("common.hose") if part.place == "hose" else end
    return Sentence.of("names.placed_part", place=place, part=part.said)


def _end(name: str, end: End) -> dict[str, Any]:
    form = end.form
    return {
        "name": name,
        "port": None,
        "form": form.name,
        "connection": form.connection,
        "clock_deg": read(end.clock, "angle"),
        "exit_angle_deg": read(form.exit_angle, "angle"),
        "drop_mm": read(form.drop, "length"),
        "cutoff_mm": read(form.cutoff, "length"),
        "insertion_mm": read(form.insertion, "length"),
        "ferrule_diameter_mm": read(form.ferrule_diameter, "length"),
        "ferrule_length_mm": read(form.ferrule_length, "length"),
        "insert_bore_mm": read(form.insert_bore, "length"),
        "nut_width_mm": read(form.nut_width, "length"),
        "hex_width_mm": read(form.hex_width, "length"),
        "source": None if form.source is None else str(form.source),
        "source_said": cited_data(form.source),
        **_torque(form.connection),
        "adapters": [_adapter(adapter, clock) for adapter, clock in end.adapters],
    }


def _adapter(adapter: Adapter, clock: float) -> dict[str, Any]:
    return {
        "name": adapter.name,
        "clock_deg": read(clock, "angle"),
        "angle_deg": read(adapter.angle, "angle"),
        "port_side": adapter.port_side,
        "hose_side": adapter.hose_side,
        "live": adapter.live,
        **_torque(adapter.port_side),
    }


def is_invented(end: Mapping[str, Any]) -> bool:
    """Whether an end of the contract is one of the example set, whose dimensions and ratings fit no real one."""
    return INVENTED in str(end["source"])


def _torque(connection: str) -> dict[str, Any]:
    try:
        size = Connection.parse(connection).data
    except ArgumentError:  # a connection of a shop's own
        return dict.fromkeys(("torque_low_nm", "torque_high_nm", "torque_source", "torque_source_said"))
    source = size.sources.get("torque_low")
    return {
        "torque_low_nm": read(size.torque_low, "torque"),
        "torque_high_nm": read(size.torque_high, "torque"),
        "torque_source": None if source is None or size.torque_low is None else str(source),
        "torque_source_said": None if size.torque_low is None else cited_data(source),
    }


def _sleeve(assembly: Assembly, *, sleeve: bool) -> dict[str, Any]:
    """Length of a sleeve that covers both ferrules, and the widest that it is drawn over before crimping.

    Where the data gives no ferrule, it reaches to the ends of the hose.
    """
    if not sleeve:
        return dict.fromkeys(("sleeve_length_mm", "sleeve_over_mm"))
    forms = assembly.a.form, assembly.b.form
    ferrules = [form.ferrule_length for form in forms if form.ferrule_length is not None]
    length = assembly.free_length + sum(ferrules) if len(ferrules) == len(forms) else assembly.cut_length
    widths = [assembly.hose.outside_diameter, *(form.ferrule_diameter for form in forms)]
    over = max((width for width in widths if width is not None), default=None)
    return {"sleeve_length_mm": whole_mm(1e3 * length), "sleeve_over_mm": read(over, "length")}


def _clamp(clamp: Clamp, a: End) -> dict[str, Any]:
    return {
        "mount": clamp.mount,
        "at_mm": read(clamp.at, "length"),
        "mark_mm": whole_mm(1e3 * (clamp.at + a.form.insertion + a.form.cutoff)),
        "hold": str(clamp.hold),
    }
