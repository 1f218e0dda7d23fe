"""The kit does not share the library's formulas: a slip put into the library shows.

Each slip is one a programmer makes: a sign, a forgotten swap, a limit a hair off. The joint
type is the sound one, so only the library can be at fault.
"""

from __future__ import annotations

from typing import Any

import attrs
import pytest

import jointgeo.checks.fouling
import jointgeo.checks.machine
import jointgeo.planning.setups
from jointgeo.conformance.kit import run_check
from jointgeo.conformance.subject import Subject
from jointgeo.joints.contract import Notch, Part

from .sound import HalfLap


def fails(*checks: str) -> dict[str, bool]:
    subject = Subject(HalfLap, wanted=1, anywhere=1)
    return {name: run_check(name, subject).outcome == "failed" for name in checks}


def test_nothing_fails_without_a_slip() -> None:
    assert not any(fails("mirrored", "margins", "dry_fit").values())


def test_a_face_edge_that_stays_where_it_was(monkeypatch: pytest.MonkeyPatch) -> None:
    swap = Part.mirrored

    def forgetful(self: Part) -> Part:
        return attrs.evolve(swap(self), x_from=self.x_from)

    monkeypatch.setattr(Part, "mirrored", forgetful)
    assert fails("mirrored")["mirrored"]


def test_channels_that_are_not_mirrored(monkeypatch: pytest.MonkeyPatch) -> None:
    turn = Notch.mirrored

    def forgetful(self: Notch, width_mm: float) -> Notch:
        return attrs.evolve(turn(self, width_mm), channels=self.channels)

    monkeypatch.setattr(Notch, "mirrored", forgetful)
    assert fails("mirrored", "dry_fit") == {"mirrored": True, "dry_fit": True}


def test_a_tilt_of_the_wrong_sign(monkeypatch: pytest.MonkeyPatch) -> None:
    """Mirroring flips both hands alike, so only cutting the joint shows it."""
    solve = jointgeo.planning.setups.clamping

    def wrong(frame: Any, sense: float) -> Any:
        found = solve(frame, sense)
        return attrs.evolve(found, tilt_deg=-found.tilt_deg)

    monkeypatch.setattr(jointgeo.planning.setups, "clamping", wrong)
    assert fails("mirrored", "dry_fit") == {"mirrored": False, "dry_fit": True}


@pytest.mark.parametrize(
    ("module", "maker"),
    [
        (jointgeo.checks.machine, "at_most"),
        (jointgeo.checks.machine, "at_least"),
        (jointgeo.checks.fouling, "at_least"),
    ],
)
def test_a_limit_a_hundredth_off(module: Any, maker: str, monkeypatch: pytest.MonkeyPatch) -> None:
    made = getattr(module, maker)

    def shifted(name: str, value: float, limit: float, *rest: Any, **more: Any) -> Any:
        check = made(name, value + 0.01, limit, *rest, **more)
        return attrs.evolve(check, value=value)

    monkeypatch.setattr(module, maker, shifted)
    assert fails("margins")["margins"]
