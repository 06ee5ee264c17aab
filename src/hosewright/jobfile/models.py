"""The tables of a job file, as a person types them; quantities are SI once read.

Every field carries a description, and an example where it is needed: messages about missing fields and the schema for
editors are made from them.
"""

from __future__ import annotations

import datetime
import math
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, Discriminator, Field, Tag, model_validator

from hosewright.checks.run import Hold
from hosewright.duty import Line, Side
from hosewright.jobfile.quantities import (
    Angle,
    Density,
    Direction,
    Flow,
    JointValue,
    Length,
    Name,
    NotNegativeLength,
    Number,
    Point,
    PositiveLength,
    Pressure,
    Sizes,
    Slope,
    Temperature,
    Text,
    Viscosity,
    refuse,
    word,
)
from hosewright.jobfile.sample_values import ClockAngle, PrintedDate, Seat
from hosewright.jobfile.table import Table, one_of
from hosewright.machine import GROUND, Surface
from hosewright.service.sample import Reach
from hosewright.units import Kind, show

JointValues = dict[str, JointValue]

Frame = Annotated[str, *word("frame", ["machine", "link"])]
Unit = Annotated[str, *word("unit of a mesh file", ["mm", "cm", "m", "in"])]


def table_or_value(value: Any) -> str:
    """Tag of a union; tags stand in angle brackets, so that they can be told from keys."""
    return "<table>" if isinstance(value, dict | BaseModel) else "<value>"


def list_or_table(value: Any) -> str:
    """Tag of a union."""
    return "<list>" if isinstance(value, list) else "<table>"


class JobDraft(Table):
    """[job] as far as it can be used."""

    format: Literal[1] | None = None
    title: Text | None = None
    date: datetime.date | None = Field(None, description="day that is printed on the sheets")
    drawn_at: JointValues = Field({}, description="joint values in which all points were measured; else 0")
    attitude: Slope = Field(0.0, description="steepest slope that the machine works on")
    port_error: NotNegativeLength = Field(0.005, description="measuring error of the ports' positions")
    port_angle_error: Slope = Field(math.radians(2.0), description="measuring error of the ports' directions")


class JobHead(JobDraft):
    """[job]"""

    format: Literal[1] = Field(description="version of the file format", examples=[1])
    title: Text = Field(description="what the job is about", examples=['"Cherry platform: lift circuit"'])


class MachineFile(Table):
    """[machine]"""

    urdf: Text = Field(description="file with the links and joints, beside the job file", examples=['"machine.urdf"'])
    meshes: Text = Field(".", description="folder with the meshes that the URDF file names")


class TemperatureTable(Table):
    """Temperatures of the fluid."""

    min: Temperature = Field(description="coldest start", examples=[-15])
    working: Temperature = Field(description="usual", examples=[55])
    max: Temperature = Field(description="hottest", examples=[80])


class SomeTemperatures(Table):
    """Temperatures of one line, where they differ."""

    min: Temperature | None = Field(None, description="coldest start")
    working: Temperature | None = Field(None, description="usual")
    max: Temperature | None = Field(None, description="hottest")


FLUID_FIGURES = ("viscosity_40", "viscosity_100", "density_15")


class FluidTable(Table):
    """[fluid]"""

    grade: Text = Field(description="class and viscosity grade, or a name of its own", examples=['"HM 46"'])
    temperature: TemperatureTable = Field(
        description="of the fluid in service", examples=["{ min = -15, working = 55, max = 80 }"]
    )
    kind: Text | None = Field(None, alias="class", description="class of ISO 6743-4; makes 'grade' a name of its own")
    viscosity_40: Viscosity | None = Field(None, description="kinematic, at 40 °C")
    viscosity_100: Viscosity | None = Field(None, description="kinematic, at 100 °C")
    density_15: Density | None = Field(None, description="at 15 °C")

    @model_validator(mode="after")
    def _own_data_together(self) -> Self:
        own = [name for name in FLUID_FIGURES if getattr(self, name) is not None]
        if own and self.kind is None:
            raise refuse(f"'{own[0]}' is own data: say the fluid's class too, such as class = \"HV\"")
        return self


