"""Does a piece close: sums round frames against formulas by hand, cut solids and simulation.

Of a regular box with the tilt off by δ at every end, R = side/(2 sin(180°/N)), e up a corner edge,
e_r its level part, h = W sin s/(e_r cos(180°/N)) the length of edge:

    gap = N δ e_z R at the lower rim, N δ e_z (R + e_r h) at the upper

which follows from adding N turns δ·e about the corners by hand. Printed values are to four places.
"""

from __future__ import annotations

import subprocess
import sys
from math import asin, atan, cos, pi, radians, sin, sqrt, tan
from typing import Any

import attrs
import numpy as np
import pytest

from jointgeo.errors import InputError
from jointgeo.fixtures.file import load_fixture
from jointgeo.fixtures.indication import shown, shown_together
from jointgeo.fixtures.testcuts import AxisCut
from jointgeo.geometry.vectors import Vec
from jointgeo.pieces.closing.answer import Closing
from jointgeo.pieces.closing.frames import closed_frames
from jointgeo.pieces.closing.sums import last_gap, turns_of
from jointgeo.pieces.closing.ties import KINDS, Tie
from jointgeo.pieces.solve import solve_piece
from jointgeo.proof.chain import chain_piece
from jointgeo.proof.piece import fit_piece

from .more_rooms import box, box_form, box_ties, chair, stool, table
from .rooms import bench, frame

PORCH = load_fixture("porch")
FOUR = 0.00005 + 1e-6  # printed to four places
TILT, SWIVEL = {"tilt_deg": 0.1}, {"swivel_deg": 0.1}


def norm(v: Any) -> float:
    return float(np.linalg.norm(v))


def rims(tie: Tie) -> tuple[Vec, Vec]:
    low, high = (pick(tie.points, key=lambda p: p.z) for pick in (min, max))
    return low, high


@pytest.mark.parametrize(
    ("number", "slope", "lower", "upper", "random", "turn"),
    [
        (4, 10, 1.4370, 1.6865, 0.7240, 0.0970),
        (6, 20, 2.8962, 3.4681, 1.2082, 0.0922),
        (8, 10, 5.3759, 5.7626, 1.9093, 0.0982),
    ],
)
def test_a_regular_box_with_the_tilt_off(
    number: int, slope: int, lower: float, upper: float, random: float, turn: float
) -> None:
    ties = box_ties(number, slope, PORCH)
    closing = Closing(ties, PORCH)
    ((*loop,),) = closing.frames
    radius, s = 150 / sin(pi / number), radians(slope)
    edge = ties[0].both
    assert edge is not None
    e_z = abs(edge.z)
    for at, printed, hand in zip(
        rims(ties[0]),
        (lower, upper),
        (radius, radius + 150 * sin(s) / cos(pi / number)),
        strict=True,
    ):
        gap, _ = closing.around(loop, TILT, [at])
        assert gap == pytest.approx(printed, abs=FOUR)
        assert gap == pytest.approx(number * radians(0.1) * e_z * hand, abs=1e-9)
    # Off by δ at every end, each by itself: the root of the mean square over both opinions.
    linear = last_gap(ties, loop, rims(ties[0])[0]) @ turns_of(ties)
    tilt = linear[:, KINDS.index("tilt_deg") :: len(KINDS)] * 0.1
    assert sqrt((tilt**2).sum()) == pytest.approx(random, abs=FOUR)
    e_r = sqrt(1 - e_z**2)
    hand = radians(0.1) / sqrt(2) * radius * sqrt(number * (2 * e_z**2 + e_r**2 / 2))
    # Two opinions at one corner, half of each: the mean square is half of one opinion's.
    assert sqrt((tilt**2).sum()) == pytest.approx(hand, abs=1e-9)
    # Drawn up at once nothing piles up: each gives what one corner is off, seen from above.
    assert closing.mis_set(TILT).gives_deg == pytest.approx([turn] * number, abs=FOUR)
    assert 0.1 * e_z == pytest.approx(turn, abs=FOUR)


