"""What could be built: hoses by duty, and end forms and adapters that mate with the ports."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from hosewright.assembly import Adapter, Assembly, End, EndForm, Hose, Roll
from hosewright.catalog import Catalog
from hosewright.checks import built_twist
from hosewright.checks.check import duty_findings
from hosewright.checks.finding import Finding, Verdict
from hosewright.checks.run import Job, Run
from hosewright.search.request import EndRequest, Request

CLOCK_STEP = math.radians(45.0)
"""Clock angles of bent ends at which the search begins."""
NEEDED = ("outside_diameter", "minimum_bend_radius", "shorter", "longer", "bending_stiffness", "mass_per_length")
"""Data without which a hose's shape proves nothing."""
TYPICAL_LENGTH = 1.0
"""Free length on which the duty of a hose is judged before its length is known. [m]"""


@dataclass(frozen=True)
class Refused:
    """A family of candidates and the rule that refused it.

    Attributes
    ----------
    family
        Such as ``"4SP -8"`` or ``"90 long at a"``.
    rule
        That refused it.
    text
        Why, with figures.
    """

    family: str
    rule: str
    text: str


@dataclass(frozen=True)
class Hoses:
    """Hoses that carry a duty, the lightest first, and those that do not."""

    fitting: tuple[Hose, ...]
    refused: tuple[Refused, ...]


def hoses(request: Request, job: Job, catalog: Catalog) -> Hoses:
    """Hoses that carry the duty of a request and that ends of both ports take."""
    wanted = [request.hose] if request.hose is not None else list(catalog.hoses())
    fitting: list[Hose] = []
    refused: list[Refused] = []
    sizes: Counter[int] = Counter()
    for hose in wanted:
        ends = [straightest(end, hose.dash_size, catalog) for end in (request.a, request.b)]
        if ends[0] is None or ends[1] is None:
            sizes[hose.dash_size] += 1
            continue
        problem = _refusal(request, job, hose, ends[0], ends[1])
        if problem is None:
            fitting.append(hose)
        else:
            refused.append(problem)
    for size, count in sorted(sizes.items()):
        name = wanted[0].name if request.hose is not None else f"{count} hoses of -{size}"
        refused.append(Refused(name, "connection", _no_end(request, size, catalog)))
    complete = [hose for hose in fitting if not _missing(hose)]
    if complete and request.hose is None:
        refused += [
            Refused(hose.name, "data", f"its data gives no {_missing(hose)[0].replace('_', ' ')}")
            for hose in fitting
            if _missing(hose)
        ]
        fitting = complete
    fitting = [hose for hose in fitting if hose.bending_stiffness is not None]
    return Hoses(tuple(sorted(fitting, key=lambda hose: (hose.mass_per_length or 99.0, hose.name))), tuple(refused))


def undominated(some: Sequence[Hose]) -> tuple[Hose, ...]:
    """Hoses that no other of their size betters in mass, radius, diameter, length change and stiffness at once."""
    return tuple(one for one in some if not any(_betters(other, one) for other in some if other is not one))


def _betters(other: Hose, one: Hose) -> bool:
    if other.dash_size != one.dash_size:
        return False
    pairs = [
        (getattr(other, name) or 99.0, getattr(one, name) or 99.0)
        for name in ("mass_per_length", "minimum_bend_radius", "outside_diameter", "shorter", "longer")
    ]
    pairs.append((-_stiffness_for_weight(other), -_stiffness_for_weight(one)))
    return all(a <= b for a, b in pairs) and any(a < b for a, b in pairs)


def _stiffness_for_weight(hose: Hose) -> float:
    # what keeps a hose from sagging
    return (hose.bending_stiffness or 0.0) / (hose.mass_per_length or 99.0)


def _missing(hose: Hose) -> list[str]:
    return [name for name in NEEDED if getattr(hose, name) is None]


def _no_end(request: Request, size: int, catalog: Catalog) -> str:
    for end in (request.a, request.b):
        if straightest(end, size, catalog) is None:
            form = f"'{end.form}' end" if end.form else "end"
            return f"no {form} for -{size} hose mates with {end.connection} at port {end.port}"
    return ""


def _refusal(request: Request, job: Job, hose: Hose, a: End, b: End) -> Refused | None:
    ends = a.form.cutoff + a.form.insertion + b.form.cutoff + b.form.insertion
    length = max(request.overall_length or 0.0, ends + TYPICAL_LENGTH)
    run = Run(request.name, request.a.port, request.b.port, request.duty, Assembly(hose, a, b, length))
    bad = [f for f in duty_findings(run, job) if _refuses(f)]
    return Refused(hose.name, bad[0].rule, bad[0].text) if bad else None


