"""The catalog: one place to look up hoses, ends, adapters, connections and fluids, with a shop's own data on top.

Own data come as CSV in UTF-8, one file a kind, told apart by their columns; lengths in mm, pressures in bar, angles
in degrees, temperatures in degrees Celsius, viscosities in mm2/s. Any column may be left out or empty where nothing
is known, save those that tell what the row is about.

hoses
    ``hoses.OWN_COLUMNS``: ``name`` (or ``construction`` and ``dash_size``), ``like`` (a hose whose figures fill the
    empty cells; without it the hose of the same name does), ``inside_diameter_mm``, ``outside_diameter_mm``,
    ``minimum_bend_radius_mm`` (to the inside of the bend), ``max_working_pressure_bar``, ``longer_pct``,
    ``price_per_m``, ...
ends
    ``ends.END_COLUMNS``: ``name``, ``connection``, ``dash_size``, ``exit_angle_deg``, ``cutoff_mm``, ...
adapters
    ``ends.ADAPTER_COLUMNS``: ``name``, ``port_side``, ``hose_side``, ``angle_deg``, ``run_mm``, ``leg_mm``, ...
fluids
    ``fluids.OWN_COLUMNS``: ``name``, ``fluid_class``, ``viscosity_40_mm2_s``, ``viscosity_100_mm2_s``, ...

Ends (with their ferrule) and adapters also take ``price``, a plain number in the shop's currency, as ``price_per_m``
of a hose; the packaged tables have none. Each kind also takes ``source`` (the data sheet, shown with every figure) and
``confidence`` (else ``data sheet``).
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from importlib import resources
from pathlib import Path
from typing import TypeVar

from hosewright import tables
from hosewright.assembly import Adapter, EndForm, Hose
from hosewright.catalog import connections, ends, fluids, hoses
from hosewright.catalog.connections import PACKAGE, Connection
from hosewright.catalog.ends import AdapterKey, EndKey
from hosewright.catalog.fluids import FluidData
from hosewright.catalog.hoses import Construction, ImpulsePoint
from hosewright.errors import ArgumentError, DataError, nearest
from hosewright.sources import Confidence, Source
from hosewright.tables import Row
from hosewright.words import Sentence

VERSION = "1"
"""Raised with every change of a packaged figure."""

Key = TypeVar("Key", bound=Hashable)
Item = TypeVar("Item")

KINDS = {  # a column that only this kind has, and all its columns
    "ends": ("exit_angle_deg", ends.END_COLUMNS),
    "adapters": ("port_side", ends.ADAPTER_COLUMNS),
    "fluids": ("fluid_class", fluids.OWN_COLUMNS),
    "hoses": ("", hoses.OWN_COLUMNS),
}


@dataclass(frozen=True)
class Catalog:
    """Everything that can be ordered or met. Make one with ``load()``, add to it with ``with_own()``.

    Attributes
    ----------
    own_hoses, own_ends, own_adapters, own_fluids
        Own data by key; they override the packaged ones.
    own_names
        Names of the own files, in the order in which they were added.
    own_digest
        Digest of the own data.
    """

    own_hoses: Mapping[str, Hose] = field(default_factory=dict)
    own_ends: Mapping[EndKey, EndForm] = field(default_factory=dict)
    own_adapters: Mapping[AdapterKey, Adapter] = field(default_factory=dict)
    own_fluids: Mapping[str, FluidData] = field(default_factory=dict)
    own_names: tuple[str, ...] = ()
    own_digest: str = ""

    @property
    def version(self) -> str:
        """Version of the packaged tables, and the names of own data."""
        return " + ".join([VERSION, *self.own_names])

    @cached_property
    def hash(self) -> str:
        """Digest of all figures, packaged and own."""
        digest = hashlib.sha256(self.own_digest.encode())
        for path in sorted((resources.files(PACKAGE) / "data").iterdir(), key=lambda path: path.name):
            digest.update(path.read_bytes())
        return digest.hexdigest()

    def hoses(self) -> tuple[Hose, ...]:
        """All hoses."""
        return tuple(self._hoses.values())

    def hose(self, name: str) -> Hose:
        """Hose by name: construction, space, dash size, in any usual spelling.

        Raises
        ------
        ArgumentError
            No such hose.
        """
        hose = hoses.find(name, self._hoses)
        if hose is None:
            raise ArgumentError(f"no hose '{name}' in the catalog.{hoses.hint(name, self._hoses)}")
        return hose

    def construction(self, hose: Hose) -> Construction | None:
        """Type of a hose; ``None`` for a type of the user's own."""
        return hoses.constructions().get(hose.construction)

    def impulse_point(self, hose: Hose) -> ImpulsePoint | None:
        """What its standard asks of a hose in the impulse test; ``None`` where unknown."""
        return hoses.impulse_point(hose)

    def end_forms(
        self, *, connection: str | None = None, dash_size: int | None = None, mating: str | None = None
    ) -> tuple[EndForm, ...]:
        """End forms, all or those of a kind.

        Parameters
        ----------
        connection
            That the ends have.
        dash_size
            Of the hose that they take.
        mating
            Connection that they mate with, such as a port's.
        """
        wanted = str(Connection.parse(connection)) if connection else None
        other = Connection.parse(mating) if mating else None
        return tuple(
            form
            for form in self._ends.values()
            if (wanted is None or form.connection == wanted)
            and (dash_size is None or form.dash_size == dash_size)
            and (other is None or connections.mates(form.connection, other))
        )

    def end_form(self, name: str, connection: str, dash_size: int | None = None) -> EndForm:
        """One end form by name and connection; the dash size is needed where several hoses fit the connection.

        Raises
        ------
        ArgumentError
            No such end form, or several.
        """
        forms = self.end_forms(connection=connection, dash_size=dash_size)
        found = [form for form in forms if form.name == name.strip().casefold() or form.name == name]
        if len(found) > 1:
            dashes = ", ".join(f"-{form.dash_size}" for form in found)
            raise ArgumentError(f"end '{name}' with '{connection}' fits several hoses: {dashes}; say which dash size")
        if not found:
            known = nearest(name, dict.fromkeys(form.name for form in forms))
            size = f" for -{dash_size} hose" if dash_size else ""
            raise ArgumentError(f"no end '{name}' with '{connection}'{size} in the catalog.{known}")
        return found[0]

    def adapters(self, *, port: str | None = None, end: str | None = None) -> tuple[Adapter, ...]:
        """Adapters, all or those that mate with a port's connection and with a hose end's."""
        return tuple(
            one
            for one in self._adapters.values()
            if (port is None or connections.mates(one.port_side, port))
            and (end is None or connections.mates(one.hose_side, end))
        )

    def adapter(self, name: str, port: str, hose_side: str | None = None) -> Adapter:
        """One adapter for a port's connection; without ``hose_side`` the one that keeps the port's family and size.

        Raises
        ------
        ArgumentError
            No such adapter.
        """
        wanted = Connection.parse(hose_side or port)
        fitting = self.adapters(port=port)
        for one in fitting:
            if one.name == name.strip().casefold() and Connection.parse(one.hose_side) == wanted:
                return one
        raise ArgumentError(
            f"no adapter '{name}' from port '{port}' to '{wanted}' in the catalog."
            f"{nearest(f'{name} to {wanted}', [f'{one.name} to {one.hose_side}' for one in fitting])}"
        )

    def connection(self, text: str) -> connections.Size:
        """Thread, rating, nut and torque of a connection such as ``"face seal -8 male"``."""
        return Connection.parse(text).data

    def mates(self, a: str, b: str) -> bool:
        """Whether two connections mate."""
        return connections.mates(a, b)

    def why_not(self, a: str, b: str) -> Sentence | None:
        """Why two connections do not mate; ``None`` where they do."""
        return connections.why_not(a, b)

    def fluid(self, name: str) -> FluidData:
        """Fluid by class and viscosity grade, such as ``"HM 46"``, or one of the own fluids by name.

        Raises
        ------
        ArgumentError
            No such fluid.
        """
        return self.own_fluids[name] if name in self.own_fluids else fluids.fluid(name)

    def with_own(
        self, given: str | Path | Iterable[Mapping[str, object]], name: str = "rows", kind: str | None = None
    ) -> Catalog:
        """The catalog with own data on top, from a CSV file or from rows; the columns tell the kind.

        Raises
        ------
        DataError
            The file cannot be read, or a row cannot be used; the message names file and line.
        """
        rows = _read(given, name)
        name = Path(given).name if isinstance(given, str | Path) else name
        if not rows:
            raise DataError(f"{name}: holds no rows under its header")
        kind = kind or _kind(rows[0])
        if kind not in KINDS:
            raise DataError(f"unknown kind of own data '{kind}'.{nearest(kind, KINDS)}")
        for row in rows:
            tables.check_columns(row, KINDS[kind][1])
        digest = hashlib.sha256((self.own_digest + repr([dict(row.cells) for row in rows])).encode()).hexdigest()
        return replace(self._merged(kind, rows), own_names=(*self.own_names, name), own_digest=digest)

    def _merged(self, kind: str, rows: tuple[Row, ...]) -> Catalog:
        if kind == "ends":
            return replace(self, own_ends=_over(self.own_ends, rows, ends.end_form, ends.end_key))
        if kind == "adapters":
            return replace(self, own_adapters=_over(self.own_adapters, rows, ends.adapter, ends.adapter_key))
        if kind == "fluids":
            return replace(self, own_fluids=_over(self.own_fluids, rows, fluids.own_fluid, lambda fluid: fluid.name))
        known = dict(self._hoses)

        def read(row: Row) -> Hose:
            hose = hoses.own_hose(row, known)
            known[hose.name] = hose  # so that a later row may be like an earlier one
            return hose

        return replace(self, own_hoses=_over(self.own_hoses, rows, read, lambda hose: hose.name))

    @cached_property
    def _hoses(self) -> Mapping[str, Hose]:
        return {**hoses.packaged_hoses(), **self.own_hoses}

    @cached_property
    def _ends(self) -> Mapping[EndKey, EndForm]:
        return {**ends.packaged_ends(), **self.own_ends}

    @cached_property
    def _adapters(self) -> Mapping[AdapterKey, Adapter]:
        return {**ends.packaged_adapters(), **self.own_adapters}


def load() -> Catalog:
    """The packaged catalog; nothing is read before it is asked for."""
    return Catalog()


def _read(given: str | Path | Iterable[Mapping[str, object]], name: str) -> tuple[Row, ...]:
    if isinstance(given, str | Path):
        path = Path(given)
        return tables.from_file(path, Source(f"own data: {path.name}", confidence=Confidence.DATA_SHEET))
    return tables.from_mappings(given, name, Source(f"own data: {name}", confidence=Confidence.DATA_SHEET))


def _kind(row: Row) -> str:
    return next(kind for kind, (mark, _) in KINDS.items() if not mark or mark in row.cells)


def _over(
    own: Mapping[Key, Item], rows: tuple[Row, ...], read: Callable[[Row], Item], key_of: Callable[[Item], Key]
) -> Mapping[Key, Item]:
    """Own items with those of the rows on top; the same item twice in one file is refused."""
    places: dict[Key, str] = {}
    items = dict(own)
    for row in rows:
        item = read(row)
        key = key_of(item)
        if key in places:
            raise DataError(f"{row.place}: gives {key!r} again, first given in {places[key]}")
        places[key] = row.place
        items[key] = item
    return items
