"""The readings of an end as people say them: ``male, 20.9 mm, 14 threads per inch, parallel``."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from hosewright import units
from hosewright.errors import ArgumentError, nearest
from hosewright.jobfile.thread_names import PIPE, TUBE, pipe, tube
from hosewright.service import Flange, Thread, read_seat
from hosewright.service.identify import INCH
from hosewright.units import Kind

LONGEST = 200
EXAMPLE = '"male, 20.9 mm, 14 threads per inch, parallel" or 20.9 --male --tpi 14 --parallel'

_NUMBER = r"[0-9]+(?:[.,][0-9]+)?"
_LENGTH = rf"(?:[0-9]+[ -])?[0-9]+/[0-9]+|{_NUMBER}"
_UNIT = r"mm|cm|inch(?:es)?|in\b\.?|\"|''|”"

_HALF = re.compile(r"\b(male|female|outside thread|inside thread|external|internal)\b")
_PER_INCH = r"(?: ?(?:per|to the|to an|an|a|/)) ?(?:inch|in)\b\.?"
_TPI = re.compile(rf"(?P<value>{_NUMBER}) ?(?:tpi\b|threads?{_PER_INCH})|\btpi ?[:=]? ?(?P<behind>{_NUMBER})")
_UNIFIED = re.compile(r"(?<![\w.,/-])(?P<inch>(?:[0-9]+[ -])?[0-9]+/[0-9]+|[12]) ?- ?(?P<tpi>[0-9]{1,2})(?![\w.,/])")
_METRIC = re.compile(rf"\bm ?(?P<diameter>{_NUMBER}) ?[x×] ?(?P<pitch>{_NUMBER})(?![\w/])")
_DEGREES = r"(?:°|deg(?:rees?)?\b\.?)"
_ANGLE = r"[0-9]{2}(?![0-9]|[.,/][0-9]| ?(?:mm|cm|x|×|tpi|threads?|in)\b)"
_SEAT = re.compile(
    rf"\b(?P<angle>[0-9]{{2}}) ?(?:{_DEGREES} ?)?(?P<kind>cone|flare)d?\b"
    rf"|\b(?P<before>cone|flare)d?(?: seat)?(?: angle)?(?: of| at)? ?[:=]? ?(?P<behind>{_ANGLE})(?: ?{_DEGREES})?"
    rf"|\bseat(?: angle)?(?: of)? ?[:=]? ?(?P<seat>{_ANGLE})(?: ?{_DEGREES})?"
    rf"|\b(?P<alone>[0-9]{{2}}) ?{_DEGREES}|\b(?P<bare>[0-9]{{2}})(?= seat\b)|\b(?P<jic>jic)\b|\b(?P<none>no seat)\b"
    r"|\b(?:flat(?: face| seat)?(?: seal)?|face seal|o[- ]?ring face(?: seal)?|orfs)\b"
)
_SEAT_TALK = re.compile(r"\b(?P<o_ring>o[- ]?rings?)\b|\b(?P<kind>cone|flare)d?\b|\bangle\b")
"""What is said of a seat besides what it is, and alone does not tell it."""

_TAPER = re.compile(r"\b(?:(?P<no>parallel|cylindrical|not tapered|bspp)|taper(?:ed)?|conical|nptf?|bspt)\b")
_DIAMETER = re.compile(rf"(?P<value>{_LENGTH}) ?(?P<unit>{_UNIT})?")


def _named(word: str) -> re.Pattern[str]:
    """A length with its name before or behind it: ``pitch 1.5``, ``1.5 mm pitch``."""
    before = rf"(?P<before>{_LENGTH}) ?(?P<own>{_UNIT})? {word}\b(?!(?: of)? ?[:=]? ?[0-9])"
    return re.compile(rf"\b{word}(?: of)? ?[:=]? ?(?P<after>{_LENGTH}) ?(?P<unit>{_UNIT})?|{before}")


_PITCH, _RECESS = _named("pitch"), _named("recess")
_FLANGE = re.compile(r"\bflange\b", re.IGNORECASE)
_BOLTS = re.compile(rf"\bbolts? ?:? ?({_LENGTH})(?: ?(?:x|×|by) ?({_LENGTH}))? ?({_UNIT})?")
_FLANGE_TALK = frozenset({"flange", "head", "four-bolt", "4-bolt", "sae", "spacing"})
FLANGE_EXAMPLE = '"flange, head 38.1 mm, bolts 47.6 x 22.2 mm"'
_WORDS = ("male", "female", "threads", "inch", "parallel", "tapered", "pitch", "recess", "cone", "flare", "flat")
"""That may be meant by a mistyped one."""
_FILLER = re.compile(
    r"(a|about|bsp|an|and|at|by|caliper|diameter|end|from|gauge|has|having|hose|in|inner|inside|is|it|id|measure[ds]|nut|od|of"
    r"|on|or|outer|outside|over|port|reads|seal|seat|swivel|the|threads?|tube|with)"
)
_BASIC_MINOR = 1.082532
"""A female thread's basic minor diameter is the nominal less so many pitches (ISO 68-1, ASME B1.1)."""