def _refuses(finding: Finding) -> bool:
    # a doubtful figure that does not suffice refuses, too; the twist as built depends on a length not known yet
    if finding.rule == built_twist.RULE:
        return False
    doubtful = finding.verdict is Verdict.UNKNOWN and finding.limit is not None
    return finding.verdict is Verdict.FAIL or (doubtful and (finding.margin or 0.0) < 0.0)


def nearest_in_pressure(request: Request, job: Job, catalog: Catalog) -> Finding | None:
    """The pressure finding of the hose that comes nearest to bearing the duty, where none does."""
    nearest: Finding | None = None
    for hose in catalog.hoses():
        a, b = (straightest(end, hose.dash_size, catalog) for end in (request.a, request.b))
        if a is None or b is None:
            continue
        length = a.form.cutoff + a.form.insertion + b.form.cutoff + b.form.insertion + TYPICAL_LENGTH
        run = Run(request.name, request.a.port, request.b.port, request.duty, Assembly(hose, a, b, length))
        margins = [f for f in duty_findings(run, job) if f.rule == "pressure" and f.margin is not None]
        nearest = max([*margins, *([nearest] if nearest else [])], key=lambda f: f.margin or 0.0, default=None)
    return nearest


def straightest(end: EndRequest, size: int, catalog: Catalog) -> End | None:
    """The straight end of a port for a hose size, else the one that bends least; ``None`` where there is none."""
    found = sorted(forms(end, size, catalog, chain(end)), key=lambda form: (form.exit_angle, form.drop))
    return End(found[0], end.clock or 0.0, chain(end)) if found else None


def chain(end: EndRequest) -> tuple[tuple[Adapter, float], ...]:
    """Adapters that the user fixed; none where the choice is left open."""
    return end.adapters or ()


def forms(
    end: EndRequest, size: int, catalog: Catalog, adapters: Sequence[tuple[Adapter, float]]
) -> tuple[EndForm, ...]:
    """End forms for a hose size that mate behind adapters, as far as the user leaves them open."""
    seat = adapters[-1][0].hose_side if adapters else end.connection
    return tuple(
        form
        for form in catalog.end_forms(dash_size=size, mating=seat)
        if (end.form is None or form.name in (end.form, end.form.casefold()))
        and (end.mates_as is None or form.connection == end.mates_as)
    )


def clocks(end: EndRequest, form: EndForm, step: float = CLOCK_STEP) -> Iterator[float]:
    """Clock angles to begin with."""
    if form.exit_angle == 0.0:
        yield end.clock or 0.0
    elif end.clock is not None:
        yield end.clock
    elif form.roll is Roll.FIXED:
        yield 0.0
    else:
        if form.roll is Roll.STEPPED and form.step:
            step = form.step * max(1, round(step / form.step))
        for k in range(max(1, round(math.tau / step))):
            yield k * step


def first_ends(end: EndRequest, size: int, catalog: Catalog) -> list[End]:
    """Ends to begin with: of each exit angle the form of the least drop, at a few clock angles; no free adapters."""
    adapters = chain(end)
    found = forms(end, size, catalog, adapters)
    return [End(form, clock, adapters) for form in _least_drops(found) for clock in clocks(end, form)]


def _least_drops(found: Iterable[EndForm]) -> list[EndForm]:
    # a shop's ends of one angle differ in drop; of ends with one drop those that can turn come first
    best: dict[float, EndForm] = {}
    for form in sorted(found, key=lambda form: (form.roll is Roll.FIXED, form.drop, form.name)):
        best.setdefault(form.exit_angle, form)
    return list(best.values())


def adapted_ends(end: EndRequest, size: int, catalog: Catalog, *, live: bool) -> list[End]:
    """Straight ends behind one adapter that the search may add, where the user leaves adapters open."""
    if end.adapters is not None or end.form not in (None, "straight"):
        return []
    found: list[End] = []
    for adapter in catalog.adapters(port=end.connection):
        if adapter.live is not live:
            continue
        step = CLOCK_STEP if adapter.angle > 0.0 else math.tau
        for k in range(round(math.tau / step)):
            behind = ((adapter, k * step),)
            straight = [form for form in forms(end, size, catalog, behind) if form.exit_angle == 0.0]
            turning = sorted(straight, key=lambda form: form.roll is Roll.FIXED)
            found += [End(form, end.clock or 0.0, behind) for form in turning[:1]]
    return found
