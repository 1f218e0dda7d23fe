"""Setting aids against published sine-bar tables, hand geometry and a drawn simulation."""

from __future__ import annotations

import json
from collections.abc import Callable

import attrs
import numpy as np
import pytest

from jointgeo.fixtures.corrections import Correction
from jointgeo.fixtures.model import Fixture
from jointgeo.planning.end_plan import SetupPlan
from jointgeo.setting_aids.aid import Aid
from jointgeo.setting_aids.aids import axis_aids, setting_aids
from jointgeo.setting_aids.anglelengths import (
    chord_angle_deg,
    chord_mm,
    gap_angle_deg,
    gap_mm,
    offset_angle_deg,
    offset_mm,
    pin_angle_deg,
    pin_mm,
    sine_angle_deg,
    sine_height_mm,
)
from jointgeo.uncertainty.budget import setup_budget

INCH = 25.4


def leaf(c: float, a_deg: float) -> tuple[np.ndarray, np.ndarray]:
    """A plane x = c upright beside the axis at (0, 0), turned by a towards +x: a point on it
    and its direction upwards."""
    a = np.radians(a_deg)
    turn = np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])
    return turn @ [c, 0.0], turn @ [0.0, 1.0]


def gap_by_planes(d: float, c: float, a_deg: float) -> float:
    """Where the turned plane stands at the height d, from where it stood."""
    point, up = leaf(c, a_deg)
    return float(point[0] + up[0] / up[1] * (d - point[1]) - c)


def pin_by_planes(d: float, c: float, a_deg: float) -> float:
    """Diameter of the circle on the line x = c at the height d that touches the turned plane: its
    middle (c + r, d) is r from it, which is linear in r."""
    point, up = leaf(c, a_deg)
    across = np.array([up[1], -up[0]])  # to the right of the plane
    return float(2 * across @ (point - [c, d]) / (1 + across[0]))


def angle_of(
    size: Callable[[float, float, float], float], d: float, c: float, wanted: float
) -> float:
    """The angle between 0 and 60° at which a size that grows with it is that, by halving."""
    low, high = 0.0, 60.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if size(d, c, middle) < wanted else (low, middle)
    return low


def by_name(aids: tuple[Aid, ...]) -> dict[str, Aid]:
    return {a.aid: a for a in aids}


@pytest.mark.parametrize(
    ("degrees", "minutes", "inches", "digits"),
    [
        (9, 0, 0.78217, 5),  # Machinery's Handbook, 31st ed., p. 695, 5-inch bar
        (12, 0, 1.03956, 5),  # the same
        (34, 25, 2.826, 3),  # Handbook of Machining and Metalworking Calculations
    ],
)
def test_published_sine_bar_heights(degrees: int, minutes: int, inches: float, digits: int) -> None:
    """Printed heights; half of the last digit is allowed. Machinery's Handbook by edition and page;
    the other handbook, its chapter 4, from memory: edition and page were not kept."""
    height = sine_height_mm(5 * INCH, degrees + minutes / 60) / INCH
    assert float(height) == pytest.approx(inches, abs=0.51 * 10**-digits)


def test_published_sine_bar_angles() -> None:
    """Machinery's Handbook, 31st ed., p. 695: 2.5939 in → 31°15′ (to 0.5′); a taper of 6⅛ in per
    foot has an included angle of 28.6336° (exactly 28.63352, printed from a rounded tangent, so
    1e-4°), height 2.396 in (0.0005 in)."""
    assert float(sine_angle_deg(5 * INCH, 2.5939 * INCH)) == pytest.approx(31.25, abs=0.5 / 60)
    taper = 2 * float(offset_angle_deg(12.0, 6.125 / 2))
    assert taper == pytest.approx(28.6336, abs=1e-4)
    assert float(sine_height_mm(5.0, taper)) == pytest.approx(2.396, abs=0.0005)