def read_end(words: str, given: Mapping[str, Any], bolts: str | None = None) -> Thread | Flange:
    """Readings of a thread, or of a flange where the words name one or its bolts are given.

    Parameters
    ----------
    words
        As for :func:`read_thread`; ``flange, head 38.1 mm, bolts 47.6 x 22.2``.
    given
        As for :func:`read_thread`.
    bolts
        Spacing of a flange's bolts, the long way and if known the short way: ``47.6 x 22.2``.

    Raises
    ------
    ArgumentError
        Something cannot be read, is missing or is said twice; the message says what would be right.
    """
    if len(words) > LONGEST:
        raise ArgumentError(f"the readings are longer than {LONGEST} characters: write them like {EXAMPLE}")
    if bolts is None and not _FLANGE.search(words):
        return read_thread(words, given)
    named = [name.replace("_", " ") for name, value in given.items() if value is not None]
    if named:
        raise ArgumentError(f"a flange has no {named[0]}: say its head and its bolts alone, like {FLANGE_EXAMPLE}")
    return _read_flange(f"{words}, bolts {bolts}" if bolts else words)


def _read_flange(words: str) -> Flange:
    rest = " ".join(words.casefold().split())
    spaced = _BOLTS.findall(rest)
    heads = _DIAMETER.findall(_BOLTS.sub(" ", rest))
    talk = re.findall(r"[^\s,;:.()=]+", _DIAMETER.sub(" ", _BOLTS.sub(" ", rest)))
    unknown = [word for word in talk if word not in _FLANGE_TALK and not _FILLER.fullmatch(word)]
    if unknown or len(spaced) > 1 or len(heads) > 1:
        raise ArgumentError(f"'{words}' cannot be read as one flange: say it like {FLANGE_EXAMPLE}")
    long, short = _spacing(spaced[0]) if spaced else (None, None)
    return Flange(_measured(*heads[0]) if heads else None, long, short)


def _spacing(found: tuple[str, str, str]) -> tuple[float, float | None]:
    one, other, unit = found
    lengths = sorted((_measured(number, unit or None) for number in (one, other) if number), reverse=True)
    return lengths[0], lengths[1] if len(lengths) > 1 else None


def read_thread(words: str, given: Mapping[str, Any]) -> Thread:
    """Readings of a thread from free words and from options.

    Parameters
    ----------
    words
        What people say; a bare number is the diameter in mm. ``7/8-14``, ``M22x1.5`` and ``G1/2`` name a thread: its
        nominal diameter and pitch. ``12L`` names a tube, and with it the seat, the recess and the thread.
    given
        Options by the names of :class:`Thread`; ``None`` where an option was not given. Texts are quantities.

    Raises
    ------
    ArgumentError
        Something cannot be read, is missing or is said twice; the message says what would be right.
    """
    said = _Words(words).read()
    options = {name: _option(name, value) for name, value in given.items() if value is not None}
    for name in said.keys() & options.keys():
        raise ArgumentError(f"the {name.replace('_', ' ')} is said in words and as an option, too: say it once")
    readings = {**said, **options}
    size = readings.pop("size", None)
    if size is not None:
        readings = {**size.readings(readings.get("half"), readings), **readings}
    nominal = readings.pop("nominal", None)
    if nominal is not None and "diameter" not in readings:
        readings["diameter"] = _caliper_reading(nominal, readings)
    if "diameter" not in readings:
        raise ArgumentError(f"which diameter? Measure over a male thread or inside a female one, then say {EXAMPLE}")
    if "half" not in readings:
        raise ArgumentError(f"male or female? The thread is outside on a male, inside on a female: say {EXAMPLE}")
    return Thread(**readings)


def _caliper_reading(nominal: float, readings: Mapping[str, Any]) -> float:
    """What a caliper reads of a thread that is known by its name: over a male, inside a female."""
    if readings.get("half") != "female":
        return nominal
    pitch = readings["pitch"] if "pitch" in readings else INCH / readings["threads_per_inch"]
    return nominal - _BASIC_MINOR * pitch


