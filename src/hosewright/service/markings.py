"""What a layline or a tag says, as far as it can be read."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from hosewright.assembly import Hose
from hosewright.catalog import Catalog, constructions
from hosewright.errors import ArgumentError
from hosewright.service.ages import Period, find_period

PRESSURES = {"bar": 1e5, "mpa": 1e6, "psi": 6894.757293168}
BORE_WINDOW = 0.06
"""A bore in inch or mm may differ by so much from that of the table, 3/8 in from 10 mm; sizes lie 20 % apart."""

_STANDARD = re.compile(
    r"\b(?:EN ?85[3-7]|ISO ?(?:1436|3862|4079|11237|18752)|SAE ?J ?517|SAE(?= ?100))\b", re.IGNORECASE
)
_PRESSURE = re.compile(r"(?P<value>[0-9]+(?:[.,][0-9]+)?) ?(?P<unit>bar|mpa|psi)\b", re.IGNORECASE)
_DASH = re.compile(r"(?<!/)- ?0?(?P<dash>[1-9][0-9]?)\b(?![/-])")
_DIAMETER = re.compile(r"\bDN ?(?P<diameter>[0-9]{1,2})\b", re.IGNORECASE)
_INCH = re.compile(
    r"(?<![\w/.,])(?:(?:(?P<whole>[0-9])[ -])?(?P<top>[0-9]{1,2})/(?P<bottom>[0-9]{1,2})|(?P<only>[0-9]))"
    r" ?(?:\"|''|”|in\b|inch\b)",
    re.IGNORECASE,
)
_BORE = re.compile(r"(?<![\w/.,])(?P<bore>[0-9]{1,2}(?:[.,][0-9])?) ?mm\b", re.IGNORECASE)

_LAYERS = re.compile(
    r"\b(?P<number>one|two|four|six|[1246])[ -]?(?:layers? of )?(?P<stuff>wire|steel|textile)s?"
    r"(?:[ -](?P<kind>braid|spiral))?"
)
NUMBERS = {"1": "one", "2": "two", "4": "four", "6": "six"}


@dataclass(frozen=True)
class Markings:
    """What could be read; ``None`` where nothing was found.

    Attributes
    ----------
    construction
        As the catalog names it.
    hoses
        Hoses of that construction that the sizes in the text name; several where they contradict each other.
    working_pressure
        The highest that the text allows. [Pa]
    made
        When the hose was made.
    candidates
        Where no construction is named: hoses with the layers and the bore that the text tells.
    """

    text: str
    construction: str | None
    hoses: tuple[Hose, ...]
    standard: str | None
    working_pressure: float | None
    made: Period | None
    candidates: tuple[Hose, ...] = ()

    @property
    def hose(self) -> Hose | None:
        """The hose that the text names without contradiction."""
        return self.hoses[0] if len(self.hoses) == 1 else None


def read_markings(text: str, catalog: Catalog) -> Markings:
    """Construction, size, standard, working pressure and date of a layline, in any order.

    Examples
    --------
    An invented one: ``EN 853 2SN 1/2" DN12 WP 275 bar 2Q19``.
    """
    dated = find_period(text)
    rest = text.replace(dated[1], " ") if dated else text
    construction = _construction(rest)
    standard = _STANDARD.search(rest)
    return Markings(
        text,
        construction,
        tuple({hose.name: hose for hose in _hoses(rest, construction, catalog)}.values()) if construction else (),
        " ".join(standard[0].upper().split()) if standard else None,
        _pressure(rest),
        dated[0] if dated else None,
        () if construction else tuple(_candidates(rest, catalog)),
    )


def _construction(text: str) -> str | None:
    """The type that stands first; a longer name before a shorter one that it begins with."""
    found = [(match.start(), -len(word), name) for word, name in _names() if (match := _spelled(word).search(text))]
    if not found:
        return None
    name = min(found)[2]
    european = f"EN {name}"  # some types have figures of their own in EN 855
    return european if european in constructions() and re.search(r"\bEN ?855\b", text, re.IGNORECASE) else name


def _names() -> Iterator[tuple[str, str]]:
    for name, kind in constructions().items():
        if not name.startswith("EN "):
            yield from ((word, name) for word in (name, *kind.aliases))


def _spelled(word: str) -> re.Pattern[str]:
    """A type in its spellings: ``R2AT``, ``100R2 AT``, ``SAE 100 R2AT``, ``2 SN``."""
    letters = r" ?".join(re.findall(r"[A-Z]+|[0-9]+", word))
    return re.compile(rf"(?<![A-Za-z0-9])(?:100 ?)?{letters}(?![A-Za-z0-9])", re.IGNORECASE)


def _pressure(text: str) -> float | None:
    found = [float(m["value"].replace(",", ".")) * PRESSURES[m["unit"].casefold()] for m in _PRESSURE.finditer(text)]
    return min(found) if found else None  # a test or burst pressure beside it is higher


def _hoses(text: str, construction: str, catalog: Catalog) -> Iterator[Hose]:
    named = [f"-{match['dash']}" for match in _DASH.finditer(text)]
    named += [f"DN {match['diameter']}" for match in _DIAMETER.finditer(text)]
    for size in named:
        try:
            yield catalog.hose(f"{construction} {size}")
        except ArgumentError:
            continue
    for bore in _bores(text):
        hoses = [hose for hose in catalog.hoses() if hose.construction == construction]
        near = min(hoses, key=lambda hose: abs(hose.inside_diameter - bore), default=None)
        if near is not None and abs(near.inside_diameter / bore - 1.0) < BORE_WINDOW:
            yield near


def _candidates(text: str, catalog: Catalog) -> Iterator[Hose]:
    layers = _LAYERS.search(text.casefold())
    bores = list(_bores(text))
    if layers is None or not bores:
        return
    wanted = {NUMBERS.get(layers["number"], layers["number"]), layers["stuff"].replace("steel", "wire")}
    wanted |= {layers["kind"]} if layers["kind"] else set()
    for hose in catalog.hoses():
        kind = catalog.construction(hose)
        words = (
            set(kind.reinforcement.replace("braids", "braid").replace("spirals", "spiral").split()) if kind else set()
        )
        if wanted <= words and abs(hose.inside_diameter / bores[0] - 1.0) < BORE_WINDOW:
            yield hose


def _bores(text: str) -> Iterator[float]:
    for match in _INCH.finditer(text):
        inches = float(match["whole"] or match["only"] or 0)
        if match["top"] and int(match["bottom"]):
            inches += int(match["top"]) / int(match["bottom"])
        if inches > 0.0:
            yield inches * 0.0254
    for match in _BORE.finditer(text):
        yield float(match["bore"].replace(",", ".")) * 1e-3