def _refuse_empty(lowest: float | None, highest: float | None, kind: Kind) -> None:
    if lowest is not None and highest is not None and not lowest < highest:
        low, high = (show(value, kind) for value in (lowest, highest))
        raise refuse(f"runs from {low} to {high}, an empty range: 'from' must be below 'to'")


class TurnTable(Table):
    """A turning joint."""

    at: Point = Field(description="a point on the axis", examples=["[0, 0, 900]"])
    about: Direction = Field(description="the axis, right-handed", examples=["[0, 1, 0]"])
    lowest: Angle | None = Field(None, alias="from", description="lowest value")
    highest: Angle | None = Field(None, alias="to", description="highest value")

    @model_validator(mode="after")
    def _range(self) -> Self:
        _refuse_empty(self.lowest, self.highest, Kind.ANGLE)
        return self


class SlideTable(Table):
    """A sliding joint."""

    along: Direction = Field(description="the way that it slides", examples=["[1, 0, 0]"])
    lowest: Length | None = Field(None, alias="from", description="lowest value")
    highest: Length | None = Field(None, alias="to", description="highest value")

    @model_validator(mode="after")
    def _range(self) -> Self:
        _refuse_empty(self.lowest, self.highest, Kind.LENGTH)
        return self


class BodyTable(Table):
    """[[body]]"""

    name: Name = Field(description="name of the part; its joint goes by it", examples=['"mast"'])
    on: Text = Field(GROUND, description="the part that it is on")
    turn: TurnTable | None = Field(None, description="the joint, where it turns")
    slide: SlideTable | None = Field(None, description="the joint, where it slides")

    @model_validator(mode="after")
    def _one_joint(self) -> Self:
        one_of(self, ("turn", "slide"))
        return self


class EyeTable(Table):
    """Where one end of a cylinder is pinned."""

    on: Text = Field(description="the part that carries the eye", examples=['"chassis"'])
    at: Point = Field(description="middle of the eye", examples=["[300, 0, 250]"])
    pin: Direction | None = Field(None, description="direction of the pin")


class CylinderTable(Table):
    """[[cylinder]]"""

    name: Name = Field(description="gives the bodies '<name>.barrel' and '<name>.rod'", examples=['"lift"'])
    base: EyeTable = Field(
        description="eye of the barrel", examples=['{ on = "chassis", at = [300, 0, 250], pin = [0, 1, 0] }']
    )
    rod: EyeTable = Field(description="eye of the rod", examples=['{ on = "mast", at = [420, 0, 300] }'])
    closed: Length = Field(description="eye to eye when closed", examples=[620])
    open: Length = Field(description="eye to eye when open", examples=[1020])
    bore: Length | None = Field(None, description="inside diameter")
    rod_diameter: Length | None = Field(None, description="diameter of the rod")


class PinTable(Table):
    """[[pin]]"""

    name: Name = Field(description="name of the pin", examples=['"front link"'])
    bodies: list[Text] = Field(description="the two parts that it joins", examples=['["link", "basket"]'])
    at: Point = Field(description="middle of the pin", examples=["[900, 0, 1400]"])
    about: Direction | None = Field(None, description="direction of the pin; without it a ball joint")

    @model_validator(mode="after")
    def _two_bodies(self) -> Self:
        if len(self.bodies) != 2:
            raise refuse(f'a pin joins two bodies, got {len(self.bodies)}: write bodies = ["link", "basket"]')
        return self


class AdapterTable(Table):
    """An adapter that needs more than its name."""

    name: Text = Field(description="form of the adapter", examples=['"90 swivel"'])
    to: Text | None = Field(None, description="connection of its hose side, where it differs from the port's")
    clock: Angle = Field(0.0, description="clock angle from the port's up, clockwise for who looks at the port")


