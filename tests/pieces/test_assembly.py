"""How pieces go together: joints at one stroke by reasoning, swept in the virtual shop."""

from __future__ import annotations

import importlib
from math import atan, degrees, pi, radians, sqrt, tan
from typing import Any

import attrs
import numpy as np
import pytest

from jointgeo.errors import InputError, MissingExtraError
from jointgeo.fixtures.file import load_fixture
from jointgeo.geometry.vectors import Plane, Vec, X, Y, Z
from jointgeo.jobs.piece_report import closing_and_assembly
from jointgeo.joints.drawing import Bar, Drawing, Notch
from jointgeo.joints.registry import joint_type
from jointgeo.pieces.assembly.answer import Assembly, joining
from jointgeo.pieces.assembly.contacts import contacts, keyed
from jointgeo.pieces.assembly.strokes import Cone, partings
from jointgeo.pieces.assembly.words import assembly_lines, way_words
from jointgeo.pieces.solve import PieceAnswer, solve_piece
from jointgeo.proof.sweep import PLACES_MM, sweep_piece

from .more_rooms import box, box_form, chair, stool, table
from .rooms import bench

PORCH = load_fixture("porch")
ROUNDING_MM3 = 6e-11


def boxed(number: int, slope: float, **more: Any) -> Assembly:
    corners = box(number, slope, PORCH, **more)
    joints = tuple(
        joining("corner", drawing, placement, {k: v for k, (v, _) in names.items()})
        for drawing, placement, names, _ in corners
    )
    return Assembly(joints, tuple(f"board {i + 1}" for i in range(number)))


def counts(steps: Any) -> list[int]:
    """Joints at one stroke, last closing first."""
    assert steps is not None
    return [len(s.joints) for s in reversed(steps)]


def swept(answer: PieceAnswer) -> None:
    found = sweep_piece(answer.bars_dict(), answer.assembly.to_dict())
    assert [f.what for f in found if not f.ok] == []
    assert max(f.measured or 0.0 for f in found) <= ROUNDING_MM3


# Counts -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("piece", "most"),
    [
        (bench(housed=False), 2),
        # A leg in a housing slides along it only: four bridles and an end of the long stretcher.
        (bench(), 5),
        (table(), 2),
        (table(leaning=True), 2),
        (chair(), 2),
        (chair(front_turned=True), 2),
        (chair(back_turned=True), 2),
        # A leg with two square tenons at 90° has no way of its own.
        (stool(), 4),
        (stool("triangle"), 8),
        (stool("T"), 6),
        # With a side of that leg to the T all three of its tenons are parallel.
        (stool("T", flat=True), 3),
    ],
    ids=lambda p: p.title if hasattr(p, "title") else str(p),
)
def test_the_fewest_joints_at_one_stroke(piece: Any, most: int) -> None:
    """Every step is swept with the cut solids to 70 mm, thirteen places each: nothing is in the
    way. Chair and table close in ones but for the last stroke."""
    answer = solve_piece(piece, PORCH)
    found = counts(answer.assembly.strict)
    assert found[0] == max(found) == most == answer.assembly.most_at_once
    if piece.title in ("Chair", "Table"):
        assert found[1:] == [1] * 6
    swept(answer)
    assert len(PLACES_MM) == 13
    assert max(PLACES_MM) == pytest.approx(70)


@pytest.mark.parametrize("number", range(3, 9))
@pytest.mark.parametrize("slope", [-12, 10, 40])
def test_regular_boxes_close_from_two_sides(number: int, slope: int) -> None:
    """Two halves along the product of two corner edges; of three sides one board along its own
    normal, until its neighbours' lean by more than 90° against it: tan² s = ½, s = 35.2644°."""
    found = counts(boxed(number, slope, finger_count=3).strict)
    if number == 3 and slope == 40:
        assert found == [3]
    else:
        assert found == [2] + [1] * (number - 2)


def test_where_three_boards_must_close_at_once() -> None:
    limit = degrees(atan(sqrt(0.5)))
    assert limit == pytest.approx(35.2644, abs=5e-5)
    assert counts(boxed(3, limit - 0.01, finger_count=3).strict) == [2, 1]
    assert counts(boxed(3, limit + 0.01, finger_count=3).strict) == [3]


@pytest.mark.parametrize(("number", "slope"), [(4, 15), (3, 20), (6, 8), (3, 38)])
def test_boxes_are_swept_apart(number: int, slope: int) -> None:
    corners = box(number, slope, PORCH, finger_count=3)
    found = sweep_piece(box_form(corners, PORCH), boxed(number, slope, finger_count=3).to_dict())
    assert [f.what for f in found if not f.ok] == []
    assert max(f.measured or 0.0 for f in found) <= ROUNDING_MM3


