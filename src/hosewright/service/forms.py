"""End forms of samples: by name, or by the angle and the drop that were measured."""

from __future__ import annotations

import math
import re

from hosewright.assembly import EndForm
from hosewright.catalog import Catalog, Connection
from hosewright.errors import ArgumentError
from hosewright.service.sample import SampleEnd

SAME_DROP = 2e-3
"""A drop that was measured on a sample is good to so much. [m]"""

_ANGLE = re.compile(r"(?P<angle>[0-9]{2,3}) ?(?:°|deg(?:rees?)?)?(?: elbow| bend)?")


def end_form(end: SampleEnd, connection: Connection, dash_size: int, catalog: Catalog) -> EndForm:
    """The form of an end: by its whole name, or of all with its angle the one whose drop is nearest.

    Raises
    ------
    ArgumentError
        No such end, or the drop is needed to choose.
    """
    name = (end.form or "").strip().casefold()
    angle = _ANGLE.fullmatch(name)
    if angle is None:
        return catalog.end_form(name, str(connection), dash_size)
    degrees = int(angle["angle"])
    known = catalog.end_forms(connection=str(connection), dash_size=dash_size)
    forms = [form for form in known if math.isclose(form.exit_angle, math.radians(degrees))]
    if not forms:
        angles = ", ".join(f"{angle:.0f}" for angle in sorted({math.degrees(form.exit_angle) for form in known}))
        has = f"such ends have {angles} degrees" if angles else "the catalog has no such end at all"
        raise ArgumentError(f"no end of {degrees} degrees with '{connection}' for -{dash_size} hose: {has}")
    if len(forms) > 1 and end.drop is None:
        told = ", ".join(f"{form.name} ({form.drop * 1e3:g} mm)" for form in forms)
        raise ArgumentError(f"{told}: measure the drop, from the seat to the hose axis, and give it as 'drop'")
    return min(forms, key=lambda form: abs(form.drop - (end.drop or form.drop)))


def drop_is_off(end: SampleEnd, form: EndForm) -> bool:
    """Whether the drop that was measured is not that of the form."""
    return end.drop is not None and abs(end.drop - form.drop) > SAME_DROP