Adapters = list[
    Annotated[Annotated[AdapterTable, Tag("<table>")] | Annotated[Text, Tag("<value>")], Discriminator(table_or_value)]
]


class PortTable(Table):
    """[[port]]"""

    name: Name = Field(description="name of the port", examples=['"V1.A"'])
    on: Text = Field(GROUND, description="the part that carries it")
    at: Point = Field(description="seat of the connection", examples=["[0, 40, 620]"])
    facing: Direction = Field(description="out of the port", examples=["[0, 1, 0]"])
    up: Direction | None = Field(None, description="clock 0 of elbows; else z, or x where the port faces along z")
    connection: Text = Field(description="what it mates as", examples=['"face seal -8 male"'])
    adapter: Adapters = Field([], description="adapters on the port, from the port outwards")
    frame: Frame = Field("machine", description="'link': points are in the URDF link's own frame")


class BoxTable(Table):
    """A block."""

    at: Point = Field(description="its middle", examples=["[0, 0, 400]"])
    size: Sizes = Field(description="edges along x, y and z", examples=["[200, 100, 50]"])
    along: Direction = Field((1.0, 0.0, 0.0), description="direction of the first edge")
    up: Direction = Field((0.0, 1.0, 0.0), description="side of the second edge")


class RoundTable(Table):
    """A round bar or a ball, by radius or diameter."""

    radius: PositiveLength | None = Field(None, description="radius")
    diameter: PositiveLength | None = Field(None, description="diameter")

    @model_validator(mode="after")
    def _one_size(self) -> Self:
        one_of(self, ("radius", "diameter"), needed=True)
        return self

    @property
    def half(self) -> float:
        """Radius. [m]"""
        return self.radius if self.radius is not None else (self.diameter or 0.0) / 2.0


class BarTable(RoundTable):
    """A round bar with flat ends."""

    start: Point = Field(alias="from", description="middle of one end", examples=["[0, 0, 0]"])
    end: Point = Field(alias="to", description="middle of the other end", examples=["[0, 0, 500]"])


class BallTable(RoundTable):
    """A ball."""

    at: Point = Field(description="its middle", examples=["[0, 0, 400]"])


class MeshTable(Table):
    """A mesh from a file."""

    file: Text = Field(description="STL, OBJ, PLY, GLB or STEP, beside the job file", examples=['"mast.stl"'])
    unit: Unit = Field("mm", description="unit of the file; STEP states its own")
    at: Point = Field((0.0, 0.0, 0.0), description="where the file's origin lies")
    along: Direction = Field((1.0, 0.0, 0.0), description="where the file's x points")
    up: Direction = Field((0.0, 1.0, 0.0), description="side to which the file's y points")


SHAPES = ("box", "cylinder", "sphere", "mesh")


class ObstacleTable(Table):
    """[[obstacle]]"""

    name: Name = Field(description="name of the obstacle", examples=['"tank"'])
    on: Text = Field(GROUND, description="the part that carries it")
    box: BoxTable | None = Field(None, description="a block")
    cylinder: BarTable | None = Field(None, description="a round bar")
    sphere: BallTable | None = Field(None, description="a ball")
    mesh: MeshTable | None = Field(None, description="a mesh from a file")
    surface: Annotated[str, *word("surface", Surface)] = Field("plain", description="what it does to a hose")
    removable: bool = Field(False, description="whether it is out of the way when hoses are fitted")
    frame: Frame = Field("machine", description="'link': points are in the URDF link's own frame")

    @model_validator(mode="after")
    def _one_shape(self) -> Self:
        one_of(self, SHAPES, needed=True)
        return self