@pytest.mark.parametrize(("number", "slope", "climb"), [(4, 10, 2.0626), (6, 20, 2.9521)])
def test_a_swivel_that_is_off_makes_a_stair(number: int, slope: int, climb: float) -> None:
    """No turn is left over. By hand, with every corner turned about its lower end."""
    ties = box_ties(number, slope, PORCH)
    low = tuple(attrs.evolve(t, points=(rims(t)[0],)) for t in ties)
    closing = Closing(low, PORCH)
    gap, turn = closing.around(closing.frames[0], SWIVEL, [Vec(0.0, 0.0, 0.0)])
    assert gap == pytest.approx(climb, abs=FOUR)
    assert turn == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(("number", "slope"), [(4, 10), (6, 20), (8, 10)])
@pytest.mark.parametrize("errors", [TILT, SWIVEL])
def test_boards_cut_off_and_chained(number: int, slope: int, errors: dict[str, float]) -> None:
    """Cut from operations 0.1° off and put together one by one in the virtual shop, which shares no
    arithmetic with the sums. Second order, and how trim and touch-off shift with the angle, are
    some hundredths of the gap: a swivel at eight sides 0.06."""
    form = box_form(box(number, slope, PORCH), PORCH)
    closing = Closing(box_ties(number, slope, PORCH), PORCH)
    (last,) = chain_piece(form, errors)
    gap, turn = closing.around(last.loop, errors, last.points.tolist())
    assert last.gap_mm == pytest.approx(gap, rel=0.003 if errors is TILT else 0.07)
    assert last.turn_deg == pytest.approx(turn, abs=1e-3 * max(turn, 0.001))
    (right,) = chain_piece(form, {})
    assert right.gap_mm < 1e-9
    assert fit_piece(form).goes_together


def test_the_last_gap_of_four_boards_measured_on_the_solids() -> None:
    """1.4370 to first order and 1.4381 as a product of turns, at the lower corner."""
    form = box_form(box(4, 10, PORCH), PORCH)
    (last,) = chain_piece(form, TILT)
    low = np.array([*min(box_ties(4, 10, PORCH)[last.joint].points, key=lambda p: p.z), 1.0])
    assert norm((last.move @ low - low)[:3]) == pytest.approx(1.4370, abs=0.003)


@pytest.mark.parametrize(
    "piece", [table(), bench(), chair(), stool("triangle")], ids=lambda p: p.title
)
def test_turns_of_whole_pieces_add_up_as_cut(piece: Any) -> None:
    answer = solve_piece(piece, PORCH)
    data = answer.bars_dict()
    for errors in (TILT, SWIVEL):
        found = chain_piece(data, errors)
        assert found
        for last in found:
            gap, turn = answer.closing.around(last.loop, errors, last.points.tolist())
            assert last.turn_deg == pytest.approx(turn, abs=2e-4)
            # Where the trim lies shifts too, by up to half a section times 0.1° at each end.
            assert last.gap_mm == pytest.approx(gap, abs=0.25)


def clamped(closing: Closing, over: frozenset[str]) -> tuple[float, float]:
    """What joints must give at most, tilt and swivel off by 0.1°: the back on the plate
    everywhere, but for bars of which the face side is."""
    ends = [e for t in closing.ties for e in t.ends]
    turned = frozenset(
        e.name for e in ends if (e.ways[0].plate == "back") == (e.bar.split(",")[0] in over)
    )
    turns = closing.drawn.of_turns @ turns_of(closing.ties, turned)
    out = []
    for kind in ("tilt_deg", "swivel_deg"):
        off = np.array([0.1 if k == kind else 0.0 for k in KINDS])
        gives = (turns @ np.tile(off, len(ends))).reshape(-1, 3)
        out.append(max(np.degrees(norm(g)) for g in gives))
    return out[0], out[1]


def test_opposite_aprons_clamped_the_other_way_cancel() -> None:
    """An upright table on a fixture that tilts both ways: 0.0993 and 0.0668 become 0.0003 and
    0.0178; one long and one short apron turned over does not help."""
    closing = solve_piece(table(), PORCH, "as_drawn").closing
    assert clamped(closing, frozenset()) == pytest.approx((0.0993, 0.0668), abs=FOUR)
    long = frozenset({"long apron"})
    assert clamped(closing, long) == pytest.approx((0.0003, 0.0178), abs=FOUR)
    ends = [e for t in closing.ties for e in t.ends]
    mixed = {"long apron, front", "short apron, left"}
    turned = frozenset(e.name for e in ends if (e.ways[0].plate == "back") == (e.bar in mixed))
    gives = closing.drawn.of_turns @ turns_of(closing.ties, turned)
    off = np.array([0.1 if k == "tilt_deg" else 0.0 for k in KINDS])
    worst = max(norm(g) for g in (gives @ np.tile(off, len(ends))).reshape(-1, 3))
    assert np.degrees(worst) == pytest.approx(0.1035, abs=FOUR)


