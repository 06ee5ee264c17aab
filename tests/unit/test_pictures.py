"""Pictures of hoses: shapes as triangles, what hides what, and that a picture of any run can be drawn again alike."""

import io
import math
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from checked_runs import TWO_WIRE, job, port, run, straight_ports
from hosewright.checks.check import check
from hosewright.checks.finding import Place
from hosewright.checks.run import Clamp
from hosewright.documents.labels import Labels
from hosewright.documents.lettering import text_size
from hosewright.documents.pictures import DENSE, Picture, dense, run_picture
from hosewright.documents.projection import View, best_view
from hosewright.documents.scenes import Scene, pose_of, worst_finding
from hosewright.documents.solids import AROUND, MOST_FACES, Solid, solid
from hosewright.documents.subjects import subject_in_words
from hosewright.geometry import BoxShape, CapsuleShape, CylinderShape, Mesh, MeshShape, SphereShape
from hosewright.machine import Mount, Obstacle, Turn
from hosewright.words import Figures, Texts

SHAPES = [
    BoxShape((0.1, 0.2, 0.3), (0.4, 0.1, 0.2), (1.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    CylinderShape((0.0, 0.0, 0.1), (0.3, 0.2, 0.5), 0.05),
    CapsuleShape((0.0, 0.0, 0.1), (0.3, 0.2, 0.5), 0.05),
    SphereShape((0.1, 0.0, 0.0), 0.2),
]


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: type(shape).__name__)
def test_triangles_lie_on_the_shape_and_close_it(shape):
    one = solid(shape)
    assert np.abs(shape.distance(one.vertices)).max() < 1e-9
    edges = np.sort(one.faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    _, counts = np.unique(edges, axis=0, return_counts=True)
    assert (counts == 2).all()
    assert one.finer(0.05).shape[0] >= len(one.faces)


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: type(shape).__name__)
def test_of_a_closed_surface_the_side_away_is_left_out_whichever_way_its_faces_turn(shape):
    towards = View.of(33.0, 21.0).towards
    one = solid(shape)
    inside_out, holed = Solid(one.vertices, one.faces[:, ::-1]), Solid(one.vertices, one.faces[1:])
    seen, away = (triangles.mean(axis=1) for triangles in (one.seen_from(towards), one.seen_from(-towards)))
    assert len(seen) + len(away) == len(one.faces)
    rise = 1e4 * (shape.distance(seen + 1e-4 * towards) - shape.distance(seen))
    assert rise.min() > -math.sin(math.pi / AROUND)  # but for the facets, whoever comes nearer comes off the shape
    assert np.sort(inside_out.seen_from(towards).mean(axis=1), axis=0) == pytest.approx(np.sort(seen, axis=0))
    assert len(holed.seen_from(towards)) == len(holed.faces)


def test_finer_triangles_cover_the_same_area():
    one = solid(SHAPES[0])
    fine = one.finer(0.03)

    def area(triangles):
        across = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
        return 0.5 * np.linalg.norm(across, axis=1).sum()

    assert area(fine) == pytest.approx(area(one.corners))
    assert np.linalg.norm(fine - np.roll(fine, 1, axis=1), axis=2).max() <= 0.03


def test_a_large_mesh_is_drawn_with_few_faces_within_its_box():
    ball = solid(SphereShape((0.0, 0.0, 0.0), 0.3)).finer(0.02)
    mesh = Mesh(ball.reshape(-1, 3), np.arange(3 * len(ball)).reshape(-1, 3))
    few = solid(MeshShape(mesh))
    assert len(mesh.faces) > 5 * MOST_FACES
    assert 100 < len(few.faces) <= MOST_FACES
    assert np.abs(few.vertices).max() <= 0.3 + 1e-9
    assert solid(MeshShape(mesh)) is few  # every picture shows it again


def test_a_box_shows_nine_edges_from_a_corner_twelve_in_all():
    one = solid(BoxShape((0.0, 0.0, 0.0), (1.0, 2.0, 3.0)))
    view = View.of(30.0, 30.0)
    edges = one.edges(view.towards)
    assert len(edges) == 12
    hidden = view.hidden(edges.mean(axis=1), one.corners, 1e-6)
    assert (~hidden).sum() == 9


def test_a_view_is_a_rotation_with_z_up_the_paper():
    for azimuth in (0.0, 77.0, 200.0):
        axes = View.of(azimuth, 25.0).axes
        assert axes @ axes.T == pytest.approx(np.eye(3), abs=1e-12)
        assert np.linalg.det(axes) == pytest.approx(1.0)
        assert axes[0, 2] == pytest.approx(0.0, abs=1e-12)
        assert axes[1, 2] > 0.0


def test_a_wall_hides_what_is_behind_it_alone():
    view = View.of(0.0, 0.0)  # looks along -x
    wall = solid(BoxShape((0.0, 0.0, 0.0), (0.1, 1.0, 1.0))).corners
    points = np.array([[-1.0, 0.0, 0.0], [1.0, 0.0, 0.0], [-1.0, 2.0, 0.0]])
    assert view.hidden(points, wall, 0.01).tolist() == [True, False, False]


def test_the_best_view_looks_at_the_open_side_of_a_bend():
    angle = np.linspace(0.0, math.pi, 40)
    bend = 0.3 * np.stack([np.cos(angle), np.zeros(40), np.sin(angle)], axis=1)  # in the plane of x and z
    wall = solid(BoxShape((0.0, 0.2, 0.2), (1.0, 0.05, 1.0))).corners
    view = best_view(bend, [], wall)
    assert view.towards[1] < -0.7  # along y, from the side without the wall


def test_words_keep_apart():
    room = Labels(100.0, 60.0, np.array([[50.0, 30.0]]))
    size = text_size("port A", 8.0)
    first, second = (room.put(np.array([50.0, 30.0]), size) for _ in range(2))
    assert abs(first[0] - second[0]) >= size[0] or abs(first[1] - second[1]) >= size[1]
    for middle in (first, second):
        assert (np.abs(middle - np.array([50.0, 30.0])) > np.array(size) / 2.0).any()


@pytest.fixture(scope="module")
def clamped():
    ports = [port("A", "chassis", (0, 0, 0), (0, 0, 1)), port("B", "arm", (0.42, 0.05, 0), (0.2, 0, 1))]
    block = Obstacle("block", "arm", BoxShape((0.3, -0.2, 0.1), (0.1, 0.2, 0.1)))
    mounts = [Mount("m", "chassis", (0.02, 0.0, 0.29), (0.1, 0, 1))]
    one, other = run(0.95, clamps=(Clamp("m", 0.30),)), run(1.0, name="two")
    made = job([one, other], ports, joint=Turn((0.2, 0, 0), (0.3, 1, 0.1)), poses=0.7, obstacles=[block], mounts=mounts)
    return check(made)


def test_every_finding_can_be_drawn_and_the_same_gives_the_same(clamped):
    (found, _) = clamped.runs
    places = {finding.place.state: finding.place for finding in found.findings}
    for place in places.values():
        first, second = (run_picture(clamped, found, place) for _ in range(2))
        assert first == second
        assert first.startswith(b"<?xml")
    assert run_picture(clamped, found, format="png").startswith(b"\x89PNG")
    assert run_picture(clamped, found) != run_picture(clamped, found, texts=Texts.load("de"))


def test_the_scene_is_in_the_pose_and_at_the_place_of_its_finding(clamped):
    (found, _) = clamped.runs
    finding = worst_finding(found)
    scene = Scene(clamped, found, finding.place)
    assert found.solved.pose(scene.pose) == pytest.approx(dict(finding.place.pose))
    assert scene.whole[0] == pytest.approx(found.solved.placement.port("A").origin[scene.pose])
    assert scene.ends[1][-1] == pytest.approx(scene.line[-1], abs=1e-3)
    for ghost in scene.ghosts:  # port a keeps still in the drawing
        assert ghost.line[0] == pytest.approx(scene.line[0], abs=1e-6)
    assert pose_of(found.solved, Place()) == 0


def test_a_hose_without_a_diameter_and_a_machine_without_parts_are_drawn():
    thin = replace(TWO_WIRE, outside_diameter=None, minimum_bend_radius=None)
    result = check(job(run(0.8, thin), straight_ports(0.75)))
    assert run_picture(result, result.runs[0]).startswith(b"<?xml")


@pytest.mark.parametrize(
    ("rule", "subject", "words"),
    [
        ("slack", "a to b", ""),
        ("slack", "a to m1", "a bis m1"),
        ("straight at the end", "end b", "Ende b"),
        ("clearance", "hose lift, rod side", "Schlauch lift, rod side"),
        ("clearance", "end a", "end a"),  # a part that somebody named so
        ("connection", "turning when fitted", "Drehen beim Einbau"),
        ("guard", "picker", "picker"),
    ],
)
def test_subjects_in_german(rule, subject, words):
    assert subject_in_words(rule, subject, Texts.load("de")) == words


def test_a_word_keeps_off_what_it_alone_shall_spare():
    room = Labels(100.0, 60.0, np.zeros((0, 2)))
    anchors, size = np.array([[20.0, 30.0], [70.0, 30.0]]), (10.0, 3.0)
    assert room.room(anchors, size, np.array([[22.0, 30.0]])) == pytest.approx(anchors[1])
    assert room.room(anchors, size) == pytest.approx(anchors[0])
    assert room.room(anchors, size) is None  # both are taken


def test_a_line_is_dense_wherever_its_corners_are():
    spots = np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 0.1]])
    found = dense(spots)
    assert np.linalg.norm(np.diff(found, axis=0), axis=1).max() <= DENSE
    assert (found[0], found[-1]) == (pytest.approx(spots[0]), pytest.approx(spots[-1]))


