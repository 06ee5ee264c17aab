"""The shape of a hose between two held ends, at rest and through a motion.

One span is a naturally straight, circular, elastic rod held at both ends in position and direction, and in roll where
both supports carry a reference. Nothing here loads the compiled solver before the first shape is asked for.
"""

from hosewright.mechanics.kernel import warm_up
from hosewright.mechanics.roll import carried_roll
from hosewright.mechanics.section import Section, Support
from hosewright.mechanics.shapes import Shape, Shapes
from hosewright.mechanics.solve import Span, equilibrium, sweep, sweeps

__all__ = ["Section", "Shape", "Shapes", "Span", "Support", "carried_roll", "equilibrium", "sweep", "sweeps", "warm_up"]