def _option(name: str, value: Any) -> Any:
    if name in ("diameter", "pitch", "recess"):
        return _length(value) if isinstance(value, str) else value
    if name == "threads_per_inch" and isinstance(value, str):
        return _number(value)
    return read_seat(value) if name == "seat" else value


def _number(text: str) -> float:
    if not re.fullmatch(_NUMBER, text.strip()):
        raise ArgumentError(f"the threads per inch are '{text}': give a number, such as 14 or 11.5")
    return float(text.replace(",", "."))


def _length(text: str) -> float:
    """A length; a bare number is in mm."""
    bare = re.fullmatch(_NUMBER, text.strip())
    return units.si(f"{text} mm" if bare else text, Kind.LENGTH)


class _Words:
    """Takes reading after reading out of a text; whatever is left over must be empty talk."""

    def __init__(self, words: str) -> None:
        self.given = words
        self.left = " ".join(words.casefold().split())

    def read(self) -> dict[str, Any]:
        readings = list(self._readings())
        for word in re.findall(r"[^\s,;:.()=]+", self.left):
            if not _FILLER.fullmatch(word):
                raise ArgumentError(
                    f"'{word}' in '{self.given}' is no reading that is known.{_hint(word)} Say it like {EXAMPLE}"
                )
        found: dict[str, Any] = {}
        for name, value in readings:
            if name in found and found[name] != value:
                raise ArgumentError(f"'{self.given}' says the {name.replace('_', ' ')} twice: say it once")
            found[name] = value
        return found

    def _readings(self) -> Iterator[tuple[str, Any]]:
        """Names and values; what could be taken for a bare diameter comes first."""
        for read, pattern in ((pipe, PIPE), (tube, TUBE)):
            for match in self._take(pattern):
                yield "size", read(match)
        for match in self._take(_UNIFIED):
            yield "nominal", units.si(f"{match['inch']} in", Kind.LENGTH)
            yield "threads_per_inch", float(match["tpi"])
        for match in self._take(_METRIC):
            yield "nominal", _length(match["diameter"])
            yield "pitch", _length(match["pitch"])
        for match in self._take(_TPI):
            yield "threads_per_inch", _number(match["value"] or match["behind"])
        for name, pattern in (("pitch", _PITCH), ("recess", _RECESS)):
            for match in self._take(pattern):
                yield name, _measured(match["after"] or match["before"], match["unit"] or match["own"])
        seats = self._take(_SEAT)
        for match in seats:
            yield "seat", read_seat(_seat(match))
        for match in self._take(_SEAT_TALK):
            if not seats and (match["o_ring"] or match["kind"]):
                raise ArgumentError(_which_seat(match[0], match["kind"]))
        for match in self._take(_TAPER):
            yield "tapered", match["no"] is None
        for match in self._take(_HALF):
            yield "half", "male" if match[1] in ("male", "outside thread", "external") else "female"
        for match in self._take(_DIAMETER):
            yield "diameter", _measured(match["value"], match["unit"])

    def _take(self, pattern: re.Pattern[str]) -> list[re.Match[str]]:
        matches = list(pattern.finditer(self.left))
        self.left = pattern.sub(" , ", self.left)
        return matches


def _seat(match: re.Match[str]) -> str:
    """A seat in words that :func:`read_seat` knows."""
    if match["angle"] or match["behind"]:
        return f"{match['angle'] or match['behind']} {match['kind'] or match['before']}"
    alone = match["seat"] or match["alone"] or match["bare"]
    return alone or ("37 flare" if match["jic"] else "none" if match["none"] else "flat")


def _which_seat(word: str, kind: str | None) -> str:
    if kind is None:
        return f"'{word}' alone tells no seat: it seals a flat face or a 24 degree cone; say 'flat face' or '24 cone'"
    angles = {"cone": "24, 60 or 74", "flare": "37 or 30"}[kind]
    return f"'{word}' of which angle? Say it with its degrees, {angles}, or leave it out if it was not measured"


def _measured(number: str, unit: str | None) -> float:
    if not unit:
        return _length(f"{number} in" if "/" in number else number)  # a bare fraction is one of an inch
    return units.si(f"{number} {'in' if unit.startswith('in') else unit}", Kind.LENGTH)


def _hint(word: str) -> str:
    hint = nearest(word, _WORDS)
    return hint if "Did you mean" in hint else ""
