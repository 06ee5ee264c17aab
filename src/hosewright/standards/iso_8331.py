"""ISO 8331, rubber and plastics hoses: selection, storage, use and maintenance."""

from __future__ import annotations

from dataclasses import dataclass

from hosewright.sources import Source
from hosewright.tables import CELSIUS


@dataclass(frozen=True)
class Storage:
    """Conditions in store.

    Attributes
    ----------
    lowest_temperature, highest_temperature, preferred_temperature
        Never below, never above, better not above. [K]
    greatest_humidity
        Relative.
    """

    lowest_temperature: float
    highest_temperature: float
    preferred_temperature: float
    greatest_humidity: float
    source: Source


def storage(polyurethane: bool = False) -> Storage:
    """Conditions in which hose keeps; polyurethane bears less damp. Dark, and away from what makes ozone."""
    humidity = 0.65 if polyurethane else 0.70
    return Storage(CELSIUS - 30.0, CELSIUS + 50.0, CELSIUS + 25.0, humidity, Source("ISO 8331", "4.2.3 and 4.2.4"))
