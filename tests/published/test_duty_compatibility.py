"""Scopes of the hose standards and polymer guidance."""

from __future__ import annotations

import pytest

from hosewright.duty import FluidClass, Suitability, material_rating, scope_exclusion
from hosewright.sources import Confidence


@pytest.mark.parametrize(
    ("construction", "standard"), [("1SN", "EN 853"), ("3TE", "EN 854"), ("4SH", "EN 856"), ("2SC", "EN 857")]
)
def test_standard_hoses_exclude_phosphate_and_other_esters(construction, standard):
    """EN 853, 854, 856, 857, scope: not for HFD-R nor for ester based fluids."""
    for fluid_class in (FluidClass.HFDR, FluidClass.HFDU, FluidClass.HETG, FluidClass.HEES):
        assert scope_exclusion(construction, fluid_class).document == standard
    assert scope_exclusion(construction, FluidClass.HM) is None


@pytest.mark.parametrize(
    ("material", "fluid_class", "suitability"),
    [
        ("EPDM", FluidClass.HM, Suitability.UNSUITABLE),
        ("NBR", FluidClass.HL, Suitability.GOOD),
        ("EPDM", FluidClass.HFDR, Suitability.GOOD),
        ("NBR", FluidClass.HFDR, Suitability.UNSUITABLE),
        ("PU", FluidClass.HFC, Suitability.UNSUITABLE),
        ("PTFE", FluidClass.HFC, Suitability.GOOD),
    ],
)
def test_published_cells_of_the_polymer_table(material, fluid_class, suitability):
    """Seal-material tables of workshop handbooks; only the cells that were seen in print."""
    rating = material_rating(material, fluid_class)
    assert rating.suitability is suitability
    assert rating.source.confidence is Confidence.PRACTICE


def test_a_cell_from_memory_says_so():
    assert material_rating("CR", FluidClass.HM).source.confidence is Confidence.MEMORY