class MountTable(Table):
    """[[mount]]"""

    name: Name = Field(description="name of the mount", examples=['"m1"'])
    on: Text = Field(GROUND, description="the part that carries it")
    at: Point = Field(description="on the bolting face", examples=["[200, 60, 900]"])
    along: Direction = Field(description="the way the hose runs through the clamp", examples=["[1, 0, 0]"])
    stand_off: NotNegativeLength = Field(0.0, description="bolting face to hose axis")
    up: Direction | None = Field(None, description="out of the bolting face")
    frame: Frame = Field("machine", description="'link': points are in the URDF link's own frame")


class OperatorTable(Table):
    """[[operator]]"""

    name: Name = Field(description="name of the place", examples=['"basket"'])
    on: Text = Field(GROUND, description="the part that carries it")
    at: Point = Field(description="where people stand", examples=["[1500, 0, 1200]"])
    frame: Frame = Field("machine", description="'link': the point is in the URDF link's own frame")


class PressureTable(Table):
    """Pressures of a line, gauge."""

    working: Pressure = Field(description="highest steady pressure", examples=[210])
    peak: Pressure | None = Field(None, description="highest peak; else the working pressure")


class CylinderSideTable(Table):
    """The side of a cylinder that a run serves."""

    name: Text = Field(description="name of the cylinder", examples=['"lift"'])
    side: Annotated[str, *word("side of a cylinder", Side)] = Field(description="rod or piston", examples=['"rod"'])


class EndTable(Table):
    """One end of a hose."""

    form: Text | None = Field(None, description='end form, such as "90 short"; else the straight one that mates')
    clock: Angle = Field(0.0, description="clock angle from the port's up, clockwise for who looks at the port")
    connection: Text | None = Field(None, description="what the end mates as; else what mates with the port")
    adapter: Adapters | None = Field(None, description="adapters in place of the port's; [] takes them off")


class BothEnds(Table):
    """The ends by name."""

    a: EndTable = Field(EndTable(), description="at the port that the run comes from")
    b: EndTable = Field(EndTable(), description="at the port that the run goes to")


Ends = Annotated[
    Annotated[list[EndTable], Tag("<list>")] | Annotated[BothEnds, Tag("<table>")],
    Discriminator(list_or_table),
]


class ClampTable(Table):
    """A clamp on a hose."""

    mount: Text = Field(description="name of the mount", examples=['"m1"'])
    at: NotNegativeLength = Field(description="from the ferrule of end a, along the hose", examples=[320])
    hold: Annotated[str, *word("hold of a clamp", Hold)] = Field("fixed", description="what it does to the hose")


class ChoiceTable(Table):
    """What a run's assembly may say, by the user or by the program."""

    hose: Text | None = Field(None, description="hose by construction and dash size", examples=['"2SC -8"'])
    length: PositiveLength | None = Field(None, description="overall length", examples=[850])
    ends: Ends | None = Field(None, description="end forms at both ends")
    orientation: Angle | None = Field(None, description="orientation angle between two bent ends")
    clamps: list[ClampTable] | None = Field(None, description="clamps in order from end a")
    sleeve: bool | None = Field(None, description="whether a protective sleeve covers the hose")
    fitting_pose: JointValues | None = Field(None, description="joint values in which the hose is put on")
    number: Text | None = Field(None, description="assembly number")


class LimitTable(Table):
    """One limit at which a plan was tried, with what comes closest to failing there or fails by most."""

    name: Text = Field(description="what differs", examples=['"bending 0.2"'])
    kind: Text = Field(description="stiffness, ports, clock or orientation", examples=['"stiffness"'])
    holds: bool = Field(description="whether the plan holds there", examples=["true"])
    rule: Text | None = Field(None, description="the rule with the least margin")
    subject: Text | None = Field(None, description="what that rule is about")
    measure: Number | None = Field(None, description="of that rule, in 'unit'")
    limit: Number | None = Field(None, description="of that rule, in 'unit'")
    unit: Text | None = Field(None, description="unit of these figures")
    margin: Number | None = Field(None, description="plus is good, in 'unit'")


