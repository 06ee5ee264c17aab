"""Connection: every two halves mate, one end can turn when it is fitted, and both ends take the hose's size.

The measures are counts: of joints that do not mate, of ends that can turn, of ends of another size than the hose.
"""

from __future__ import annotations

from hosewright.assembly import Assembly, End, Roll
from hosewright.catalog import Connection, why_not
from hosewright.catalog.hoses import BY_TUBE
from hosewright.checks.finding import Finding, Verdict, judge
from hosewright.checks.run import Job, Run
from hosewright.errors import ArgumentError
from hosewright.machine.description import named
from hosewright.sources import Confidence, Source
from hosewright.words import Figure, Name, Sentence, Value, one_after_another, said_by

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
        return _count(place, None, 0.0, HALVES, Sentence.of("findings.no_connection", port=port))
    try:
        reasons = [why_not(*joint) for joint in _joints(connection, end)]
    except ArgumentError as error:
        return _count(place, None, 0.0, HALVES, said_by(error))
    against = [reason for reason in reasons if reason is not None]
    said = one_after_another(against) if against else _mate(port, end)
    return _count(place, float(len(against)), 0.0, HALVES, said)


def _mate(port: str, end: End) -> Sentence:
    between: Value = port
    for adapter, _ in end.adapters:
        between = Sentence.of("findings.behind_adapter", port=between, adapter=Name(adapter.name))
    connection = Name(end.form.connection, "connections")
    return Sentence.of("findings.mate", port=between, form=Name(end.form.name), connection=connection)


def _joints(port: str, end: End) -> list[tuple[str, str]]:
    """Connections that meet, two by two from the port outwards."""
    sides = [port, *(side for one, _ in end.adapters for side in (one.port_side, one.hose_side)), end.form.connection]
    return list(zip(sides[::2], sides[1::2], strict=True))


def _turning(assembly: Assembly) -> Finding:
    able = [Name(f"end {name}") for name, end in (("a", assembly.a), ("b", assembly.b)) if _turns(end)]
    measure: float | None = float(len(able))
    said = Sentence.of("findings.can_turn", ends=tuple(able)) if able else Sentence.of("findings.none_turns")
    if not able and (assembly.a.adapters or assembly.b.adapters):
        measure = None
        said = Sentence.of("findings.adapter_may_turn")
    return _count("turning when fitted", measure, 1.0, TURNING, said, at_least=True)


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
        ends = tuple(
            Sentence.of("findings.end_for_size", end=Name(f"end {place}"), size=form.dash_size) for place, form in odd
        )
        said = Sentence.of("findings.other_size_of_hose", ends=ends, size=hose.dash_size)
        return _count(subject, float(len(odd)), 0.0, SIZES, said)
    said = Sentence.of("findings.one_size", size=hose.dash_size)
    if hose.construction not in BY_TUBE:
        return _count(subject, 0.0, 0.0, SIZES, said)
    bore = Figure.length(hose.inside_diameter, 1)
    said = Sentence.of("findings.size_by_tube", said=said, construction=hose.construction, bore=bore)
    return Finding(RULE, subject, Verdict.ADVICE, "count", 0.0, 0.0, False, SIZES, said)


def _count(
    subject: str, measure: float | None, limit: float, source: Source, said: Sentence, *, at_least: bool = False
) -> Finding:
    verdict = judge(measure, limit, at_least=at_least, source=source)
    return Finding(RULE, subject, verdict, "count", measure, limit, at_least, source, said)