def test_the_hint_names_ends_that_can_be_turned_over() -> None:
    closing = solve_piece(table(), PORCH).closing
    hint = closing.hint
    assert hint is not None
    assert hint.after_deg < hint.before_deg / 2
    assert hint.before_deg == pytest.approx(max(g.common_deg for g in closing.drawn_up))
    for turned in hint.ends:
        end = next(e for t in closing.ties for e in t.ends if e.name == (turned.bar, turned.end))
        assert all(w.usable for w in end.ways)
        assert turned.against_plate == end.ways[1].plate != end.ways[0].plate
    # A planter's boards tilt one way only: this fixture has no choice.
    assert Closing(box_ties(4, 10, PORCH), PORCH).hint is None


def test_lengths_add_up_round_a_frame() -> None:
    """On a tapered seat sides that are 1 mm too long leave 2 sin γ = 0.2094, tan γ = 40/380; in a
    rectangle they cancel."""
    (long,) = solve_piece(chair(), PORCH).closing.lengths
    assert long.all_mm == pytest.approx(0.2094, abs=FOUR)
    assert long.all_mm == pytest.approx(2 * sin(atan(40 / 380)), abs=1e-9)
    assert long.single_mm == pytest.approx(1.0, abs=1e-9)
    for ties in (box_ties(4, 10, PORCH), box_ties(5, 0, PORCH)):
        (long,) = Closing(ties, PORCH).lengths
        assert long.all_mm == pytest.approx(0.0, abs=1e-9)
        assert long.single_mm == pytest.approx(1.0, abs=1e-9)


def test_closed_frames_of_a_graph() -> None:
    """A square with a diagonal has two triangles; a chain has none; two bars joined twice one."""
    square = [("b", "a"), ("c", "b"), ("d", "c"), ("a", "d"), ("c", "a")]
    assert sorted(sorted(i for i, _ in f) for f in closed_frames(square)) == [[0, 1, 4], [2, 3, 4]]
    assert closed_frames([("b", "a"), ("c", "b")]) == ()
    assert len(closed_frames([("b", "a"), ("b", "a")])) == 1
    assert solve_piece(frame(), PORCH).closing.frames == ()
    assert len(solve_piece(bench(), PORCH).closing.frames) == 2


# Uncertainties ----------------------------------------------------------------------------


def test_common_and_random_parts_against_a_simulation() -> None:
    """20,000 shops: one scale each, zero, play and lock drawn anew at every position of the
    axes; the sums' standard deviation within 2 %, three times what so many shops scatter."""
    rng = np.random.default_rng(7)
    closing = Closing(box_ties(4, 10, PORCH), PORCH)
    ties, u = closing.ties, PORCH.uncertainty
    ends = [e.ways[0] for t in ties for e in t.ends]
    positions = sorted({w.position for w in ends})
    shops = 20_000
    off = np.zeros((shops, len(ends), len(KINDS)))
    scale = {
        axis: (
            rng.normal(0, getattr(u, f"{axis}_deg"), shops),
            rng.normal(0, getattr(u, f"{axis}_scale_fraction"), shops),
        )
        for axis in ("swivel", "tilt")
    }
    new = rng.normal(size=(shops, len(positions), 4))
    roll = rng.normal(0, u.rail_height_difference_mm, shops)
    size = u.swivel_zero_deg, u.tilt_zero_deg, u.hinge_play_mm, u.tilt_lock_difference_mm
    for i, way in enumerate(ends):
        own = new[:, positions.index(way.position)] * size
        for k, axis in enumerate(("swivel", "tilt")):
            zero, gain = scale[axis]
            off[:, i, k] = zero + gain * way.position[k] + own[:, k]
        off[:, i, 2], off[:, i, 3], off[:, i, 4] = own[:, 2], own[:, 3], roll
    at = ties[0].points[0]
    linear = last_gap(ties, closing.frames[0], at) @ turns_of(ties)
    gaps = off.reshape(shops, -1) @ linear.T
    known = closing.spread.common + closing.spread.random
    theory = np.sqrt(np.diag(linear @ known @ linear.T))
    np.testing.assert_allclose(gaps.std(axis=0), theory, rtol=0.02, atol=1e-12)
    assert closing.last[0].total.opening_mm >= 2 * theory[:2].max() * (1 - 1e-9)