@pytest.mark.parametrize("angle", [0.5, 12.0, 24.0, 60.0])
def test_lengths_and_angles_go_back_and_forth(angle: float) -> None:
    for there, back in (
        (chord_mm, chord_angle_deg),
        (sine_height_mm, sine_angle_deg),
        (offset_mm, offset_angle_deg),
    ):
        assert back(230.0, there(230.0, angle)) == pytest.approx(angle, abs=1e-10)


def test_lengths_of_well_known_triangles() -> None:
    assert chord_mm(100.0, 60.0) == pytest.approx(100.0, abs=1e-12)  # an equilateral triangle
    assert sine_height_mm(100.0, 30.0) == pytest.approx(50.0, abs=1e-12)
    assert offset_mm(100.0, 45.0) == pytest.approx(100.0, abs=1e-12)


def test_what_cannot_be_is_nan() -> None:
    assert np.isnan(sine_angle_deg(100.0, 101.0))
    assert np.isnan(chord_angle_deg(100.0, 201.0))


def test_every_aid_says_what_it_truly_gives(porch: Fixture) -> None:
    """From the sizes alone: the angle of each aid, worked out again here by halving. 1e-9°."""
    for wanted, axis in ((-7.8274, "swivel"), (11.3, "tilt")):
        found = by_name(axis_aids(porch, axis, wanted, 0.1))
        # Beside the axis towards the gap: the fence's 60 mm; the stop bears 12 mm behind.
        d, c = (300.0, 60.0) if axis == "swivel" else (230.0, -12.0)
        n = {name: a.numbers for name, a in found.items()}
        again = {
            "scale": abs(n["scale"]["scale_deg"]),
            "pin": angle_of(pin_by_planes, d, c, n["pin"]["pin_mm"]),
            "inch_pin": angle_of(pin_by_planes, d, c, n["inch_pin"]["pin_mm"]),
            "gauge_blocks": angle_of(gap_by_planes, d, c, sum(n["gauge_blocks"]["blocks_mm"])),
            "sine_bar": np.degrees(np.arcsin(sum(n["sine_bar"]["blocks_mm"]) / 100.0)),
            "wedge": n["wedge"]["wedges"]
            * np.degrees(np.arctan((n["wedge"]["thick_mm"] - n["wedge"]["thin_mm"]) / 200.0)),
        }
        if axis == "swivel":
            for name in ("rule_offset", "inch_offset"):
                offset = n[name]["offset_mm"]
                again[name] = angle_of(gap_by_planes, d, c, offset)
            for name in ("two_offsets", "inch_two_offsets"):
                again[name] = np.degrees(np.arctan(n[name]["difference_mm"] / 200.0))
            for name in ("mark_to_mark", "inch_mark_to_mark"):
                r = np.hypot(300.0, 60.0)
                again[name] = 2 * np.degrees(np.arcsin(n[name]["chord_mm"] / 2 / r))
        assert set(again) == set(found)
        for name, angle in again.items():
            aid = found[name]
            assert aid.angle_deg == pytest.approx(np.copysign(angle, wanted), abs=1e-9), name
            assert aid.error_deg == pytest.approx(aid.angle_deg - wanted, abs=1e-12), name


def test_fractions_of_an_inch_with_the_error_they_cause(porch: Fixture) -> None:
    """48.083 mm is 1 57/64 in (48.022 mm) to the nearest sixty-fourth: 0.0605 mm thin, which is
    0.0151° of a pin that grows by (230 - 2·12·tan 6°)/cos²6° = 229.98 mm a radian (to 0.0002°)."""
    aid = by_name(axis_aids(porch, "tilt", 12.0, 0.1))["inch_pin"]
    assert aid.numbers["pin_in"] == "1 57/64 in"
    assert aid.numbers["pin_mm"] == pytest.approx(121 / 64 * INCH, abs=1e-9)
    assert aid.error_deg == pytest.approx(-0.0152, abs=0.0002)


