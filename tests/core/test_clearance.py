"""A fit that glue cannot fill is a caution, whatever the joint; all numbers by hand.

The sample fixture's glue line is 0.15 mm, at either of two cheeks: a fit of 0.3 mm.
"""

from __future__ import annotations

import math

import attrs
import pytest

from jointgeo.joints.check import Check
from jointgeo.joints.registry import joint_type, joint_types
from jointgeo.solution.solution import solve

from .samples import checks_of, fixture_with, part_at

EXACT = 1e-9  # mm: rounding only
FILLED = sorted(name for name, cls in joint_types().items() if hasattr(cls.examples()[0], "fit_mm"))


def clearances(name: str, fit_mm: float, fixture: dict[str, object] | None = None) -> list[Check]:
    joint = attrs.evolve(joint_type(name).examples()[0], fit_mm=fit_mm)
    answer = solve(joint, fixture_with(fixture))
    return [c for c in answer.checks if c.name == "cheek_clearance"]


@pytest.mark.parametrize("name", FILLED)
def test_a_tenfold_slip_in_the_fit_is_a_caution(name: str) -> None:
    """1 mm where 0.1 was meant: 0.5 mm at each cheek, where glue fills 0.15."""
    assert {c.status for c in clearances(name, 0.1)} == {"pass"}
    found = clearances(name, 1.0)
    assert found
    assert len(FILLED) >= 3
    for check in found:
        assert check.status == "caution"
        assert (check.value, check.limit) == (pytest.approx(0.5, abs=EXACT), 0.15)
        assert check.because == (
            "the drawing wants 0.50 mm of clearance at a cheek; glue fills 0.15 mm, the fixture's "
            "glue line"
        )
        (remedy,) = check.remedies
        assert remedy.says == "a fit of at most 0.3 mm, which is 0.15 mm at each of two cheeks"
        assert remedy.amounts == {"clearance_mm": 0.15, "fit_mm": 0.3}


@pytest.mark.parametrize("name", FILLED)
def test_the_remedy_is_where_the_caution_ends(name: str) -> None:
    assert {c.status for c in clearances(name, 0.3)} == {"pass"}
    assert {c.status for c in clearances(name, 0.302)} == {"caution"}
    assert {c.status for c in clearances(name, 1.0, {"practice": {"glue_line_mm": 0.5}})} == {
        "pass"
    }


@pytest.mark.parametrize("name", FILLED)
def test_interference_leaves_nothing_to_fill(name: str) -> None:
    assert {(c.status, c.value) for c in clearances(name, -0.1)} == {("pass", -0.05)}


def test_a_lap_has_one_cheek_and_a_trimmed_end_none() -> None:
    part = part_at(channels=[(-math.inf, 0, 20)])
    (notch,) = part.notches
    wide = attrs.evolve(notch, channels=(attrs.evolve(notch.channels[0], gap=0.2),))
    check = checks_of(attrs.evolve(part, notches=(wide,)), fixture_with())["cheek_clearance"]
    assert check.status == "caution"
    assert [r.says for r in check.remedies] == ["a clearance of at most 0.15 mm at the cheek"]
    plain = attrs.evolve(part, notches=(attrs.evolve(notch, channels=()),))
    assert "cheek_clearance" not in checks_of(plain, fixture_with())
