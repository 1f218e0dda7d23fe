"""A drawing's mirror image, as the settings' JSON has it: every place reflected in x = 0.

Knows the JSON contract's ``drawing``; shares no code with ``Drawing.mirrored``.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["SAME_MM", "Array", "M", "drawing_faults", "near", "pose_of_image"]

Array = NDArray[np.float64]

M = np.diag([-1.0, 1.0, 1.0])
SAME_MM = 1e-6  # rounding over metres of stock is 1e-12; a scale shows 1e-2


def near(a: Any, b: Any, within: float = SAME_MM) -> bool:
    return bool(np.allclose(a, b, rtol=0.0, atol=within))


def pose_of_image(pose: Any, width: float) -> Array:
    """World from the mirror image's stock, whose x is counted from its other side."""
    turn = np.diag([-1.0, 1.0, 1.0, 1.0])
    back = turn.copy()
    back[0, 3] = width
    return np.asarray(turn @ np.array(pose) @ back, dtype=float)


def drawing_faults(drawn: dict[str, Any], image: dict[str, Any]) -> list[str]:
    """Every place of the drawing against its reflection in the world's plane x = 0."""
    faults: list[str] = []
    for kind in ("bars", "notches", "pockets", "empty"):
        names = [[(x.get("bar"), x["name"]) for x in d[kind]] for d in (drawn, image)]
        if names[0] != names[1]:
            return [f"the mirrored drawing has other {kind}: {names[1]}, not {names[0]}"]
    for a, b in zip(drawn["bars"], image["bars"], strict=True):
        if not near(a["size_mm"], b["size_mm"]) or not near(
            pose_of_image(a["pose"], a["size_mm"][0]), b["pose"]
        ):
            faults.append(f"the bar {a['name']} is not drawn as its mirror image")
    for a, b in zip(drawn["notches"], image["notches"], strict=True):
        same_end = near(M @ a["end"]["normal"], b["end"]["normal"]) and near(
            a["end"]["at_mm"], b["end"]["at_mm"]
        )
        if not same_end or not _same_channels(a, b):
            faults.append(f"the notch {a['bar']}/{a['name']} is not drawn as its mirror image")
    boxes = ([*d["pockets"], *d["empty"]] for d in (drawn, image))
    for a, b in zip(*boxes, strict=True):
        if not _same_points(_corners(a) @ M, _corners(b)):
            faults.append(f"{a.get('bar', 'empty')}/{a['name']} is not drawn as its mirror image")
    for name, way in drawn["slides"].items():
        if not near(M @ way, image["slides"].get(name, [np.nan] * 3)):
            faults.append(f"{name} does not come out the way its mirror image does")
    return faults


def _same_channels(a: dict[str, Any], b: dict[str, Any]) -> bool:
    """The same strips of the world, whichever way ``across`` looks."""
    sign = float(np.sign(M @ np.array(a["across"]) @ b["across"]))
    if not near(sign * (M @ a["across"]), b["across"], 1e-9):
        return False
    wanted, found = _spans(a, sign), _spans(b, 1.0)
    return wanted.shape == found.shape and near(wanted, found)


def _spans(notch: dict[str, Any], sign: float) -> Array:
    """(n, 3) low, high, depth along ``sign`` times its ``across``, in order; open ends at ±1e9."""
    out = []
    for c in notch["channels"]:
        low = -1e9 if c["low_mm"] is None else c["low_mm"]
        high = 1e9 if c["high_mm"] is None else c["high_mm"]
        out.append([*sorted((sign * low, sign * high)), c["depth_mm"]])
    return np.array(sorted(out))


def _same_points(a: Array, b: Array) -> bool:
    """Whether every point of each is one of the other's, in whatever order."""
    far = np.sqrt(((a[:, None] - b[None]) ** 2).sum(-1))
    return bool(max(far.min(axis=0).max(), far.min(axis=1).max()) <= SAME_MM)


def _corners(box: dict[str, Any]) -> Array:
    """The eight corners (8, 3) in the world."""
    frame, half = np.array(box["frame"]), np.array(box["size_mm"]) / 2
    signs = np.array(np.meshgrid([-1, 1], [-1, 1], [-1, 1])).reshape(3, -1).T
    return np.asarray((signs * half) @ frame[:3, :3].T + frame[:3, 3], dtype=float)
