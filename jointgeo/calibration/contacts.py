"""Where tilted stock meets the front beam: two kinds of contact, and the fit of one assignment.

Knows numpy; no readings, no fixture.

Theory. Swivel at zero, tilt τ above it, seen from the side. T is everything between the hinge plane
and the stock's front (plate offset + backing + stock), L the drop from the hinge to the stock's
lower front corner, G the distance from the hinge plane to the beam's face, v the drop from the
hinge to the beam's lower edge. Then either

    the end's corner meets the face:   L·sin τ + T·cos τ = G,  τ₁ = asin(G/√(L²+T²)) - atan2(T, L)
    the stock's front meets the edge:  G·cos τ - v·sin τ = T,  τ₂ = acos(T/√(G²+v²)) - atan2(v, G)

Wood and beam overlap only where the corner is beyond the face and the front beyond the edge, so
the limit is the greater of the two. Which one it is follows from the radii about the hinge: the
edge if √(L²+T²) > √(G²+v²), the corner otherwise. So thick stock, or stock that hangs low, meets
the edge. Each formula by itself is a lower bound of the limit.

Both are linear in G, v and h, the hinge's height above the plate's edge, where L = h + o with o the
overhang of that reading (h is L itself where no overhang is given). A reading off by u(τ) and u(T)
moves its row by hypot(slope·u(τ), factor·u(T)): slope L·cos τ - T·sin τ and factor cos τ for the
corner, slope G·sin τ + v·cos τ and factor 1 for the edge. An overhang's own error enters by
sin τ alone and is left out: 0.5 mm at 25° is 0.2 mm, and half a degree is 2 mm or more.
"""

from __future__ import annotations

from typing import Literal

import attrs
import numpy as np
from numpy.typing import ArrayLike, NDArray

from jointgeo.geometry.arrays import Array
from jointgeo.uncertainty.combine import COVERAGE

Flags = NDArray[np.bool_]

__all__ = ["KINDS", "Kind", "Observed", "Split", "corner_limit_deg", "edge_limit_deg", "fit_split"]

Kind = Literal["end_on_face", "face_on_edge"]
KINDS: tuple[Kind, Kind] = ("end_on_face", "face_on_edge")

#: A matrix of unit columns whose least singular value is below this fixes nothing.
SINGULAR = 1e-9


def corner_limit_deg(drop_mm: ArrayLike, distance_mm: ArrayLike, depth_mm: ArrayLike) -> Array:
    """τ₁, the tilt at which the end's corner meets the beam's face; inf where it never reaches it.

    drop_mm L, distance_mm G, depth_mm T. Broadcasts.
    """
    drop, distance, depth = (np.asarray(a, float) for a in (drop_mm, distance_mm, depth_mm))
    ratio = distance / np.hypot(drop, depth)
    safe = np.clip(ratio, -1, 1)
    angle = np.degrees(np.arcsin(safe) - np.arctan2(depth, drop))
    return np.asarray(np.where(ratio > 1, np.inf, angle))


def edge_limit_deg(edge_mm: ArrayLike, distance_mm: ArrayLike, depth_mm: ArrayLike) -> Array:
    """τ₂, the tilt at which the stock's front meets the beam's lower edge; -inf where the stock is
    beyond the edge at every tilt.

    edge_mm v, distance_mm G, depth_mm T. Broadcasts.
    """
    edge, distance, depth = (np.asarray(a, float) for a in (edge_mm, distance_mm, depth_mm))
    ratio = depth / np.hypot(distance, edge)
    safe = np.clip(ratio, -1, 1)
    angle = np.degrees(np.arccos(safe) - np.arctan2(edge, distance))
    return np.asarray(np.where(ratio > 1, -np.inf, angle))


@attrs.frozen(eq=False)
class Observed:
    """Limits as arrays of one length: T, o, τ (radians) and u(τ); u(T) is one for all."""

    depth_mm: Array
    overhang_mm: Array
    tau: Array
    u_tau: Array
    u_depth_mm: float


@attrs.frozen
class Split:
    """One assignment of kinds to the readings, and what it makes of the fixture.

    drop_mm: h, or L where no overhang is given; distance_mm: G; edge_mm: v. What a kind without a
    reading leaves undetermined is None, its least possible value in ``..._at_least_mm``;
    ``..._u_mm``: standard uncertainties. residual_deg: for each, observed limit minus fitted.
    covariance: of (G, h, v), mm², with zeros for what is undetermined.
    """

    kinds: tuple[Kind, ...]
    distance_mm: float
    distance_u_mm: float
    drop_mm: float | None
    drop_u_mm: float | None
    drop_at_least_mm: float | None
    edge_mm: float | None
    edge_u_mm: float | None
    edge_at_least_mm: float | None
    residual_deg: tuple[float, ...]
    chi2: float
    freedom: int
    worst: int
    agrees: bool
    covariance: tuple[tuple[float, float, float], ...]

    def limit_deg(self, depth_mm: float, overhang_mm: float) -> tuple[float, float]:
        """(limit, its standard uncertainty) for stock of that T: the greater of what is known.

        (inf, 0) where the corner never reaches the face, (-inf, 0) where no tilt is free.
        """
        found: list[tuple[float, float]] = []
        if self.drop_mm is not None:
            drop = self.drop_mm + overhang_mm
            tau = float(corner_limit_deg(drop, self.distance_mm, depth_mm))
            found.append((tau, self._u(tau, depth_mm, drop, corner=True)))
        if self.edge_mm is not None:
            tau = float(edge_limit_deg(self.edge_mm, self.distance_mm, depth_mm))
            found.append((tau, self._u(tau, depth_mm, 0.0, corner=False)))
        return max(found)

    def _u(self, tau_deg: float, depth: float, drop: float, corner: bool) -> float:
        """From the contact: dτ = (dG - sin τ·dL)/slope, or (cos τ·dG - sin τ·dv)/slope."""
        if not np.isfinite(tau_deg):
            return 0.0
        s, c = np.sin(np.radians(tau_deg)), np.cos(np.radians(tau_deg))
        if corner:
            slope, gradient = drop * c - depth * s, np.array([1.0, -s, 0.0])
        else:
            slope = self.distance_mm * s + (self.edge_mm or 0.0) * c
            gradient = np.array([c, 0.0, -s])
        spread = np.sqrt(gradient @ np.array(self.covariance) @ gradient)
        return float(np.degrees(spread / max(abs(slope), 1e-9)))


