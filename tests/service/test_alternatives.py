"""One change of a joint's numbers with which a fixture can cut it.

Limits are the fixture file's own literals (swivel to 25°, tilt to 24°), and for a butt cut the
angles of the axes by hand: a shoulder that is off square in its width alone takes that angle of
swivel and no tilt. What is offered must have been seen to be feasible, so it is solved once more.
"""

from __future__ import annotations

import attrs
import pytest

import jointgeo
from jointgeo.solution.alternatives import alternatives

PORCH = jointgeo.load_fixture("porch")
BUTT = jointgeo.joint_type("angled_butt").examples()[0]
LEG = jointgeo.joint_type("splayed_bridle").examples()[0]


def test_what_fits_needs_no_change() -> None:
    assert alternatives(LEG, PORCH) == ()


@pytest.mark.parametrize("angle", [26.0, -26.0])
def test_an_angle_beyond_an_axis_comes_back_to_its_end_on_its_own_side(angle: float) -> None:
    joint = attrs.evolve(BUTT, width_angle_deg=angle, thickness_angle_deg=0.0)
    assert jointgeo.solve(joint, PORCH).status == "fail"
    (only,) = alternatives(joint, PORCH)
    assert (only.name, only.given) == ("width_angle_deg", angle)
    # 25° is the swivel's end; a tenth of a degree is what is set out to.
    assert only.value == pytest.approx(25.0 if angle > 0 else -25.0, abs=0.1 + 1e-9)
    assert abs(only.value) <= 25.0


def test_a_beam_is_cleared_by_a_smaller_angle_or_thinner_stock() -> None:
    """The beam check says by how much: 41.0 mm from plate to you, a tilt of 19.31°."""
    found = {a.name: a.value for a in alternatives(attrs.evolve(LEG, splay_along_deg=20), PORCH)}
    assert found["splay_along_deg"] == pytest.approx(19.3, abs=1e-9)
    assert found["leg_thickness_mm"] == pytest.approx(41.0, abs=1e-9)


@pytest.mark.parametrize("name", sorted(jointgeo.joint_types()))
def test_whatever_is_offered_is_feasible_with_nothing_else_changed(name: str) -> None:
    """On a fixture whose tilt ends at 3°, so that every type's examples ask too much of it."""
    low = attrs.evolve(PORCH, tilt=attrs.evolve(PORCH.tilt, max_deg=3.0))
    for joint in jointgeo.joint_type(name).examples()[:2]:
        found = alternatives(joint, low)
        changes = [abs(a.value - a.given) / max(abs(a.given), 10.0) for a in found]
        assert all(change <= 0.55 for change in changes)
        for a in found:
            changed = type(joint).from_dict(joint.to_dict() | {a.name: a.value})
            assert jointgeo.solve(changed, low).status == a.status != "fail"
            assert getattr(joint, a.name) == a.given != a.value


def test_no_more_than_are_asked_for() -> None:
    joint = attrs.evolve(LEG, splay_along_deg=20)
    every = alternatives(joint, PORCH)
    assert len(every) == 2
    assert alternatives(joint, PORCH, most=1) == every[:1]