def test_a_steep_wedge_is_made_of_two(porch: Fixture) -> None:
    """32 mm stock less the 3 mm thin end leaves 29 mm of rise over 200 mm: 8.25° in one piece."""
    assert by_name(axis_aids(porch, "tilt", 8.0, 0.1))["wedge"].numbers["wedges"] == 1
    two = by_name(axis_aids(porch, "tilt", 12.0, 0.1))["wedge"]
    assert two.numbers["wedges"] == two.numbers["counter_wedges"] == 2
    assert two.numbers["thick_mm"] <= 32.0
    assert two.angle_deg == pytest.approx(12.0, abs=0.03)  # rise rounded to 0.1 mm: 0.014° each
    assert by_name(axis_aids(porch, "tilt", 20.0, 0.1))["wedge"].numbers["wedges"] == 3


def test_thick_end_of_a_wedge(porch: Fixture) -> None:
    """Behind the stock, thick at the cut end, it pushes that towards you: a positive tilt. At a
    left-hand fence, thick at the far end, it pushes that to the right: clockwise."""
    assert by_name(axis_aids(porch, "tilt", 5.0, 0.1))["wedge"].numbers["thick_end_at"] == "cut end"
    right = by_name(axis_aids(porch, "swivel", 5.0, 0.1))["wedge"]
    assert right.numbers["thick_end_at"] == "far end"
    left = by_name(axis_aids(porch, "swivel", -5.0, 0.1))["wedge"]
    assert left.numbers["thick_end_at"] == "cut end"
    moved = attrs.evolve(porch, fence=attrs.evolve(porch.fence, side="right", x_mm=60.0))
    assert by_name(axis_aids(moved, "swivel", 5.0, 0.1))["wedge"].numbers["thick_end_at"] == (
        "cut end"
    )


def test_outside_the_range_only_a_wedge_is_offered(porch: Fixture) -> None:
    assert [a.aid for a in axis_aids(porch, "tilt", 30.0, 0.1)] == ["wedge"]
    assert [a.aid for a in axis_aids(porch, "tilt", -5.0, 0.1)] == ["wedge"]


def test_zero_needs_no_aid(porch: Fixture) -> None:
    aids = axis_aids(porch, "tilt", 0.0, 0.1)
    assert [a.aid for a in aids] == ["zero"]
    assert aids[0].error_deg == 0.0
    assert "against its stop" in aids[0].says


def test_a_correction_is_in_every_aid(porch: Fixture) -> None:
    """The axis stands 0.2° too far on when its scale reads 0, so -0.2° is added to what is set."""
    calibrated = attrs.evolve(
        porch, correction=Correction(tilt_zero_deg=-0.2, tilt_zero_u_deg=0.001)
    )
    found = by_name(axis_aids(calibrated, "tilt", 12.0, 0.1))
    assert found["scale"].numbers["scale_deg"] == pytest.approx(11.8, abs=1e-9)
    half = np.tan(np.radians(5.9))
    assert found["pin"].numbers["exact_mm"] == pytest.approx(2 * half * (230 - 12 * half), abs=1e-9)
    for aid in found.values():
        assert aid.angle_deg == pytest.approx(12.0, abs=0.06), aid.aid


def test_best_for_the_need_comes_first(porch: Fixture) -> None:
    """A need the scale meets: the scale, being least trouble. A need it does not meet: an aid
    that does. A need nothing meets: the most accurate."""
    easy = axis_aids(porch, "tilt", 12.0, 0.2)
    assert easy[0].aid == "scale"
    assert easy[0].enough
    hard = axis_aids(porch, "tilt", 12.0, 0.055)
    assert hard[0].aid == "pin"
    assert hard[0].enough
    assert not by_name(hard)["scale"].enough
    none = axis_aids(porch, "tilt", 12.0, 0.01)
    assert not any(a.enough for a in none)
    assert none[0].reach_deg == min(a.reach_deg for a in none)