def fit_split(seen: Observed, corner: Flags) -> Split | None:
    """The fit of one assignment; ``corner``: True for each reading whose end met the face.

    None where the readings do not fix its unknowns: G and one more for each kind that occurs,
    against so many different stocks.
    """
    used = np.array([True, bool(corner.any()), bool((~corner).any())])
    if _different(seen, corner) < used.sum():
        return None
    s, c = np.sin(seen.tau), np.cos(seen.tau)
    zero = np.zeros_like(s)
    columns = [np.where(corner, 1.0, c), np.where(corner, -s, zero), np.where(corner, zero, -s)]
    a = np.stack(columns, axis=-1)[:, used]
    y = np.where(corner, seen.depth_mm * c + seen.overhang_mm * s, seen.depth_mm)
    lengths = np.linalg.norm(a, axis=0)
    if np.any(lengths == 0) or np.linalg.svd(a / lengths, compute_uv=False)[-1] < SINGULAR:
        return None
    spread, x = np.ones_like(s), np.zeros(3)
    slope = zero
    for _ in range(30):  # the weights move by far less than a percent after three rounds
        normal = np.linalg.inv(a.T * spread**-2 @ a)
        new = np.zeros(3)
        new[used] = normal @ (a.T * spread**-2 @ y)
        g, h, v = new
        drop = h + seen.overhang_mm
        slope = np.where(corner, drop * c - seen.depth_mm * s, g * s + v * c)
        factor = np.where(corner, c, 1.0)
        spread = np.maximum(np.hypot(slope * seen.u_tau, factor * seen.u_depth_mm), 1e-9)
        done = np.allclose(new, x, rtol=1e-12, atol=0)
        x = new
        if done:
            break
    covariance = np.zeros((3, 3))
    covariance[np.ix_(used, used)] = np.linalg.inv(a.T * spread**-2 @ a)
    off = a @ x[used] - y
    return _told(seen, corner, used, x, covariance, off, slope, spread)


def _different(seen: Observed, corner: Flags) -> int:
    """How many readings tell something new: one stock tried twice is one."""
    ends = {(t, o) for t, o in zip(seen.depth_mm[corner], seen.overhang_mm[corner], strict=True)}
    return len(ends) + len(set(seen.depth_mm[~corner].tolist()))


def _told(
    seen: Observed,
    corner: Flags,
    used: Flags,
    x: Array,
    covariance: Array,
    off: Array,
    slope: Array,
    spread: Array,
) -> Split:
    g, h, v = (float(e) for e in x)
    u = np.sqrt(np.diag(covariance))
    has_corner, has_edge = bool(used[1]), bool(used[2])
    drop = h + seen.overhang_mm
    agrees = g > 0 and bool(np.all(slope > 0))
    drop_least = edge_least = None
    if has_corner and has_edge:
        agrees = agrees and v > 0 and bool(np.all(drop[corner] > 0))
        # Room between the two radii, squared: at least 0 where the corner meets the face.
        room = g**2 + v**2 - drop**2 - seen.depth_mm**2
        slack = []
        for low, t in zip(drop, seen.depth_mm, strict=True):
            gradient = np.array([2 * g, -2 * low, 2 * v])
            own = gradient @ covariance @ gradient
            slack.append(COVERAGE * np.hypot(np.sqrt(own), 2 * t * seen.u_depth_mm))
        agrees = agrees and bool(np.all(np.where(corner, room, -room) >= -np.array(slack)))
    elif has_corner:
        agrees = agrees and bool(np.all(drop > 0))
        edge_least = float(np.max(drop * np.cos(seen.tau) - seen.depth_mm * np.sin(seen.tau)))
    else:
        agrees = agrees and v > 0
        least = np.sqrt(np.maximum(g**2 + v**2 - seen.depth_mm**2, 0)) - seen.overhang_mm
        drop_least = float(np.max(least))
    return Split(
        kinds=tuple(KINDS[0] if k else KINDS[1] for k in corner),
        distance_mm=g,
        distance_u_mm=float(u[0]),
        drop_mm=h if has_corner else None,
        drop_u_mm=float(u[1]) if has_corner else None,
        drop_at_least_mm=drop_least,
        edge_mm=v if has_edge else None,
        edge_u_mm=float(u[2]) if has_edge else None,
        edge_at_least_mm=edge_least,
        # Left over above zero means short of the beam: the angle observed was too small.
        residual_deg=tuple(np.degrees(-off / np.where(np.abs(slope) > 1e-9, slope, 1e-9)).tolist()),
        chi2=float(np.sum((off / spread) ** 2)),
        freedom=len(off) - int(used.sum()),
        worst=int(np.argmax(np.abs(off / spread))),
        agrees=agrees,
        covariance=tuple((float(r[0]), float(r[1]), float(r[2])) for r in covariance),
    )