Limits = Annotated[
    Annotated[list[LimitTable], Tag("<list>")] | Annotated[Text, Tag("<table>")], Discriminator(list_or_table)
]


class AssemblyRecord(ChoiceTable):
    """[run.assembly], written by the program."""

    convention: Text | None = Field(None, description="how the orientation angle is measured")
    limits: Limits | None = Field(
        None, description="the limits at which the plan was tried; in older files at how many of them it holds"
    )
    hash: Text | None = Field(None, description="of the inputs that this was made from, and of what was chosen")


PressureValue = Annotated[
    Annotated[PressureTable, Tag("<table>")] | Annotated[Pressure, Tag("<value>")], Discriminator(table_or_value)
]


class RunDraft(ChoiceTable):
    """[[run]] as far as it can be used."""

    name: Name | None = None
    start: Text | None = Field(None, alias="from")
    end: Text | None = Field(None, alias="to")
    line: Annotated[str, *word("kind of line", Line)] = Field("pressure", description="kind of line")
    pressure: PressureValue | None = None
    flow: Flow | None = None
    cylinder: CylinderSideTable | None = Field(None, description="the cylinder side that it serves")
    temperature: SomeTemperatures = Field(SomeTemperatures(), description="where it differs from the fluid's")
    bow: Direction | None = Field(None, description="side to which the hose is laid")
    assembly: AssemblyRecord | None = Field(None, description="written by the program")


class RunTable(RunDraft):
    """[[run]]"""

    name: Name = Field(description="name of the run", examples=['"lift, rod side"'])
    start: Text = Field(alias="from", description="port of end a", examples=['"V1.A"'])
    end: Text = Field(alias="to", description="port of end b", examples=['"lift.R"'])
    pressure: PressureValue = Field(description="working and peak pressure", examples=["{ working = 210, peak = 250 }"])
    flow: Flow = Field(description="flow of the supply", examples=[45])


class MotionTable(Table):
    """[[motion]]"""

    name: Text | None = Field(None, description="name of the motion")
    cycle: list[JointValues] | None = Field(None, description="waypoints of one path")
    free: list[Text] | None = Field(None, description="joints that move independently of each other")
    measured: Text | None = Field(None, description="CSV file of measured poses, beside the job file")
    steps: int | None = Field(None, ge=1, le=10_000, description="poses from each waypoint to the next, or per joint")

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        one_of(self, ("cycle", "free", "measured"), needed=True)
        if self.cycle == [] or self.free == []:
            raise refuse("is empty: a motion needs at least one waypoint or joint")
        return self


class ServiceTable(Table):
    """[service]"""

    poses: list[JointValues] = Field(description="safe poses in which hoses are fitted", examples=["[{ mast = 0 }]"])


class ThreadTable(Table):
    """What caliper, pitch gauge and eye read of an end."""

    diameter: PositiveLength = Field(
        description="over the thread of a male, inside the thread of a female", examples=[20.9]
    )
    half: Annotated[str, *word("half", ["male", "female"])] = Field(description="male or female", examples=['"male"'])
    pitch: PositiveLength | None = Field(None, description="from crest to crest, or 'tpi'")
    tpi: Number | None = Field(None, description="threads per inch, or 'pitch'")
    seat: Seat | None = Field(None, description="what seals: 24, 60 or 74 cone, 30 flare, flat, or none")
    tapered: bool | None = Field(None, description="whether the thread is tapered")
    recess: PositiveLength | None = Field(None, description="bore for the tube in a 24 degree cone")

    @model_validator(mode="after")
    def _one_pitch(self) -> Self:
        one_of(self, ("pitch", "tpi"))
        return self


class FlangeTable(Table):
    """What was measured of a four-bolt flange."""

    head: PositiveLength | None = Field(None, description="over the head of a hose end")
    bolts: list[PositiveLength] = Field([], max_length=2, description="bolts of a port, centre to centre, either way")

    @model_validator(mode="after")
    def _something(self) -> Self:
        if self.head is None and not self.bolts:
            raise refuse("needs 'head' or 'bolts', such as { head = 38.1 } or { bolts = [47.6, 22.2] }")
        return self


