"""Bars and a joint of round numbers, by hand; no joint type that ships. Test helper.

A leg hangs down Z from the origin, 60 × 40 × 500 mm, its face side to -Y and its face edge to -X.
A rail lies along Y on top, 100 × 20 × 300 mm, its face side to -X and its face edge up, to -Z.
"""

from __future__ import annotations

from typing import Any

from jointgeo.geometry.vectors import Plane, Vec, X, Y, Z
from jointgeo.joints.drawing import Bar, Drawing, Notch

__all__ = ["ORIGIN", "bridle", "leg", "rail", "slot"]

ORIGIN = Vec(0.0, 0.0, 0.0)


def leg(**changes: Any) -> Bar:
    values: dict[str, Any] = {"width": 60.0, "thickness": 40.0, "length": 500.0}
    values |= {"grain": Z, "face": -Y, "edge": -X, "middle": ORIGIN, "name": "leg"}
    return Bar(**{**values, **changes})


def rail(**changes: Any) -> Bar:
    values: dict[str, Any] = {"width": 100.0, "thickness": 20.0, "length": 300.0}
    values |= {"grain": Y, "face": -X, "edge": -Z, "name": "rail"}
    values |= {"middle": Vec(0.0, -150.0, 50.0)}
    return Bar(**{**values, **changes})


def slot(low: float = -10.5, high: float = 10.0, depth: float = 100.0, **rest: Any) -> Notch:
    """A slot of the leg's, from X = -10.5 to 10, not in its middle."""
    return Notch("slot", "leg", Plane(-Z, 0.0), X, ((low, high, depth),), **rest)


def bridle(**changes: Any) -> Drawing:
    values: dict[str, Any] = {"bars": (leg(), rail()), "notches": (slot(),), "slides": {"leg": Z}}
    return Drawing(**{**values, **changes})