# With the fit -----------------------------------------------------------------------------


@pytest.mark.parametrize(("turned", "strict", "with_fit"), [(0.1, 4, 2), (0.2, 4, 2), (0.4, 4, 3)])
def test_play_spares_joints_at_one_stroke(turned: float, strict: int, with_fit: int) -> None:
    """Legs of a table turned about their length, tenons 12 long, fit 0.1: it leans by up to
    0.1/(2·12) = 0.239°."""
    answer = solve_piece(table(turned_deg=turned), PORCH)
    assembly = answer.assembly
    assert counts(assembly.strict)[0] == strict
    assert counts(assembly.with_fit)[0] == with_fit
    assert assembly.steps is assembly.with_fit
    for step in assembly.with_fit or ():
        assert step.play_mm <= 0.1 + 1e-6
    if with_fit == 2:  # two legs, each turned by it one way, and both walls of the tenon
        needed = max(s.play_mm for s in assembly.with_fit or ())
        assert needed == pytest.approx(2 * 12 * tan(radians(turned)), rel=0.02)
    for step in assembly.strict or ():
        assert step.play_mm == pytest.approx(0.0, abs=1e-6)
    swept(answer)


def test_twice_the_play_there_is_takes_wood() -> None:
    """Forced to two at one stroke where three are needed, the solids overlap: by a hundredth of a
    millimetre, just before the tenons leave."""
    answer = solve_piece(table(turned_deg=0.4), PORCH)
    loose = solve_piece(table(turned_deg=0.4, fit=0.2), PORCH)
    form = loose.assembly.to_dict()
    assert form["most_at_once_with_fit"] == 2
    found = sweep_piece(answer.bars_dict(), form)
    assert max(f.measured or 0.0 for f in found) > 0.1


# Ways -------------------------------------------------------------------------------------


def test_rails_rise_for_an_end_frame_that_goes_outwards() -> None:
    """In housings splayed 12° along the rail: 1/tan 12° = 4.7046 for each 1."""
    steps = solve_piece(bench(), PORCH).assembly.steps
    assert steps is not None
    last = steps[-1]
    (rail,) = (m for m in last.moves if m.bars == ("rail, front",))
    frames = [m for m in last.moves if len(m.bars) > 1]
    assert {len(m.bars) for m in frames} == {3}
    assert any(b == "long stretcher" for b in last.still)
    # Against the end frame that is held: into the housings' own line.
    assert abs(rail.way.z / rail.way.x) == pytest.approx(4.7046, abs=5e-5)
    assert abs(rail.way.z / rail.way.x) == pytest.approx(1 / tan(radians(12)), abs=1e-6)
    assert rail.way.y == pytest.approx(0.0, abs=1e-9)
    assert rail.way.z < 0  # as it is put on


def test_a_box_closes_along_the_product_of_two_corner_edges() -> None:
    steps = boxed(4, 15).strict
    assert steps is not None
    last = steps[-1]
    (move,) = last.moves
    edges = {f"{j.bar} into {j.mate}": j for j in boxed(4, 15).joints}
    ways = []
    for name in last.joints:
        joint = edges[name]
        walls = [w.normal for w in joint.contacts.walls]
        facing = next(n for n in walls if any((n + m).length < 1e-9 for m in walls))
        ways.append(joint.placement.way(facing))
    product = (ways[0] ^ ways[1]).unit
    assert abs(product @ move.way) == pytest.approx(1.0, abs=1e-9)


def test_words_tell_right_from_left() -> None:
    assert way_words(X) == "straight to the right"
    assert way_words(-Y) == "straight towards you"
    assert way_words(-Z, 4.7) == "4.70 down"
    assert way_words(Vec(0.6, 0.0, 0.8), 10.0) == "8.00 up and 6.00 to the right"


def test_what_is_said_and_handed_out() -> None:
    answer = solve_piece(table(turned_deg=0.2), PORCH)
    lines = list(assembly_lines(answer.assembly))
    assert lines[0] == "At most 2 joints must be closed together."
    assert "play" in lines[1]
    heads = [line for line in lines if line[0].isdigit()]
    assert len(heads) == len(answer.assembly.steps or ())
    assert heads[-1].startswith(f"{len(heads)}. 2 joints together: ")
    assert lines[-1].startswith("     clamps: ")
    form = answer.to_dict("assembly")["assembly"]
    assert (form["most_at_once"], form["most_at_once_with_fit"]) == (4, 2)
    joints = [j for step in form["steps"] for j in step["joints"]]
    assert sorted(joints) == sorted(f"{j.bar} into {j.mate}" for j in answer.joints)
    for step in form["steps"]:
        bars = [*step["still"], *(b for m in step["moves"] for b in m["bars"])]
        assert len(bars) == len(set(bars))


