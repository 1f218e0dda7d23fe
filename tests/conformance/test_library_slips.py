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
import jointgeo.planning.clampings
import jointgeo.planning.frame
from jointgeo.conformance.kit import run_check
from jointgeo.conformance.subject import Subject
from jointgeo.joints.drawing import Bar, Drawing, Notch

from .sound import HalfLap


def fails(*checks: str) -> dict[str, bool]:
    subject = Subject(HalfLap, wanted=1, anywhere=1)
    return {name: run_check(name, subject).outcome == "failed" for name in checks}


def test_nothing_fails_without_a_slip() -> None:
    assert not any(fails("mirrored", "margins", "laws").values())


def test_a_face_edge_that_stays_where_it_was(monkeypatch: pytest.MonkeyPatch) -> None:
    turn = Bar.mirrored.fget

    def forgetful(self: Bar) -> Bar:
        image: Bar = turn(self)
        return attrs.evolve(image, edge=-image.edge)

    monkeypatch.setattr(Bar, "mirrored", property(forgetful))
    assert fails("mirrored")["mirrored"]


def test_channels_that_are_not_mirrored(monkeypatch: pytest.MonkeyPatch) -> None:
    turn = Notch.mirrored.fget

    def forgetful(self: Notch) -> Notch:
        return attrs.evolve(turn(self), channels=self.channels)

    monkeypatch.setattr(Notch, "mirrored", property(forgetful))
    # What is drawn and what is cut agree: one rail whole, the other butted against it.
    assert fails("mirrored", "laws") == {"mirrored": True, "laws": False}


def test_a_slide_that_is_not_mirrored(monkeypatch: pytest.MonkeyPatch) -> None:
    turn = Drawing.mirrored.fget

    def forgetful(self: Drawing) -> Drawing:
        return attrs.evolve(turn(self), slides=self.slides)

    monkeypatch.setattr(Drawing, "mirrored", property(forgetful))
    assert fails("mirrored", "laws") == {"mirrored": True, "laws": True}


def test_a_tilt_of_the_wrong_sign(monkeypatch: pytest.MonkeyPatch) -> None:
    """Mirroring flips both hands alike, so only cutting the joint shows it."""
    solve = jointgeo.planning.clampings.clamping

    def wrong(rows: Any, sense: float) -> Any:
        found = solve(rows, sense)
        return attrs.evolve(found, tilt_deg=-found.tilt_deg)

    monkeypatch.setattr(jointgeo.planning.clampings, "clamping", wrong)
    assert fails("mirrored", "laws") == {"mirrored": False, "laws": True}


def test_a_touch_off_corner_half_a_millimetre_off(monkeypatch: pytest.MonkeyPatch) -> None:
    """The drawing is as declared, but the cut wood has no face where it is measured from."""
    found = jointgeo.planning.frame.least_across

    def wrong(*given: Any) -> float:
        return found(*given) + 0.5

    monkeypatch.setattr(jointgeo.planning.frame, "least_across", wrong)
    assert fails("claims", "dimensions", "laws") == {
        "claims": False,
        "dimensions": True,
        "laws": True,
    }


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
