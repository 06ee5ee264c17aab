"""A sample made again: the assembly that replaces it, what is missing to choose it, and what speaks against it.

References
----------
DIN 20066 and DGUV Regel 113-020: ages of hose and assemblies; nothing of the old assembly is used again.
SAE J517: the rating of an assembly is that of its weakest part.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from hosewright.assembly import Assembly, End, EndForm, Hose
from hosewright.catalog import Catalog
from hosewright.errors import ArgumentError
from hosewright.service import advice
from hosewright.service.ends import choose_connection, choose_form
from hosewright.service.hose import choose_hose
from hosewright.service.length import overall_length
from hosewright.service.markings import read_markings
from hosewright.service.orientation import orientation_of
from hosewright.service.sample import Sample, SampleEnd
from hosewright.service.warning import Notes, RemakeWarning


@dataclass(frozen=True)
class Remake:
    """What re-making a sample comes to.

    Attributes
    ----------
    assembly
        ``None`` as long as something is missing.
    warnings
        The weightiest first.
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
    notes = Notes()
    markings = read_markings(sample.markings, catalog) if sample.markings else None
    hose = choose_hose(sample, markings, catalog, notes)
    ends = _both(sample)
    connections = [choose_connection(name, end, notes) for name, end in zip("ab", ends, strict=True)]
    a, b = (
        choose_form(name, end, half, hose, catalog, notes)
        for name, end, half in zip("ab", ends, connections, strict=True)
    )
    length = overall_length(sample, ends, (a, b), notes)
    angle = orientation_of(sample, ends, a, b, notes) if a is not None and b is not None else None
    assembly = None
    if hose is not None and a is not None and b is not None and length is not None:
        assembly = _assembly(hose, a, b, length, angle, notes)
    notes.warnings += advice.look_alikes(ends, connections)
    notes.warnings += advice.about(sample, catalog, date, markings, hose, assembly)
    return Remake(
        sample.name,
        sample.number,
        None if notes.missing else assembly,
        tuple(sorted(dict.fromkeys(notes.warnings), key=lambda one: one.rank)),
        tuple(dict.fromkeys(notes.missing)),
        sample,
    )


def _both(sample: Sample) -> tuple[SampleEnd, SampleEnd]:
    """Ends a and b; one that was not taken down says nothing."""
    first, second = (*sample.ends, SampleEnd(), SampleEnd())[:2]
    return first, second


def _assembly(hose: Hose, a: EndForm, b: EndForm, length: float, angle: float | None, notes: Notes) -> Assembly | None:
    try:
        return Assembly(hose, End(a), End(b), length, angle)
    except ArgumentError as error:
        notes.miss("length", f"{error}; measure it again")
        return None