def test_a_sweep_notices_a_wrong_way_and_a_forgotten_joint() -> None:
    answer = solve_piece(stool(), PORCH)
    data, form = answer.bars_dict(), answer.assembly.to_dict()
    form["steps"][-1]["moves"][0]["way"] = [0.0, 0.0, 1.0]
    assert any(not f.ok for f in sweep_piece(data, form))
    form = answer.assembly.to_dict()
    del form["steps"][0]
    assert any(not f.ok for f in sweep_piece(data, form))
    form["steps"][0]["still"] = ["no such bar"]
    with pytest.raises(InputError, match=r"steps\[0\]\.still"):
        sweep_piece(data, form)


# Cones ------------------------------------------------------------------------------------


def test_contacts_by_hand() -> None:
    """A plain end on a side: one contact; nothing holds it but that."""
    post = Bar.leaning("post", (40, 40, 400), Vec(1.0, 0.0, 0.0), Z, Vec(-200.0, 0.0, -20.0))
    rail = Bar.leaning("rail", (60, 20, 300), Z, -Y, Vec(0.0, 0.0, 0.0))
    notch = Notch("end", rail, Plane(-Z, 0.0), X, [])
    (wall,) = contacts(Drawing((rail, post), (notch,))).walls
    assert (wall.normal + Z).length < 1e-12
    assert wall.play_mm == pytest.approx(0.0, abs=1e-12)
    higher = attrs.evolve(post, middle=post.middle - Z * 0.5)
    assert contacts(Drawing((rail, higher), (notch,))).walls == ()


def test_a_plain_end_is_held_by_its_dowels() -> None:
    """No drawing has them; but a rail on dowels goes along its slide and no other way."""
    joint = joint_type("angled_butt").examples()[0]
    (plain,) = contacts(joint.drawing).walls
    walls = keyed(joint.drawing).walls
    assert plain in walls
    (slide,) = joint.drawing.slides.values()
    assert all(w.normal @ slide <= 1e-12 for w in walls)
    for way in (slide + X * 0.01, slide - X * 0.01, slide + Y * 0.01, slide - Y * 0.01):
        assert max(w.normal @ way for w in walls) > 1e-3
    tenon = joint_type("angled_tenon").examples()[0].drawing
    assert keyed(tenon) == contacts(tenon)


def test_what_can_never_come_apart_is_said() -> None:
    """A bar between two that hold it from all sides."""
    walls = tuple((s * n, 0.0) for n in (X, Y, Z) for s in (1.0, -1.0))
    assert partings([Cone("a", "b", walls, X)], ("a", "b")) is None
    ways = partings([Cone("a", "b", walls[1:], X)], ("a", "b"))
    assert ways is not None
    assert (ways[0].ways["a"] - ways[0].ways["b"]).x > 0


@pytest.mark.parametrize("seed", range(4))
def test_random_convex_plans_close_with_two_or_three(seed: int) -> None:
    """Corners of irregular boxes as cones alone: across the corner edge, and off both faces."""
    rng = np.random.default_rng(seed)
    number = int(rng.integers(3, 7))
    slope = radians(rng.uniform(-50, 50))
    turns = np.sort(rng.uniform(0, 2 * pi, number))
    if np.max(np.diff([*turns, turns[0] + 2 * pi])) > pi * 0.95:
        turns = np.arange(number) * 2 * pi / number
    level = [(np.cos(slope) * np.cos(a), np.cos(slope) * np.sin(a)) for a in turns]
    faces = [Vec(float(x), float(y), float(-np.sin(slope))) for x, y in level]
    cones = []
    for i, own in enumerate(faces):
        other = faces[(i + 1) % number]
        edge = (own ^ other).unit
        walls = ((edge, 0.0), (-edge, 0.0), (other, 0.0), (-own, 0.0))
        cones.append(Cone(f"{i}", f"{(i + 1) % number}", walls, -other))
    found = partings(cones, [str(i) for i in range(number)])
    assert found is not None
    assert len(found[0].joints) in (2, 3)


def test_without_its_extra_it_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    real = importlib.import_module

    def missing(name: str, package: str | None = None) -> Any:
        if name.startswith("scipy"):
            raise ImportError(name)
        return real(name, package)

    monkeypatch.setattr(importlib, "import_module", missing)
    answer = solve_piece(stool(), PORCH)
    with pytest.raises(MissingExtraError, match=r"pip install '\.\[assembly\]'"):
        _ = answer.assembly.steps

    class Plain:
        def mm(self, value: float) -> str:
            return f"{value:.2f} mm"

    lines = list(closing_and_assembly(Plain(), answer))  # type: ignore[arg-type]
    assert lines[-1].startswith("How it is put together: the order of assembly needs")
    assert lines[0].startswith("Does it close?")
