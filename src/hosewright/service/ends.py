"""The ends of a sample: what they mate as, and the end forms that replace them."""

from __future__ import annotations

import math
import re

from hosewright.assembly import EndForm, Hose
from hosewright.catalog import Catalog, Connection
from hosewright.errors import ArgumentError
from hosewright.service.flanges import Flange
from hosewright.service.identify import Identification, connection, identify
from hosewright.service.sample import SampleEnd
from hosewright.service.warning import Notes
from hosewright.words import Figure, Name, Sentence, one_after_another

SAME_DROP = 2e-3
"""A drop that was measured on a sample is good to so much. [m]"""

_ANGLE = re.compile(r"(?P<angle>[0-9]{2,3}) ?(?:°|deg(?:rees?)?)?(?: elbow| bend)?")


def choose_connection(name: str, end: SampleEnd, notes: Notes) -> Connection | None:
    """What end ``name`` mates as, by its name or by its readings; ``None`` where that is missing."""
    if end == SampleEnd():
        notes.miss(f"end {name}", "nothing is said about it")
        return None
    named, found = None, None
    try:
        named = None if end.connection is None else Connection.parse(end.connection)
        found = None if end.reading is None else identify(end.reading)
    except ArgumentError as error:
        notes.miss(f"end {name}", error)
        return None
    if found is None:
        if named is None:
            example = 'thread = { diameter = 20.9, tpi = 14, half = "male" }'
            notes.miss(f"end {name}", f"its connection, by name or by its thread, such as {example}")
        return named
    if named is None:
        return _decided(name, found, notes)
    _compare(name, named, found, notes)
    return named


def _compare(name: str, named: Connection, found: Identification, notes: Notes) -> None:
    """Stop at a name that the readings contradict: one of both is wrong, and the end may not fit its port."""
    read = [connection(match) for match in found.matches]
    fits = named.data in [match.size for match in found.matches] if _is_of_bolts(found) else named in read
    if not fits:
        notes.warn("connection", _contradiction(name, named, read), stops=_is_in_the_tables(named, found))


def _is_of_bolts(found: Identification) -> bool:
    """Whether a flange was known by its bolts alone, which say its size and not which half it is."""
    return isinstance(found.reading, Flange) and found.reading.head_diameter is None


def _is_in_the_tables(named: Connection, found: Identification) -> bool:
    """Whether the readings could have led to the name; no table gives the female thread of NPT."""
    if isinstance(found.reading, Flange) or found.reading.half != named.half:
        return True
    return getattr(named.data, f"{named.half}_diameter") is not None


def _contradiction(name: str, named: Connection, read: list[Connection]) -> Sentence:
    if not read:
        return Sentence.of("samples.read_as_none", end=name, named=named.said)
    return Sentence.of("samples.read_as", end=name, named=named.said, read=tuple(one.said for one in read))


def _decided(name: str, found: Identification, notes: Notes) -> Connection | None:
    next_steps = "; ".join(map(str, found.measure_next))
    if not found.matches:
        near = ", ".join(near.size.name for near in found.near[:3])
        notes.miss(f"end {name}", f"its readings match no thread; nearest {near}; {next_steps}")
        return None
    if found.best is None:
        names = " or ".join(match.size.name for match in found.undecided)
        notes.miss(f"end {name}", f"may be {names}; {next_steps}")
        return None
    chosen, *others = (connection(match) for match in found.matches)
    if others:
        less = tuple(one.said for one in others)
        said = Sentence.of("samples.taken_as", end=name, chosen=chosen.said, less=less)
        notes.warn("connection", one_after_another([said, *found.measure_next]))
    return chosen


def choose_form(
    name: str, end: SampleEnd, half: Connection | None, hose: Hose | None, catalog: Catalog, notes: Notes
) -> EndForm | None:
    """The end form for end ``name`` with the connection that it has; ``None`` where something is missing."""
    if end.form is None and end != SampleEnd():
        notes.miss(f"end {name}", 'its form, such as form = "straight" or "90 short"')
    if half is None or end.form is None or hose is None:
        return None
    try:
        form = end_form(end.form, end.drop, half, hose.dash_size, catalog)
    except ArgumentError as error:
        notes.miss(f"end {name}", error)
        return None
    if end.drop is not None and abs(end.drop - form.drop) > SAME_DROP:
        drops = {"measured": Figure.length(end.drop, 2), "drop": Figure.length(form.drop, 2)}
        notes.warn("form", Sentence.of("samples.other_drop", end=name, form=Name(form.name), **drops), form.source)
    return form


def end_form(name: str, drop: float | None, connection: Connection, dash_size: int, catalog: Catalog) -> EndForm:
    """End form by its whole name, or of all with the angle that is its name the one whose drop is nearest.

    Raises
    ------
    ArgumentError
        No such end, or the drop is needed to choose.
    """
    angle = _ANGLE.fullmatch(name.strip().casefold())
    if angle is None:
        return catalog.end_form(name, str(connection), dash_size)
    degrees = int(angle["angle"])
    known = catalog.end_forms(connection=str(connection), dash_size=dash_size)
    forms = [form for form in known if math.isclose(form.exit_angle, math.radians(degrees))]
    if not forms:
        angles = ", ".join(f"{angle:.0f}" for angle in sorted({math.degrees(form.exit_angle) for form in known}))
        has = f"such ends have {angles} degrees" if angles else "the catalog has no such end at all"
        raise ArgumentError(f"no end of {degrees} degrees with '{connection}' for -{dash_size} hose: {has}")
    if len(forms) > 1 and drop is None:
        told = ", ".join(f"{form.name} ({form.drop * 1e3:g} mm)" for form in forms)
        raise ArgumentError(f"{told}: measure the drop, from the seat to the hose axis, and give it as 'drop'")
    return min(forms, key=lambda form: 0.0 if drop is None else abs(form.drop - drop))