def test_predicted_uncertainty_against_drawn_errors(
    porch: Fixture, rng: np.random.Generator
) -> None:
    """Every kind with its sizes and distances drawn; 1.5 % is four standard deviations of the
    spread of 40000 draws. The zero's own part is taken out first."""
    n, aids, u = 40_000, porch.aids, porch.uncertainty
    play = np.degrees(np.arctan(u.hinge_play_mm / u.tilt_lock_arm_mm))
    zero = {"tilt": np.hypot(u.tilt_zero_deg, play), "swivel": u.swivel_zero_deg}

    def drawn(value: float, own: float) -> np.ndarray:
        return value + rng.normal(0, own, n)

    def spread(
        size: Callable[..., float], back: Callable[..., float], d: float, c: float, own: float
    ) -> float:
        sizes = drawn(size(d, c, 20.0), own)
        at = zip(drawn(d, aids.distance_u_mm), drawn(c, aids.distance_u_mm), sizes, strict=True)
        return float(np.std([back(*one) for one in at]))

    far, near = drawn(300.0, aids.distance_u_mm), drawn(100.0, aids.distance_u_mm)
    two = drawn(offset_mm(200.0, 20.0), np.sqrt(2) * aids.rule_u_mm)
    r = np.hypot(300.0, 60.0)
    moved = drawn(chord_mm(r, 20.0), aids.rule_u_mm) / 2 / drawn(r, aids.distance_u_mm)
    ends = rng.normal(0, aids.wedge_u_mm, (n, 3, 2))
    one = by_name(axis_aids(porch, "tilt", 20.0, 0.1))["wedge"]
    rise = one.numbers["thick_mm"] - one.numbers["thin_mm"]
    wedge = np.degrees(np.arctan((rise + ends[..., 0] - ends[..., 1]) / 200.0)).sum(axis=1).std()
    for name, axis, deviation in (
        ("pin", "tilt", spread(pin_mm, pin_angle_deg, 230.0, -12.0, aids.spacer_u_mm)),
        ("gauge_blocks", "tilt", spread(gap_mm, gap_angle_deg, 230.0, -12.0, aids.block_u_mm)),
        ("rule_offset", "swivel", spread(gap_mm, gap_angle_deg, 300.0, -60.0, aids.rule_u_mm)),
        ("two_offsets", "swivel", np.degrees(np.arctan(two / (far - near))).std()),
        ("mark_to_mark", "swivel", np.degrees(2 * np.arcsin(moved)).std()),
        ("wedge", "tilt", wedge),
    ):
        aid = by_name(axis_aids(porch, axis, 20.0, 0.1))[name]
        own = np.sqrt(aid.u_deg**2 - zero[axis] ** 2)
        assert own == pytest.approx(deviation, rel=0.015), name


def test_aids_of_a_setup_as_plain_data(setup: SetupPlan, porch: Fixture) -> None:
    """Needed, given and enough, one in terms of the others; the need is that of the pair."""
    closing = setup_budget(setup, porch).closing
    aids = setting_aids(setup, porch, closing)
    plain = json.loads(json.dumps([a.to_dict() for a in aids], allow_nan=False))
    # The box joint's tilt of 30.6° is beyond the range by more than a wedge in the clamp can give.
    assert setup.chosen.in_range is ({a["axis"] for a in plain} == {"swivel", "tilt"})
    for a in plain:
        assert {"aid", "axis", "says", "angle_deg"} <= set(a)
        assert a["reach_deg"] == pytest.approx(abs(a["error_deg"]) + 2 * a["u_deg"], abs=1e-12)
        assert a["enough"] is (a["reach_deg"] <= a["needed_deg"])
        assert a["needed_deg"] == closing.needed_deg[a["axis"]]


def test_where_an_axis_does_not_matter_every_aid_is_enough(porch: Fixture) -> None:
    aids = axis_aids(porch, "tilt", 12.0, None)
    assert aids[0].aid == "scale"
    assert all(a.enough for a in aids)
    assert aids[0].to_dict()["needed_deg"] is None