def test_a_scale_with_test_cuts_has_one_covariance() -> None:
    """With itself it is the square of what an error budget uses; and no two angles are better
    known together than each by itself (Cauchy and Schwarz)."""
    cuts = tuple(
        AxisCut(id=f"c{i}", axis="tilt", scale_deg=at, off_deg=0.05, u_deg=0.02)
        for i, at in enumerate((0.0, 10.0, 20.0))
    )
    for fixture in (PORCH, attrs.evolve(PORCH, test_cut=cuts)):
        for axis in ("swivel", "tilt"):
            for one, other in ((0.0, 0.0), (5.0, 12.0), (-8.0, 8.0)):
                u = shown(fixture, axis, one).u_deg, shown(fixture, axis, other).u_deg
                both = shown_together(fixture, axis, one, other)
                assert shown_together(fixture, axis, one, one) == pytest.approx(u[0] ** 2)
                assert abs(both) <= u[0] * u[1] * (1 + 1e-9)
    u = PORCH.uncertainty
    hand = u.swivel_deg**2 - 64 * u.swivel_scale_fraction**2  # ±8°: the zero's, less the gain's
    assert shown_together(PORCH, "swivel", -8.0, 8.0) == pytest.approx(hand)


def test_opening_and_offset_are_said_apart() -> None:
    """A tilt that is off opens the last corner of a box, all of it; a swivel lets the rims climb:
    along the corner edge by its upright part e_z, and open by the rest."""
    closing = Closing(box_ties(4, 10, PORCH), PORCH)
    for gap in closing.mis_set(TILT).gaps[0].values():
        assert gap.offset_mm == pytest.approx(0.0, abs=1e-9)
        assert gap.opening_mm == pytest.approx(1.6865, abs=FOUR)
    climb, _ = closing.around(closing.frames[0], SWIVEL, [Vec(0.0, 0.0, 0.0)])
    edge = closing.ties[0].both
    assert edge is not None
    for gap in closing.mis_set(SWIVEL).gaps[0].values():
        assert gap.offset_mm == pytest.approx(climb * abs(edge.z), abs=1e-9)
        assert gap.opening_mm == pytest.approx(climb * sqrt(1 - edge.z**2), abs=1e-9)
    with pytest.raises(InputError, match=r"errors\.packing_deg"):
        closing.mis_set({"packing_deg": 1.0})


def test_what_it_says_is_plain_data_and_kept() -> None:
    answer = solve_piece(table(), PORCH)
    assert "closing" not in answer.to_dict()
    form = answer.to_dict("closing")["closing"]
    assert form["closes"] is True
    assert len(form["drawn_up"]) == len(answer.joints)
    assert form["frames"][0]["last_joint"] in [g["name"] for g in form["drawn_up"]]
    assert form["turn_over"]["ends"][0].keys() == {"bar", "end", "against_plate"}
    assert answer.closing is answer.closing
    with pytest.raises(InputError, match="also"):
        answer.to_dict("colour")


def test_solving_a_piece_loads_no_arrays_and_no_solver() -> None:
    code = (
        "import sys\n"
        "from jointgeo.fixtures.file import load_fixture\n"
        "from jointgeo.pieces import piece_type, solve_piece\n"
        "piece = piece_type('splayed_bench').examples()[0].piece()\n"
        "answer = solve_piece(piece, load_fixture('porch'))\n"
        "answer.to_dict()\n"
        "print([m for m in ('numpy', 'scipy') if m in sys.modules])\n"
        "answer.closing.last\n"
        "print('numpy' in sys.modules, 'scipy' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout == "[]\nTrue False\n"


def test_a_hoppers_corner_edge_by_hand() -> None:
    """The edge's level part follows from slope and plan: tan of its lean = tan s/cos(180°/N)."""
    for number, slope in ((4, 10), (6, 20)):
        edge = box_ties(number, slope, PORCH)[0].both
        assert edge is not None
        lean = tan(asin(sqrt(1 - edge.z**2)))
        assert lean == pytest.approx(tan(radians(slope)) / cos(pi / number), abs=1e-9)
