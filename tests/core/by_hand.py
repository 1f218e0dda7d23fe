"""Swivel, tilt and packing of a notch, by plain vector geometry. Test helper, no planning.

Machine from stock is Rx(-tilt)·Ry(swivel)·Rz(packing + 90°·n): the grain lands on (sin swivel,
sin tilt · cos swivel, cos tilt · cos swivel), and the stock's width and thickness have parts of
cos swivel · (cos, sin) of packing + 90°·n along the channels.
"""

from __future__ import annotations

from math import asin, atan2, degrees

from jointgeo.joints.stock import StockNotch

__all__ = ["packing_deg", "swivel_deg", "tilt_deg"]


def swivel_deg(notch: StockNotch) -> float:
    return degrees(asin(notch.rows[0].z))


def tilt_deg(notch: StockNotch) -> float:
    return degrees(atan2(notch.rows[1].z, notch.rows[2].z))


def packing_deg(notch: StockNotch) -> float:
    """Its amount, with the best of the four sides on the plate."""
    x, y, _ = notch.rows[0]
    return degrees(atan2(*sorted((abs(x), abs(y)))))