@pytest.mark.parametrize(("azimuth", "shown"), [(90.0, {"wall"}), (270.0, {"wall", "behind"})])
def test_a_part_is_named_where_it_shows_and_not_at_all_behind_another(azimuth, shown):
    class Seen(Scene):
        def view(self):
            return View.of(azimuth, 0.0)

    wall = Obstacle("wall", "chassis", BoxShape((0.35, 0.3, 0.0), (0.8, 0.02, 0.8)))
    behind = Obstacle("behind", "chassis", BoxShape((0.35, 0.26, 0.0), (0.1, 0.02, 0.1)))
    result = check(job(run(0.8), straight_ports(0.75), obstacles=[wall, behind]))
    picture = Picture(Seen(result, result.runs[0], Place()), None, Texts.load("en"), Figures(), None)
    solids = zip(picture.scene.solids, picture.faces, strict=True)
    places = {part.name: picture._seen_on(faces) for (part, _), faces in solids}
    assert {name for name, spots in places.items() if len(spots)} == shown
    middle = places["wall"][0]  # the middle of what shows of it comes first
    assert np.linalg.norm(middle - places["wall"].mean(axis=0)) <= np.linalg.norm(np.ptp(places["wall"], axis=0)) / 4.0


def test_long_names_stay_on_the_sheet():
    name = 3 * " the left one of both return lines from the valve block"
    ports = [replace(one, name=f"{one.name} {name}") for one in straight_ports(0.75)]
    made = job(run(0.8, port_a=ports[0].name, port_b=ports[1].name, name=name), ports)
    result = check(made)
    picture = run_picture(result, result.runs[0], format="png")
    dots = np.asarray(Image.open(io.BytesIO(picture)).convert("L"))
    assert dots[:, [0, 1, -2, -1]][: -2 * len(dots) // 10].min() > 128
