"""Rating of an assembly as its weakest part, and what the line demands of it.

References
----------
SAE J517 and ISO 17165-1: the maximum working pressure of an assembly is the lowest of its hose and end fittings, and
covers the highest peak.
"""

from __future__ import annotations

from dataclasses import dataclass

from hosewright.assembly import Adapter, Assembly, End
from hosewright.duty.conditions import Duty
from hosewright.duty.cylinder import pressure_demand
from hosewright.duty.facts import Fact
from hosewright.sources import Confidence, Source
from hosewright.words import Name, Sentence, Value

WEAKEST_PART = Source("SAE J517", "rating of an assembly")


@dataclass(frozen=True)
class PartRating:
    """Rating of one part.

    Attributes
    ----------
    place
        ``"hose"``, ``"end a"`` or ``"end b"``.
    said
        Its name, as a language has words for it.
    max_working_pressure
        ``None`` where the data sheet does not give it. [Pa]
    """

    place: str
    said: Value
    max_working_pressure: float | None
    source: Source | None

    @property
    def name(self) -> str:
        """Its name in English."""
        return str(self.said)

    @property
    def told(self) -> Sentence:
        """Its name and place, to stand within a sentence."""
        if self.place == "hose":
            return Sentence.of("findings.the_hose", name=self.said)
        return Sentence.of("findings.the_part", part=self.said, place=Name(self.place))

    @property
    def is_firm(self) -> bool:
        """Whether an assembly may be built by its rating: one is given, and its source is not doubtful."""
        doubtful = self.source is not None and self.source.confidence is Confidence.DOUBTFUL
        return self.max_working_pressure is not None and not doubtful


@dataclass(frozen=True)
class Rating:
    """Ratings of all parts of an assembly in the order from port a to port b."""

    parts: tuple[PartRating, ...]

    @property
    def unknown(self) -> tuple[PartRating, ...]:
        """Parts without a rating."""
        return tuple(part for part in self.parts if part.max_working_pressure is None)

    @property
    def loose(self) -> tuple[PartRating, ...]:
        """Parts whose rating is missing or doubtful."""
        return tuple(part for part in self.parts if not part.is_firm)

    @property
    def weakest(self) -> PartRating | None:
        """The weakest of the parts whose rating is known; ``None`` where none is."""
        known = [(part.max_working_pressure, part) for part in self.parts if part.max_working_pressure is not None]
        return min(known, key=lambda pair: pair[0])[1] if known else None

    @property
    def max_working_pressure(self) -> float | None:
        """Of the assembly; ``None`` as long as a part has no rating. [Pa]"""
        return None if self.unknown or self.weakest is None else self.weakest.max_working_pressure


def rating(assembly: Assembly) -> Rating:
    """Rating of an assembly, part by part: adapters, ends and hose."""
    hose = assembly.hose
    own = PartRating("hose", hose.name, hose.max_working_pressure, hose.sources.get("max_working_pressure"))
    return Rating((*_end_ratings("end a", assembly.a), own, *reversed(_end_ratings("end b", assembly.b))))


def _end_ratings(place: str, end: End) -> tuple[PartRating, ...]:
    form = end.form
    said = Sentence.of("names.end_part", form=Name(form.name), connection=Name(form.connection, "connections"))
    own = PartRating(place, said, form.max_working_pressure, form.source)
    return (*(_adapter_rating(place, adapter) for adapter, _ in end.adapters), own)


def _adapter_rating(place: str, adapter: Adapter) -> PartRating:
    said = Sentence.of("names.adapter_part", name=Name(adapter.name))
    return PartRating(place, said, adapter.max_working_pressure, adapter.source)


def pressure_facts(assembly: Assembly, duty: Duty) -> tuple[Fact, ...]:
    """The highest peak, cylinder intensification included, against the rating of each part. [Pa]

    The assembly holds only if every part does; a part without a rating has no limit and no margin.
    """
    peak = pressure_demand(duty).peak
    return tuple(
        Fact(f"peak pressure, {part.name}", part.place, peak, part.max_working_pressure, False, part.source)
        for part in rating(assembly).parts
    )
