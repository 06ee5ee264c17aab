"""Tags: a label for each assembly of a run and each re-made sample, with its number as a code for scanners.

The code holds the assembly number, a stroke and two check characters (ISO/IEC 7064, MOD 1271-36), as printed beside it:
``H-JHXY-VA3K/Z2``. What a scanner or a person read is whole if :func:`hosewright.standards.iso_7064.is_whole` says so.
An assembly that must not be built gets a label that says so, without code and pressure.

References
----------
ISO/IEC 18004, QR code: quiet zone of four modules
"""

from __future__ import annotations

import datetime
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import segno

from hosewright.documents.assembly_data import is_invented
from hosewright.documents.bundle import Bundle
from hosewright.standards.iso_7064 import check_characters
from hosewright.words import Texts

BLANK = "Q\N{NO-BREAK SPACE}____\N{NO-BREAK SPACE}/\N{NO-BREAK SPACE}______"
LONGEST_HOSE = 24
"""Signs of a hose's name that fit on a label."""

MOST_RULES = 6
"""Failing rules that a label names."""

QUIET_ZONE = 4
"""Empty modules around the code."""


@dataclass(frozen=True, eq=False)
class ToBuild:
    """An assembly that a job asks for.

    Attributes
    ----------
    name
        Of its run or its sample.
    assembly
        Its block of the contract.
    stops
        Why it must not be built, in as few words as a label has room for; ``None`` where it may be.
    """

    name: str
    assembly: Mapping[str, Any]
    stops: str | None = None


def to_build(bundle: Bundle) -> list[ToBuild]:
    """The assemblies of all runs, then those of the samples of which enough is known."""
    data, texts = bundle.data, bundle.texts
    runs = [
        ToBuild(run["name"], run["assembly"], _stopping_rules(run, texts) if bundle.stops(run) else None)
        for run in data["runs"]
    ]
    samples = [
        ToBuild(one["name"], one["assembly"], texts("tag.see_sheet") if one["stops"] else None)
        for one in data["samples"]
        if one["assembly"] is not None
    ]
    return runs + samples


def files(bundle: Bundle) -> Iterator[tuple[str, bytes]]:
    """Labels of all assemblies: on sheets of labels, and one label a page."""
    tags, pictures = [], {}
    for count, one in enumerate(to_build(bundle), start=1):
        tag = _tag(one, bundle, f"code-{count}.svg")
        tags.append(tag)
        if tag["stops"] is None:
            pictures[tag["picture"]] = picture(tag["code"])
    if not tags:
        return
    data = {"tags": tags, "tag": bundle.texts.section("tag")}
    for name, template in (("tags.pdf", "tags"), ("tag-labels.pdf", "labels")):
        yield name, bundle.pdf(template, bundle.texts("tag.title"), data, pictures)


def coded(number: str) -> str:
    """An assembly number with its check characters, as a code and a label hold it."""
    return f"{number}/{check_characters(number)}"


def picture(code: str) -> bytes:
    """QR code as SVG, with its quiet zone."""
    stream = io.BytesIO()
    segno.make_qr(code, error="m").save(
        stream, kind="svg", border=QUIET_ZONE, light="white", xmldecl=False, omitsize=True
    )
    return stream.getvalue()


def _tag(one: ToBuild, bundle: Bundle, name: str) -> dict[str, Any]:
    assembly, texts, figures = one.assembly, bundle.texts, bundle.figures
    code, bore = coded(assembly["number"]), figures.crimp(assembly["inside_diameter_mm"])
    hose = _short(assembly["hose"], LONGEST_HOSE)
    return {
        "number": assembly["number"],
        "shop": bundle.settings.shop,
        "run": one.name,
        "code": code,
        "picture": name,
        "alt": texts("tag.code", code=code),
        "hose": texts("tag.hose", hose=hose, bore=bore),
        "pressure": figures.at_most(assembly["rating_bar"], "bar"),
        "length": figures.cut(assembly["overall_length_mm"]),
        "built": quarter(bundle.date, texts),
        "is-blank": bundle.date is None,
        "note": texts("tag.example") if any(map(is_invented, assembly["ends"])) else "",
        "stops": one.stops,
    }


def quarter(date: datetime.date | None, texts: Texts) -> str:
    """Quarter and year of a date; without one a blank to fill in."""
    if date is None:
        return BLANK
    return texts("tag.quarter", quarter=(date.month - 1) // 3 + 1, year=date.year)


def _short(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def _stopping_rules(run: Mapping[str, Any], texts: Texts) -> str:
    failing = dict.fromkeys(texts(f"rules.{one['rule']}") for one in run["findings"] if one["verdict"] == "fail")
    rest = [] if 0 < len(failing) <= MOST_RULES else [texts("tag.see_sheet")]
    return ", ".join([*list(failing)[:MOST_RULES], *rest])
