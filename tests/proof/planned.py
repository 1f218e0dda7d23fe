"""Settings of any drawing, planned in the plainest way: what the laws are tried on.

Written from the JSON contract alone, apart from the library's own planning: any drawing, also a
wrong one that no fixture could cut, becomes settings that cut it. No ranges, no beam, one disc of
3 mm; of the two ways to clamp a notch the one that needs the smaller angles.

    R = Rx(-tilt) · Ry(swivel) · Rz(packing + 90° · n)

so that R's first row is (cos s · cos k, -cos s · sin k, sin s) with k the turn about the grain,
and its third column (sin s, sin t · cos s, cos t · cos s).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from jointgeo.joints.drawing import Drawing
from jointgeo.solution.drawn import drawing_form

Settings = dict[str, Any]

KERF_MM = 3.0
TRIM_MM = 1.0  # least, at the corner of the square end that stands highest
OUT_MM = KERF_MM  # an outer cut runs so far past the wood that a pass has room there
SAME_MM = 1e-6  # across, a channel must meet more wood than that to be cut
SIDES = {0: "back", 2: "face_side"}


def planned(drawing: Drawing, joint_type: str = "") -> Settings:
    """As ``to_dict`` of the library's settings, without what no cut depends on."""
    form = drawing_form(drawing)
    parts, assembly = [], []
    for bar, shape in zip(form["bars"], drawing.bars, strict=True):
        notches = [_Notch(n, np.array(bar["pose"])) for n in form["notches"] if _of(n, bar)]
        width, thick, long = bar["size_mm"]
        section = np.array([[0, 0], [width, 0], [width, thick], [0, thick]], dtype=float)
        own = TRIM_MM - notches[0].heights(section).min() if notches else 0.0
        pose = np.array(bar["pose"])
        pose[:3, 3] -= own * pose[:3, 2]
        other = "back_edge" if shape.x_from == "face_edge" else "face_edge"
        sides = {**SIDES, 1: other, 3: shape.x_from}
        back = np.linalg.inv(pose)
        layout = [
            {
                "name": p["name"],
                "frame": (back @ p["frame"]).tolist(),
                "size_mm": list(p["size_mm"]),
            }
            for p in form["pockets"]
            if _of(p, bar)
        ]
        stock = {"width_mm": width, "thickness_mm": thick, "length_mm": long + own}
        setups, cut = [], []
        for notch in notches:
            setups.append(notch.setup(section, own, cut, sides))
            cut.append(notch)
        parts.append(
            {
                "part": bar["name"],
                "stock": stock | {"x_from": shape.x_from},
                "layout": layout,
                "setups": setups,
            }
        )
        assembly.append({"part": bar["name"], "pose": pose.tolist()})
    named = {"joint_type": joint_type, "fixture": "none"}
    return named | {"parts": parts, "assembly": assembly, "drawing": form}


def _of(what: Settings, bar: Settings) -> bool:
    return bool(what["bar"] == bar["name"])