class SampleEndTable(Table):
    """An end of a sample."""

    form: Text | None = Field(None, description="end form, or its angle alone")
    drop: PositiveLength | None = Field(None, description="from the seat to the hose axis, of a bent end")
    connection: Text | None = Field(None, description="what it mates as, where it is known by name")
    thread: ThreadTable | None = Field(None, description="its thread as measured, where it is not")
    flange: FlangeTable | None = Field(None, description="its flange as measured, where it has one")
    clock: ClockAngle | None = Field(
        None, description="clock position of its outlet, looking along the hose from end a"
    )
    reach: Annotated[str, *word("reach of a length", Reach)] | None = Field(
        None, description="how far out the length was measured at this end"
    )
    beyond: NotNegativeLength | None = Field(None, description="how far that lies outside the sealing face")

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        one_of(self, ("thread", "flange"))
        return self


class SampleTable(Table):
    """[[assembly]]"""

    name: Name = Field(description="name of the sample", examples=['"hose from the counter"'])
    number: Text | None = Field(None, description="assembly number")
    hose: Text | None = Field(None, description="hose, as far as it is known; else the markings tell it")
    length: PositiveLength | None = Field(None, description="overall length as measured")
    measured: Text | None = Field(None, description="how the length was measured")
    ends: list[SampleEndTable] = Field([], max_length=2, description="ends a and b")
    orientation: Angle | None = Field(None, description="orientation angle")
    convention: Text | None = Field(None, description="how the orientation angle was measured")
    markings: Text | None = Field(None, description="what is printed on it")
    made: PrintedDate | None = Field(None, description="when it was made, where the markings do not tell")
    fitted: PrintedDate | None = Field(None, description="when it was put into service")
    raised_duty: bool = Field(False, description="several shifts, short cycles, strong attack or hand-held tools")
    used: bool = Field(True, description="whether it has been in service")
    pressure: Pressure | None = Field(None, description="working pressure of the line that it served")
    fluid: Text | None = Field(None, description="class and viscosity grade of the fluid")
    failed: Text | None = Field(None, description="why it failed")


class CatalogTable(Table):
    """[catalog]"""

    own: list[Text] = Field([], description="CSV files with own data, beside the job file")


class JobTables(Table):
    """A whole job file."""

    job: JobHead = Field(description="the table [job]", examples=['{ format = 1, title = "..." }'])
    fluid: FluidTable | None = Field(None, description="the fluid of all runs")
    machine: MachineFile | None = Field(None, description="a machine from a URDF file")
    body: list[BodyTable] = Field([], description="parts of the machine")
    cylinder: list[CylinderTable] = Field([], description="hydraulic cylinders")
    pin: list[PinTable] = Field([], description="pins that close linkages")
    port: list[PortTable] = Field([], description="ports")
    obstacle: list[ObstacleTable] = Field([], description="what hoses must keep away from")
    mount: list[MountTable] = Field([], description="places for clamps")
    operator: list[OperatorTable] = Field([], description="where people stand")
    run: list[RunTable] = Field([], description="lines from port to port")
    motion: list[MotionTable] = Field([], description="motions of the machine")
    service: ServiceTable | None = Field(None, description="safe poses")
    assembly: list[SampleTable] = Field([], description="samples to re-make")
    catalog: CatalogTable = Field(CatalogTable(), description="own data")
    profile: dict[str, Number | Text] = Field({}, description="own figures of practice by name")


class SalvagedTables(JobTables):
    """The tables that can be used of a file that has problems."""

    job: JobDraft = Field(JobDraft())  # type: ignore[assignment]
    run: list[RunDraft] = Field([])  # type: ignore[assignment]
