"""Connection: every two halves mate, one end can turn when it is fitted, and both ends take the hose's size.

The measures are counts: of joints that do not mate, of ends that can turn, of ends of another size than the hose.
"""

from __future__ import annotations

from hosewright.assembly import Assembly, End, Roll
from hosewright.catalog import Connection, why_not
from hosewright.catalog.hoses import BY_TUBE
from hosewright.checks.finding import Finding, Verdict, judge
from hosewright.checks.run import Job, Run
from hosewright.checks.text import millimetres
from hosewright.errors import ArgumentError
from hosewright.machine.description import named
from hosewright.sources import Confidence, Source

RULE = "connection"

HALVES = Source("connection standards", "the two halves of one family and size mate")
TURNING = Source("common practice, no source", "a nut or a flange at one end at least", Confidence.PRACTICE)
SIZES = Source("SAE J517", "dash sizes of hose and end fittings", Confidence.MEMORY)


def check(run: Run, job: Job) -> list[Finding]:
    """A finding for each end, one for turning and one for the size of the hose."""
    assembly = run.assembly
    return [
        _mating("end a", run.port_a, assembly.a, job),
        _mating("end b", run.port_b, assembly.b, job),
        _turning(assembly),
        _hose_size(assembly),
    ]


def _mating(place: str, port: str, end: End, job: Job) -> Finding:
    connection = named(job.machine.ports, port, "port").connection
    if not connection:
        return _count(place, None, 0.0, HALVES, f"the job does not say which connection port {port} has")
    try:
        reasons = [why_not(*joint) for joint in _joints(connection, end)]
    except ArgumentError as error:
        return _count(place, None, 0.0, HALVES, str(error))
    against = [reason for reason in reasons if reason is not None]
    through = "".join(f", adapter {adapter.name}" for adapter, _ in end.adapters)
    text = "; ".join(against) or f"port {port}{through} and the {end.form.name} end mate ({end.form.connection})"
    return _count(place, float(len(against)), 0.0, HALVES, text)


def _joints(port: str, end: End) -> list[tuple[str, str]]:
    """Connections that meet, two by two from the port outwards."""
    sides = [port, *(side for one, _ in end.adapters for side in (one.port_side, one.hose_side)), end.form.connection]
    return list(zip(sides[::2], sides[1::2], strict=True))


def _turning(assembly: Assembly) -> Finding:
    able = [name for name, end in (("a", assembly.a), ("b", assembly.b)) if _turns(end)]
    measure: float | None = float(len(able))
    if able:
        text = f"end {' and end '.join(able)} can turn when the hose is fitted"
    else:
        text = "neither end can turn: the second one cannot be screwed in without twisting the hose"
    if not able and (assembly.a.adapters or assembly.b.adapters):
        measure = None
        text = "neither end can turn, and the data does not say whether an adapter can"
    return _count("turning when fitted", measure, 1.0, TURNING, text, at_least=True)


def _turns(end: End) -> bool:
    if end.form.roll is not Roll.FIXED:
        return True
    try:
        return Connection.parse(end.form.connection).half == "head"  # a flange turns until it is bolted down
    except ArgumentError:
        return False


def _hose_size(assembly: Assembly) -> Finding:
    hose, subject = assembly.hose, "size of the hose"
    forms = (("a", assembly.a.form), ("b", assembly.b.form))
    odd = [(place, form) for place, form in forms if form.dash_size != hose.dash_size]
    if odd:
        ends = " and ".join(f"end {place} is for -{form.dash_size}" for place, form in odd)
        return _count(subject, float(len(odd)), 0.0, SIZES, f"{ends}, the hose is -{hose.dash_size}")
    text = f"hose and both ends are -{hose.dash_size}"
    finding = _count(subject, 0.0, 0.0, SIZES, text)
    if hose.construction not in BY_TUBE:
        return finding
    text += f", but {hose.construction} counts by the tube: see that the ends are for a bore of "
    text += millimetres(hose.inside_diameter)
    return Finding(RULE, subject, Verdict.ADVICE, "count", 0.0, 0.0, False, SIZES, text)


def _count(
    subject: str, measure: float | None, limit: float, source: Source, text: str, *, at_least: bool = False
) -> Finding:
    verdict = judge(measure, limit, at_least=at_least, source=source)
    return Finding(RULE, subject, verdict, "count", measure, limit, at_least, source, text)
