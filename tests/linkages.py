"""Plane linkages in closed form, built in the x-z plane; turns are right-handed about -y, from x towards z."""

import numpy as np

from hosewright.machine import Body, Cylinder, Eye, Machine, Pin, Port, Slide, Turn

ABOUT = (0.0, -1.0, 0.0)


def in_plane(length, angle):
    return np.array([length * np.cos(angle), 0.0, length * np.sin(angle)])


def triple(point):
    return tuple(float(value) for value in point)


def four_bar_angles(crank, coupler, rocker, ground, angle, crossed=False):
    """Angles of coupler and rocker by the cosine rule on the triangle that the diagonal closes."""
    joint = in_plane(crank, angle)
    diagonal = np.array([ground, 0.0, 0.0]) - joint
    length = np.linalg.norm(diagonal)
    at_joint = np.arccos((coupler**2 + length**2 - rocker**2) / (2 * coupler * length))
    coupler_angle = np.arctan2(diagonal[2], diagonal[0]) + (-at_joint if crossed else at_joint)
    tip = joint + in_plane(coupler, coupler_angle)
    return coupler_angle, np.arctan2(tip[2], tip[0] - ground)


def four_bar(crank, coupler, rocker, ground, angle, crossed=False):
    """A four-bar drawn with its crank at ``angle``; crank, coupler and rocker joints are all drawn at 0."""
    coupler_angle, _ = four_bar_angles(crank, coupler, rocker, ground, angle, crossed)
    joint = in_plane(crank, angle)
    tip = triple(joint + in_plane(coupler, coupler_angle))
    return Machine(
        bodies=(
            Body("crank", joint=Turn((0, 0, 0), ABOUT)),
            Body("coupler", "crank", Turn(triple(joint), ABOUT)),
            Body("rocker", joint=Turn((ground, 0, 0), ABOUT)),
        ),
        pins=(Pin("tip", ("coupler", "rocker"), tip, ABOUT),),
        ports=(Port("on coupler", "coupler", tip, (0, 0, 1)), Port("on rocker", "rocker", tip, (0, 0, 1))),
    )


def slider_crank(crank, rod, angle):
    """A slider-crank drawn at ``angle``, the piston on x."""
    joint = in_plane(crank, angle)
    piston = (crank * np.cos(angle) + np.sqrt(rod**2 - (crank * np.sin(angle)) ** 2), 0.0, 0.0)
    return Machine(
        bodies=(
            Body("crank", joint=Turn((0, 0, 0), ABOUT)),
            Body("rod", "crank", Turn(triple(joint), ABOUT)),
            Body("piston", joint=Slide((1, 0, 0))),
        ),
        pins=(Pin("wrist", ("rod", "piston"), triple(piston)),),
    )


def lifted_mast(closed=0.3, open_=1.2):
    """A mast turning about y at the origin, lifted by a cylinder from the chassis; drawn level."""
    return Machine(
        bodies=(Body("mast", joint=Turn((0, 0, 0), ABOUT, -0.3, 1.2)),),
        cylinders=(
            Cylinder(
                "lift", Eye("chassis", (0.1, 0, -0.4), (0, 1, 0)), Eye("mast", (0.5, 0, 0)), closed, open_, 0.08, 0.05
            ),
        ),
        ports=(Port("rod side", "lift.barrel", (0.3, 0.05, -0.2), (0, 1, 0)),),
    )
