"""A sample made again: the assembly that replaces it, what is missing to choose it, and what speaks against it.

References
----------
DIN 20066 and DGUV Regel 113-020: ages of hose and assemblies; nothing of the old assembly is used again.
SAE J517: the rating of an assembly is that of its weakest part.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field

from hosewright.assembly import Assembly, End, EndForm, Hose
from hosewright.catalog import Catalog, Connection
from hosewright.errors import ArgumentError
from hosewright.service import advice
from hosewright.service.forms import drop_is_off, end_form
from hosewright.service.identify import Thread, connection, identify
from hosewright.service.length import excess, reach
from hosewright.service.markings import Markings, read_markings
from hosewright.service.orientation import between, has_sense, ours
from hosewright.service.sample import Reach, Sample, SampleEnd
from hosewright.service.warning import RemakeWarning
from hosewright.sources import Source


@dataclass(frozen=True)
class Remake:
    """What re-making a sample comes to.

    Attributes
    ----------
    assembly
        ``None`` as long as something is missing.
    missing
        What must be known first, each as a sentence.
    """

    name: str
    number: str | None
    assembly: Assembly | None
    warnings: tuple[RemakeWarning, ...]
    missing: tuple[str, ...]
    sample: Sample


def remake(sample: Sample, catalog: Catalog, date: datetime.date | None = None) -> Remake:
    """The assembly that replaces a sample, with every doubt about it.

    Parameters
    ----------
    sample
        As taken down at the counter.
    catalog
        To choose hose and ends from.
    date
        Of the making; without it ages are given in years alone.
    """
    bench = _Bench(sample, catalog, date)
    assembly = bench.assembly()
    return Remake(
        sample.name,
        sample.number,
        None if bench.missing else assembly,
        tuple(dict.fromkeys(bench.warnings)),
        tuple(dict.fromkeys(bench.missing)),
        sample,
    )


@dataclass
class _Bench:
    """One re-making: gathers warnings and what is missing."""

    sample: Sample
    catalog: Catalog
    date: datetime.date | None
    warnings: list[RemakeWarning] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)

    def assembly(self) -> Assembly | None:
        markings = read_markings(self.sample.markings, self.catalog) if self.sample.markings else None
        hose = self._hose(markings)
        ends = self._ends()
        connections = tuple(self._connection(name, end) for name, end in zip("ab", ends, strict=True))
        self.warnings += advice.look_alikes(ends, connections)
        forms = tuple(
            self._form(name, end, half, hose) for name, end, half in zip("ab", ends, connections, strict=True)
        )
        length = self._length(ends, forms)
        made = self._made(hose, ends, forms, length)
        self.warnings += advice.about(self.sample, self.catalog, self.date, markings, hose, made)
        return made

    def _hose(self, markings: Markings | None) -> Hose | None:
        read = self._marked_hose(markings) if markings is not None else None
        if self.sample.hose is None:
            if read is None:
                self.missing.append(_unknown_hose(markings))
            return read
        try:
            hose = self.catalog.hose(self.sample.hose)
        except ArgumentError as error:
            self.missing.append(f"hose: {error}")
            return None
        if read is not None and read.name != hose.name:
            self._warn("markings", f"the markings say {read.name}, the sample is taken down as {hose.name}")
        return hose

    def _marked_hose(self, markings: Markings) -> Hose | None:
        if len(markings.hoses) > 1:
            names = " and ".join(hose.name for hose in markings.hoses)
            self._warn("markings", f"the markings name two sizes, {names}: measure the bore")
        elif self.sample.hose is None and markings.hose is not None:
            self._warn("markings", f"the hose is taken as {markings.hose.name}, as the markings say")
        elif self.sample.hose is None and not markings.candidates:
            known = f"construction {markings.construction}" if markings.construction else "no construction"
            self._warn("markings", f"'{markings.text}' names {known} and no size that is known")
        return markings.hose

    def _ends(self) -> tuple[SampleEnd, SampleEnd]:
        given = self.sample.ends
        for name in "ab"[len(given) :]:
            self.missing.append(f"end {name}: nothing is said about it")
        first, second = (*given, SampleEnd(), SampleEnd())[:2]
        return first, second

    def _form(self, name: str, end: SampleEnd, half: Connection | None, hose: Hose | None) -> EndForm | None:
        if end.form is None and end != SampleEnd():
            self.missing.append(f'end {name}: its form, such as form = "straight" or "90 short"')
        if half is None or end.form is None or hose is None:
            return None
        try:
            form = end_form(end, half, hose.dash_size, self.catalog)
        except ArgumentError as error:
            self.missing.append(f"end {name}: {error}")
            return None
        if end.drop is not None and drop_is_off(end, form):
            self._warn(
                "form",
                f"end {name} was measured to drop {end.drop * 1e3:g} mm, the form {form.name} drops "
                f"{form.drop * 1e3:g} mm: the hose will lie elsewhere",
                form.source,
            )
        return form

    def _connection(self, name: str, end: SampleEnd) -> Connection | None:
        if end == SampleEnd():
            return None
        named = None
        if end.connection is not None:
            try:
                named = Connection.parse(end.connection)
            except ArgumentError as error:
                self.missing.append(f"end {name}: {error}")
        if end.thread is None:
            if end.connection is None:
                self.missing.append(
                    f"end {name}: its connection, by name or by its thread, such as "
                    'thread = { diameter = 20.9, tpi = 14, half = "male" }'
                )
            return named
        return self._identified(name, end.thread, named)

    def _identified(self, name: str, thread: Thread, named: Connection | None) -> Connection | None:
        try:
            found = identify(thread)
        except ArgumentError as error:
            self.missing.append(f"end {name}: {error}")
            return named
        if named is not None:
            if named not in [connection(match) for match in found.matches]:
                read = " or ".join(str(connection(match)) for match in found.matches) or "no known thread"
                self._warn(
                    "connection", f"end {name} is taken down as '{named}', its readings say {read}: measure again"
                )
            return named
        if not found.matches:
            near = ", ".join(near.size.name for near in found.near[:3])
            self.missing.append(f"end {name}: its readings match no thread; nearest {near}; {found.measure_next[0]}")
            return None
        if found.best is None:
            names = " or ".join(match.size.name for match in found.undecided)
            self.missing.append(f"end {name}: may be {names}; {'; '.join(found.measure_next)}")
            return None
        chosen = connection(found.best)
        if len(found.matches) > 1:
            others = ", ".join(match.size.name for match in found.matches[1:])
            self._warn(
                "connection",
                f"end {name} is taken as '{chosen}', less likely it is {others}; {'; '.join(found.measure_next)}",
            )
        return chosen

    def _length(self, ends: tuple[SampleEnd, SampleEnd], forms: tuple[EndForm | None, ...]) -> float | None:
        length = self.sample.overall_length
        if length is None:
            self.missing.append("length: the overall length as measured, such as length = 850")
            return None
        for name, end, form in zip("ab", ends, forms, strict=True):
            length -= self._excess(name, end, form)
        return length

    def _excess(self, name: str, end: SampleEnd, form: EndForm | None) -> float:
        where = reach(end, form, self.sample.measured)
        more = excess(end, form, where)
        if more.length is None:
            what = "the end of its nut" if where is Reach.NUT else "its far edge"
            self._warn(
                "length",
                f"end {name} was measured to {what}, and how far that lies outside its sealing face is not known: the "
                "length still contains it; measure it with a depth gauge and give it as 'beyond'",
            )
            return 0.0
        if where is None and end.beyond is None:
            self._warn(
                "length",
                f"it is not said how far out the length was measured at end {name}: taken to the sealing face, of an "
                "elbow to the centre line of its outlet; schools differ for flared swivel nuts",
                advice.MEASURING,
            )
        elif more.length:
            about = f" (± {more.uncertainty * 1e3:.1f} mm, as the nut may stand)" if more.uncertainty else ""
            self._warn(
                "length",
                f"{more.length * 1e3:.1f} mm{about} are taken off the measured length for end {name}, down to its "
                "measuring point",
                advice.MEASURING,
            )
        return more.length

    def _made(
        self,
        hose: Hose | None,
        ends: tuple[SampleEnd, SampleEnd],
        forms: tuple[EndForm | None, ...],
        length: float | None,
    ) -> Assembly | None:
        form_a, form_b = forms
        if form_a is None or form_b is None:
            return None
        angle = self._orientation(ends, form_a, form_b)
        if hose is None or length is None:
            return None
        try:
            return Assembly(hose, End(form_a), End(form_b), length, angle)
        except ArgumentError as error:
            self.missing.append(f"length: {error}; measure it again")
            return None

    def _orientation(self, ends: tuple[SampleEnd, SampleEnd], a: EndForm, b: EndForm) -> float | None:
        given = self.sample.orientation_angle
        if a.exit_angle == 0.0 or b.exit_angle == 0.0:
            if given is not None:
                self._warn(
                    "orientation", "an orientation angle needs two bent ends and one is straight: it is left out"
                )
            return None
        clocks = ends[0].clock, ends[1].clock
        if given is not None:
            if not has_sense(self.sample.convention):
                self._warn(
                    "orientation",
                    "it is not said which way round the orientation angle was measured: taken as clockwise from the "
                    "near end to the far one; counter-clockwise it would be 360 degrees less it",
                    advice.ORIENTATION,
                )
            return ours(given, self.sample.convention)
        if clocks[0] is None or clocks[1] is None:
            self.missing.append(
                "orientation: both ends are bent, so the angle between them is needed, or the clock position of both, "
                "looking along the hose from end a"
            )
            return None
        return between(clocks[0], clocks[1])

    def _warn(self, kind: str, text: str, source: Source | None = None) -> None:
        self.warnings.append(RemakeWarning(kind, text, source))


def _unknown_hose(markings: Markings | None) -> str:
    """What to look at where the hose is not known."""
    if markings is None or not markings.candidates:
        return (
            'hose: its construction and size, such as hose = "2SN -8": read the layline, else count the layers of wire '
            "and measure the bore"
        )
    told = "; ".join(_sketch(hose) for hose in markings.candidates)
    return (
        f"hose: by its layers and bore it may be {told}: measure over the cover, and take one that bears the pressure"
    )


def _sketch(hose: Hose) -> str:
    known = [f"up to {hose.outside_diameter * 1e3:g} mm over the cover"] if hose.outside_diameter else []
    known += [f"{hose.max_working_pressure * 1e-5:g} bar"] if hose.max_working_pressure else []
    return f"{hose.name} ({', '.join(known)})"