class _Notch:
    """rows: across, feed, inward in stock coordinates; at: the end plane's height along inward and
    the world origin's place along across, both from the length datum."""

    def __init__(self, form: Settings, pose: np.ndarray) -> None:
        self.channels = form["channels"]
        x, z = np.array(form["across"]), -np.array(form["end"]["normal"])
        turn, at = pose[:3, :3], pose[:3, 3]
        self.rows = np.stack([x, np.cross(z, x), z]) @ turn
        self.end = -form["end"]["at_mm"] - float(z @ at)
        self.from_datum = -float(x @ at)

    def heights(self, points: np.ndarray) -> np.ndarray:
        """Where the end plane meets lines along the grain through points (n, 2) of the section."""
        return (self.end - points @ self.rows[2, :2]) / self.rows[2, 2]

    def strips(self) -> list[tuple[float, float]]:
        """The channels across, from the length datum's corner x = y = z = 0."""
        return [
            (
                -math.inf if c["low_mm"] is None else c["low_mm"] + self.from_datum,
                math.inf if c["high_mm"] is None else c["high_mm"] + self.from_datum,
            )
            for c in self.channels
        ]

    def setup(
        self, section: np.ndarray, own: float, earlier: list[_Notch], sides: dict[int, str]
    ) -> Settings:
        sense, n, swivel, tilt, packing = min(map(self._clamped, (1.0, -1.0)), key=_ease)
        # The end that is left, as pieces (n, 2) of the section; then across it.
        pieces = [section]
        for notch in earlier:
            pieces = [q for p in pieces for q in notch.left_of(p)]
        across = [sense * self._across(p) for p in pieces]
        corner = min(float(p.min()) for p in across)
        cuts = []
        for c, strip in zip(self.channels, self.strips(), strict=True):
            # The wood lies elsewhere across at the floor than at the end.
            both = [self._across(section), self._across(section, c["depth_mm"])]
            wood = sense * np.concatenate(both)
            left, right = sorted(sense * edge for edge in strip)
            if right < wood.min() + SAME_MM or left > wood.max() - SAME_MM:
                continue  # a channel beside the wood is not cut
            left = wood.min() - OUT_MM if math.isinf(left) else left
            right = wood.max() + OUT_MM if math.isinf(right) else right
            travels = _passes(left - corner, right - corner)
            cuts.append(
                {
                    "left_mm": left - corner,
                    "right_mm": right - corner,
                    "depth_mm": c["depth_mm"],
                    "outer": None in (c["low_mm"], c["high_mm"]),
                    "passes": [{"travel_mm": t} for t in travels],
                }
            )
        square = np.column_stack([section, np.zeros(4)]) @ self.rows[2]
        return {
            "against_plate": sides[n],
            "swivel_deg": swivel,
            "tilt_deg": tilt,
            "packing_deg": packing,
            "trim_mm": self.end + own * self.rows[2, 2] - float(square.min()),
            "kerf_mm": KERF_MM,
            "cuts": cuts,
        }

    def _across(self, points: np.ndarray, depth: float = 0.0) -> np.ndarray:
        ends = np.column_stack([points, self.heights(points) + depth / self.rows[2, 2]])
        return np.asarray(ends @ self.rows[0])

    def left_of(self, piece: np.ndarray) -> list[np.ndarray]:
        """What its channels leave of a convex piece of the end."""
        edges = [-math.inf, *(e for strip in sorted(self.strips()) for e in strip), math.inf]
        out = []
        for low, high in zip(edges[::2], edges[1::2], strict=True):
            if low < high:
                kept = _clip(piece, self._across(piece) - low)
                kept = _clip(kept, high - self._across(kept)) if len(kept) else kept
                out += [kept] if len(kept) > 2 else []
        return out

    def _clamped(self, sense: float) -> tuple[float, int, float, float, float]:
        """sense, quarter turns, swivel, tilt, packing."""
        turned = np.stack([sense * self.rows[0], sense * self.rows[1], self.rows[2]])
        swivel = math.degrees(math.asin(max(-1.0, min(1.0, turned[0, 2]))))
        tilt = math.degrees(math.atan2(turned[1, 2], turned[2, 2]))
        about = math.degrees(math.atan2(-turned[0, 1], turned[0, 0]))
        n = round(about / 90)
        return sense, n % 4, swivel, tilt, about - 90 * n


def _ease(clamped: tuple[float, int, float, float, float]) -> tuple[float, float]:
    _, _, swivel, tilt, packing = clamped
    return round(abs(packing), 6), abs(swivel) + abs(tilt)


def _passes(left: float, right: float) -> list[float]:
    """Travels of the cutter's right-hand face, overlapping by half a millimetre and more."""
    count = max(2, math.ceil((right - left - KERF_MM) / (KERF_MM - 0.5)) + 1)
    return [float(t) for t in np.linspace(left + KERF_MM, right, count)]


def _clip(piece: np.ndarray, inside: np.ndarray) -> np.ndarray:
    """What of a polygon (n, 2) lies where ``inside`` (n,), a linear function, is above 0."""
    out = []
    for i, value in enumerate(inside):
        j = (i + 1) % len(inside)
        if value > 0:
            out.append(piece[i])
        if (value > 0) != (inside[j] > 0) and not math.isinf(value):
            out.append(piece[i] + (piece[j] - piece[i]) * (value / (value - inside[j])))
    return np.array(out).reshape(-1, 2)
