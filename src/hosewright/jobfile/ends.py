"""The ends of a run: what is fixed about them, and all ends of the catalog that would do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from hosewright.assembly import Adapter, End, Hose, Roll
from hosewright.catalog import Catalog, Connection
from hosewright.errors import ArgumentError, nearest
from hosewright.jobfile.models import AdapterTable, BothEnds, EndTable, PortTable, RunDraft
from hosewright.jobfile.problems import Collector
from hosewright.search.request import EndRequest

Path = tuple[str | int, ...]
Adapters = tuple[tuple[Adapter, float], ...]


@dataclass(frozen=True)
class EndChoice:
    """What is fixed about one end.

    Attributes
    ----------
    path
        Of the end in the file, or of what is nearest to it.
    places
        Place of each key that is fixed.
    """

    table: EndTable
    path: Path
    places: Mapping[str, Path]

    def place(self, key: str) -> Path:
        """Where a key stands, or its end."""
        return self.places.get(key, self.path)

    def over(self, other: EndChoice) -> EndChoice:
        """What this one fixes, and what it leaves open by the other."""
        fixed = {key: getattr(one.table, key) for one in (other, self) for key in one.places}
        return EndChoice(EndTable.model_construct(**fixed), self.path, {**other.places, **self.places})


def end_choices(table: RunDraft, path: Path, found: Collector) -> tuple[EndChoice, EndChoice] | None:
    """Both ends: what the user fixed goes before what the program wrote, key by key."""
    record = table.assembly.ends if table.assembly is not None else None
    place = path if record is None else (*path, "assembly", "ends")
    written = _both(record, place, place, found)
    own = _both(table.ends, (*path, "ends"), place, found)
    if own is None or written is None:
        return None
    return own[0].over(written[0]), own[1].over(written[1])


def _both(
    given: list[EndTable] | BothEnds | None, place: Path, otherwise: Path, found: Collector
) -> tuple[EndChoice, EndChoice] | None:
    if isinstance(given, list) and len(given) != 2:
        found.add(place, f"a hose has two ends, a and b; got {len(given)}")
        return None
    if given is None:
        return _choice(EndTable(), otherwise), _choice(EndTable(), otherwise)
    if isinstance(given, list):
        return _choice(given[0], (*place, 0)), _choice(given[1], (*place, 1))
    return _choice(given.a, (*place, "a")), _choice(given.b, (*place, "b"))


def _choice(table: EndTable, path: Path) -> EndChoice:
    return EndChoice(table, path, {key: (*path, key) for key in table.model_fields_set})


@dataclass(frozen=True)
class EndOptions:
    """One end of a run.

    Attributes
    ----------
    ends
        All that the catalog has for what is fixed, at least one; clock 0 where it is free.
    bent
        Names of the bent forms that the port would take.
    """

    request: EndRequest
    ends: tuple[End, ...]
    bent: tuple[str, ...]

    @property
    def dash_sizes(self) -> set[int]:
        """Of the hoses that the ends take."""
        return {end.form.dash_size for end in self.ends}

    @property
    def turns(self) -> bool:
        """Whether the end can turn when it is fitted; an adapter's own nut can where the hose's end cannot."""
        return any(end.form.roll is not Roll.FIXED or end.adapters for end in self.ends)

    @property
    def straight(self) -> bool:
        """Whether only straight ends will do."""
        return all(end.form.exit_angle == 0.0 for end in self.ends)

    def least(self, dash_size: int) -> float:
        """Length that the shortest end for a size of hose takes of the overall length. [m]"""
        return min(end.form.cutoff + end.form.insertion for end in self.ends if end.form.dash_size == dash_size)

    def of(self, dash_sizes: set[int]) -> EndOptions:
        """The ends for hoses of these sizes."""
        return replace(self, ends=tuple(end for end in self.ends if end.form.dash_size in dash_sizes))


@dataclass(frozen=True)
class EndReader:
    """Reads one end: the port's connection, what the adapters make of it, and the end forms that mate.

    Attributes
    ----------
    hose
        ``None`` where it is open, or cannot be used; ``hose_path`` is its place.
    to_plan
        Whether form and adapters are open where nobody fixed them; else the end is the straight one that mates.
    """

    catalog: Catalog
    found: Collector
    hose: Hose | None
    hose_path: Path
    port_index: int
    port: PortTable
    choice: EndChoice
    to_plan: bool

    def read(self) -> EndOptions | None:
        """The end, unless something fixed rules out all there are; problems go to ``found``."""
        try:
            connection = str(Connection.parse(self.port.connection))
        except ArgumentError:
            return None  # noted with the port
        chains = self._chains(connection)
        if chains is None:
            return None
        met = connection if self._free else _outermost(chains[0], connection)
        with self.found.at(*self.choice.place("connection")):
            mating = self._mating(chains, connection, met)
            return self._of(mating, connection, met)
        return None

    def _of(self, mating: list[End], connection: str, met: str) -> EndOptions | None:
        with self.found.at(*self.hose_path):
            sized = self._sized(mating, met)
            bent = dict.fromkeys(end.form.name for end in sized if end.form.exit_angle > 0.0)
            with self.found.at(*self.choice.place("form")):
                ends = self._named(sized, met)
                return EndOptions(self._request(connection, ends[0]), ends, tuple(bent))
        return None

    @property
    def _free(self) -> bool:
        """Whether adapters may be chosen."""
        fixed = "adapter" in self.choice.places or "adapter" in self.port.model_fields_set
        return self.to_plan and not fixed

    def _chains(self, connection: str) -> list[Adapters] | None:
        """Adapters as fixed, or none and every single one of the catalog; ``None`` where one cannot be used."""
        if self._free:
            return [(), *(((one, 0.0),) for one in self.catalog.adapters(port=connection))]
        own = self.choice.table.adapter if "adapter" in self.choice.places else None
        given = self.port.adapter if own is None else own
        place = ("port", self.port_index, "adapter") if own is None else self.choice.place("adapter")
        chain: Adapters = ()
        for number, table in enumerate(_tables(given)):
            found = self._adapter(table, _outermost(chain, connection), (*place, number))
            if found is None:
                return None
            chain = (*chain, (found, table.clock))
        return [chain]

    def _adapter(self, table: AdapterTable, connection: str, path: Path) -> Adapter | None:
        with self.found.at(*path):
            return self.catalog.adapter(table.name, connection, table.to)
        return None

    def _mating(self, chains: list[Adapters], connection: str, met: str) -> list[End]:
        """All ends that mate, of the connection that is fixed."""
        ends = [
            End(form, self.choice.table.clock, chain)
            for chain in chains
            for form in self.catalog.end_forms(mating=_outermost(chain, connection))
        ]
        wanted = self._wanted
        kept = [end for end in ends if wanted in (None, end.form.connection)]
        if ends and not kept:
            reason = self.catalog.why_not(str(wanted), met) or "the catalog has no such end"
            more = ", and no adapter of the catalog leads to it" if self._free else ""
            known = nearest(str(wanted), dict.fromkeys(end.form.connection for end in ends))
            raise ArgumentError(f"does not mate with port '{self.port.name}': {reason}{more}.{known}")
        return kept

    @property
    def _wanted(self) -> str | None:
        given = self.choice.table.connection
        return None if given is None else str(Connection.parse(given))

    def _sized(self, ends: list[End], met: str) -> list[End]:
        """Those for the hose."""
        if self.hose is None and not ends:
            raise ArgumentError(f"no end of the catalog mates with '{met}' at port '{self.port.name}'")
        sized = [end for end in ends if self.hose is None or end.form.dash_size == self.hose.dash_size]
        if not sized and self.hose is not None:
            known = ", ".join(f"-{size}" for size in sorted({end.form.dash_size for end in ends})) or "no hose at all"
            raise ArgumentError(
                f"no end for -{self.hose.dash_size} hose mates with '{met}' at port '{self.port.name}'; the catalog "
                f"has such ends for {known}"
            )
        return sized

    def _named(self, ends: list[End], met: str) -> tuple[End, ...]:
        """Those of the form that is fixed."""
        form = self.choice.table.form or (None if self.to_plan else "straight")
        if form is None:
            return tuple(ends)
        name = form.strip()
        named = tuple(end for end in ends if end.form.name in (name, name.casefold()))
        if not named:
            size = "" if self.hose is None else f" for -{self.hose.dash_size} hose"
            raise ArgumentError(
                f"no end '{name}'{size} mates with '{met}' at port '{self.port.name}'."
                f"{nearest(name, dict.fromkeys(end.form.name for end in ends))}"
            )
        return named

    def _request(self, connection: str, end: End) -> EndRequest:
        fixed = self.choice.places
        return EndRequest(
            self.port.name,
            connection,
            None if self._free else end.adapters,
            end.form.name if "form" in fixed else None,
            self.choice.table.clock if "clock" in fixed else None,
            self._wanted,
        )


def _outermost(chain: Adapters, connection: str) -> str:
    """The connection that a hose's end meets."""
    return chain[-1][0].hose_side if chain else connection


def _tables(given: Iterable[AdapterTable | str]) -> list[AdapterTable]:
    return [one if isinstance(one, AdapterTable) else AdapterTable(name=one) for one in given]
