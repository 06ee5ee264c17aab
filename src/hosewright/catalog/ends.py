"""End forms and adapters: an example set with invented dimensions, and a shop's own."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from hosewright import tables
from hosewright.assembly import Adapter, EndForm, Roll
from hosewright.catalog.connections import PACKAGE, Connection
from hosewright.errors import ArgumentError, DataError, nearest
from hosewright.tables import Row

END_COLUMNS = (
    "name",
    "connection",
    "dash_size",
    "exit_angle_deg",
    "cutoff_mm",
    "insertion_mm",
    "drop_mm",
    "ferrule_diameter_mm",
    "ferrule_length_mm",
    "roll",
    "step_deg",
    "max_working_pressure_bar",
    "insert_bore_mm",
    "nut_width_mm",
    "hex_width_mm",
    "price",
)
ADAPTER_COLUMNS = (
    "name",
    "port_side",
    "hose_side",
    "angle_deg",
    "run_mm",
    "leg_mm",
    "body_diameter_mm",
    "max_working_pressure_bar",
    "bore_mm",
    "live",
    "price",
)

EndKey = tuple[str, str, int]
AdapterKey = tuple[str, str, str]


@cache
def packaged_ends() -> Mapping[EndKey, EndForm]:
    """The example end forms by name, connection and dash size."""
    forms = (end_form(row) for row in tables.packaged(PACKAGE, "example_ends.csv"))
    return {end_key(form): form for form in forms}


@cache
def packaged_adapters() -> Mapping[AdapterKey, Adapter]:
    """The example adapters by name and both their connections."""
    adapters = (adapter(row) for row in tables.packaged(PACKAGE, "example_adapters.csv"))
    return {adapter_key(one): one for one in adapters}


def end_key(form: EndForm) -> EndKey:
    """What tells an end form from all others."""
    return form.name, form.connection, form.dash_size


def adapter_key(one: Adapter) -> AdapterKey:
    """What tells an adapter from all others."""
    return one.name, one.port_side, one.hose_side


def end_form(row: Row) -> EndForm:
    """End form of a row.

    Raises
    ------
    DataError
        A figure is missing or cannot be right.
    """
    angle, drop = row.required("exit_angle_deg"), row.number("drop_mm") or 0.0
    if angle > 0.0 and drop <= 0.0:
        raise DataError(f"{row.place}: a bent end needs a drop above 0, found '{row.cells.get('drop_mm', '')}'")
    if angle == 0.0 and drop != 0.0:
        raise DataError(f"{row.place}: a straight end has no drop, found '{row.cells['drop_mm']}'")
    return EndForm(
        name=row.text("name"),
        connection=_connection(row, "connection"),
        dash_size=row.dash_size(),
        exit_angle=_within(row, "exit_angle_deg", 0.0, 180.0),
        cutoff=_within(row, "cutoff_mm", 0.0, 1000.0),
        insertion=_within(row, "insertion_mm", 0.0, 500.0),
        drop=drop,
        ferrule_diameter=row.number("ferrule_diameter_mm"),
        ferrule_length=row.number("ferrule_length_mm"),
        roll=_roll(row),
        step=row.number("step_deg"),
        max_working_pressure=row.number("max_working_pressure_bar"),
        insert_bore=row.number("insert_bore_mm"),
        nut_width=row.number("nut_width_mm"),
        hex_width=row.number("hex_width_mm"),
        source=row.source("cutoff_mm"),
        price=row.price(),
    )


def adapter(row: Row) -> Adapter:
    """Adapter of a row.

    Raises
    ------
    DataError
        A figure is missing or cannot be right.
    """
    return Adapter(
        name=row.text("name"),
        port_side=_connection(row, "port_side"),
        hose_side=_connection(row, "hose_side"),
        angle=_within(row, "angle_deg", 0.0, 180.0),
        run=_within(row, "run_mm", 0.0, 1000.0),
        leg=_within(row, "leg_mm", 0.0, 1000.0),
        body_diameter=row.number("body_diameter_mm"),
        max_working_pressure=row.number("max_working_pressure_bar"),
        bore=row.number("bore_mm"),
        source=row.source("run_mm"),
        price=row.price(),
        live=row.has("live") and row.text("live") == "yes",
    )


def _connection(row: Row, column: str) -> str:
    try:
        return str(Connection.parse(row.text(column)))
    except ArgumentError as error:
        raise DataError(f"{row.place}: column '{column}': {error}") from error


def _within(row: Row, column: str, least: float, greatest: float) -> float:
    value = row.required(column)
    if not tables.to_si(column, least) <= value <= tables.to_si(column, greatest):
        raise DataError(
            f"{row.place}: column '{column}' holds '{row.cells[column]}', expected {least:.0f} to {greatest:.0f}"
        )
    return value


def _roll(row: Row) -> Roll:
    try:
        return Roll(row.text("roll"))
    except ValueError:
        raise DataError(f"{row.place}: unknown roll '{row.text('roll')}'.{nearest(row.text('roll'), Roll)}") from None
