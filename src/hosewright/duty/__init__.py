"""What a line demands of its hose: flow, pressures, temperatures and fluid. Facts with their limits, no verdicts."""

from hosewright.duty.compatibility import (
    FluidFit,
    MaterialRating,
    Suitability,
    fluid_fit,
    fluid_temperature_facts,
    material_rating,
    scope_exclusion,
    temperature_facts,
    vacuum_fact,
)
from hosewright.duty.conditions import CylinderSide, Duty, Fluid, FluidClass, FluidState, Line, Side
from hosewright.duty.cylinder import (
    PressureDemand,
    highest_flow,
    intensified_pressure,
    pressure_demand,
    returned_flow,
)
from hosewright.duty.facts import Fact
from hosewright.duty.flow import Friction, Regime, bore_for_velocity, friction, reynolds_number, velocity
from hosewright.duty.pressure_drop import (
    Loss,
    Passage,
    PressureDrop,
    Turn,
    assembly_pressure_drop,
    passages,
    pressure_drop,
)
from hosewright.duty.rating import PartRating, Rating, pressure_facts, rating
from hosewright.duty.suction import inlet_fact
from hosewright.duty.velocity_limits import VelocityLimit, least_bore, velocity_facts, velocity_limit
from hosewright.duty.viscosity import ViscosityCurve, density_at, grade_viscosity

__all__ = [
    "CylinderSide",
    "Duty",
    "Fact",
    "Fluid",
    "FluidClass",
    "FluidFit",
    "FluidState",
    "Friction",
    "Line",
    "Loss",
    "MaterialRating",
    "PartRating",
    "Passage",
    "PressureDemand",
    "PressureDrop",
    "Rating",
    "Regime",
    "Side",
    "Suitability",
    "Turn",
    "VelocityLimit",
    "ViscosityCurve",
    "assembly_pressure_drop",
    "bore_for_velocity",
    "density_at",
    "fluid_fit",
    "fluid_temperature_facts",
    "friction",
    "grade_viscosity",
    "highest_flow",
    "inlet_fact",
    "intensified_pressure",
    "least_bore",
    "material_rating",
    "passages",
    "pressure_demand",
    "pressure_drop",
    "pressure_facts",
    "rating",
    "returned_flow",
    "reynolds_number",
    "scope_exclusion",
    "temperature_facts",
    "vacuum_fact",
    "velocity",
    "velocity_facts",
    "velocity_limit",
]
