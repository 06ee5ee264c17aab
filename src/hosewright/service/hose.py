"""The hose of a sample, from what was taken down and from its markings."""

from __future__ import annotations

from hosewright.assembly import Hose
from hosewright.catalog import Catalog
from hosewright.errors import ArgumentError
from hosewright.service.markings import Markings
from hosewright.service.sample import Sample
from hosewright.service.warning import Notes
from hosewright.words import Sentence, Value


def choose_hose(sample: Sample, markings: Markings | None, catalog: Catalog, notes: Notes) -> Hose | None:
    """The hose as it was taken down, else as the markings name it; ``None`` where it is missing."""
    read = _marked_hose(sample, markings, notes) if markings is not None else None
    if sample.hose is None:
        if read is None:
            notes.miss("hose", _unknown_hose(markings))
        return read
    try:
        hose = catalog.hose(sample.hose)
    except ArgumentError as error:
        notes.miss("hose", error)
        return None
    if markings is not None and (told := _contradicts(markings, hose)):
        notes.warn("markings", Sentence.of("samples.markings_say", told=told, hose=hose.name), stops=True)
    return hose


def _contradicts(markings: Markings, hose: Hose) -> Value | None:
    """What the markings say where that is not the hose: another type or size, or a type of which no size was read."""
    if markings.hoses:
        return tuple(one.name for one in markings.hoses if one.name != hose.name) or None
    return markings.construction if markings.construction not in (None, hose.construction) else None


def _marked_hose(sample: Sample, markings: Markings, notes: Notes) -> Hose | None:
    if len(markings.hoses) > 1:
        names = tuple(hose.name for hose in markings.hoses)
        notes.warn("markings", Sentence.of("samples.two_sizes", hoses=names))
    elif sample.hose is None and markings.hose is not None:
        notes.warn("markings", Sentence.of("samples.hose_as_marked", hose=markings.hose.name))
    elif sample.hose is None and not markings.candidates:
        notes.warn("markings", _unreadable(markings))
    return markings.hose


def _unreadable(markings: Markings) -> Sentence:
    if markings.construction:
        return Sentence.of("samples.no_size_marked", markings=markings.text, construction=markings.construction)
    return Sentence.of("samples.nothing_marked", markings=markings.text)


def _unknown_hose(markings: Markings | None) -> str:
    """What to look at where the hose is not known."""
    if markings is None or not markings.candidates:
        return (
            'its construction and size, such as hose = "2SN -8": read the layline, else count the layers of wire '
            "and measure the bore"
        )
    told = "; ".join(_sketch(hose) for hose in markings.candidates)
    return f"by its layers and bore it may be {told}: measure over the cover, and take one that bears the pressure"


def _sketch(hose: Hose) -> str:
    known = [f"up to {hose.outside_diameter * 1e3:g} mm over the cover"] if hose.outside_diameter else []
    known += [f"{hose.max_working_pressure * 1e-5:g} bar"] if hose.max_working_pressure else []
    return f"{hose.name} ({', '.join(known)})"
