"""A fixture nobody has measured: its drop and its room, from limits that were observed.

Knows readings and numpy; no fixture.

Theory. With the swivel at zero the corner that fouls the front beam stands where

    L·sin τ + T·cos τ = G

L the drop from the hinge to that corner, T everything between the hinge plane and the
stock's front (plate offset + backing + stock), G the clear distance from the hinge plane to
the beam. That is linear in L and G. An angle off by u(τ) moves the left side by
(L·cos τ - T·sin τ)·u(τ), a thickness by cos τ·u(T); weights from both, found with the L of the
round before. The limit for other stock is τ = asin(G / √(L² + T²)) - atan2(T, L).

How little two readings fix. Two readings always fit exactly, so they leave nothing to judge
them by; and the two limits lie close together, so L is the quotient of two small differences.
Each answer therefore carries ``swing``: what becomes of L if that one angle is a degree off.
"""

from __future__ import annotations

from typing import Any, Literal

import attrs
import numpy as np
from numpy.typing import ArrayLike

from jointgeo.calibration.readings import LimitReading, LimitReadings
from jointgeo.fixtures.estimate import Z_99, chi_square_point
from jointgeo.geometry.arrays import Array
from jointgeo.uncertainty.combine import COVERAGE

__all__ = ["LimitFit", "fit_limits", "limit_angle_deg"]

FitStatus = Literal["fitted", "loose", "two_only", "too_few", "contradictory"]

#: Known to better than this (relative, k = 2) the fit is called good; common practice.
TIGHT = 0.2
NUDGE_DEG = 1.0


def limit_angle_deg(drop_mm: ArrayLike, distance_mm: ArrayLike, depth_mm: ArrayLike) -> Array:
    """Tilt at which L·sin τ + T·cos τ reaches G; nan where it never does. Broadcasts.

    drop_mm L, distance_mm G, depth_mm T (plate offset + backing + stock).
    """
    drop, distance, depth = (np.asarray(a, float) for a in (drop_mm, distance_mm, depth_mm))
    ratio = distance / np.hypot(drop, depth)
    safe = np.where(np.abs(ratio) <= 1, ratio, np.nan)
    return np.asarray(np.degrees(np.arcsin(safe) - np.arctan2(depth, drop)))


@attrs.frozen
class LimitFit:
    """status: "fitted"; "loose" (more than TIGHT uncertain); "two_only" (no residual left);
    "too_few"; "contradictory". says: in words. drop_mm L, distance_mm G and their standard
    uncertainties; None where there is no fit. residual_deg: for each reading, observed limit
    minus fitted. swing_mm: for each reading, L if its angle were 1° less and 1° more."""

    status: FitStatus
    says: str
    drop_mm: float | None = None
    drop_u_mm: float | None = None
    distance_mm: float | None = None
    distance_u_mm: float | None = None
    residual_deg: tuple[float, ...] = ()
    swing_mm: tuple[tuple[float, float], ...] = ()

    @property
    def good(self) -> bool:
        return self.status == "fitted"

    def to_dict(self) -> dict[str, Any]:
        out = attrs.asdict(self, recurse=False)
        out["swing_mm"] = [list(pair) for pair in self.swing_mm]
        out["residual_deg"] = list(self.residual_deg)
        return out


def fit_limits(readings: LimitReadings) -> LimitFit:
    """L and G by weighted least squares; too few or contradictory readings are an answer."""
    listed = readings.limit
    if len(listed) < 2:
        return LimitFit(
            "too_few", f"{len(listed)} limits are too few: two unknowns need at least two"
        )
    depth = np.array(
        [readings.plate_offset_mm + readings.backing_mm + r.thickness_mm for r in listed]
    )
    tau = np.radians([r.angle_deg for r in listed])
    if _same(listed):
        return LimitFit(
            "too_few",
            "all limits are of one thickness or one angle and fix nothing: observe two that differ",
        )
    u_tau = np.radians([r.u_deg for r in listed])
    x, covariance, r, spread = _solve(depth, tau, u_tau, readings.u_thickness_mm)
    drop, distance = float(x[0]), float(x[1])
    slope = drop * np.cos(tau) - depth * np.sin(tau)
    # A positive left-over means the corner stood beyond the fitted beam: the angle was too big.
    residual = tuple(np.degrees(r / np.where(np.abs(slope) > 1e-9, slope, np.nan)).tolist())
    swing = _swing(depth, tau, u_tau, readings.u_thickness_mm)
    u = np.sqrt(np.diag(covariance))
    freedom = len(listed) - 2
    chi2 = float(np.sum((r / spread) ** 2))
    numbers = (drop, float(u[0]), distance, float(u[1]), residual, swing)
    if drop <= 0 or distance <= 0 or not np.all(np.isfinite(residual)):
        says = (
            "the limits contradict the geometry: thicker stock must foul at a smaller angle, and "
            f"these give a drop of {drop:.0f} mm; look at them again"
        )
        return LimitFit("contradictory", says)
    if freedom > 0 and chi2 > chi_square_point(freedom, Z_99):
        worst = int(np.argmax(np.abs(r / spread)))
        says = (
            f"the limits contradict each other: the one at {listed[worst].thickness_mm:g} mm and "
            f"{listed[worst].angle_deg:g}° is {residual[worst]:+.2f}° off the rest; "
            "observe it again"
        )
        return LimitFit("contradictory", says, *numbers)
    low, high = min(swing, key=lambda pair: pair[0] - pair[1])
    found = (
        f"drop L {drop:.1f} ± {COVERAGE * u[0]:.1f} mm, distance G {distance:.1f} ± "
        f"{COVERAGE * u[1]:.1f} mm (k = 2)"
    )
    little = f"one angle a degree off would make L anything from {low:.0f} to {high:.0f} mm"
    if freedom == 0:
        says = f"{found}; two limits leave no residual to judge them by: {little}"
        return LimitFit("two_only", says, *numbers)
    if COVERAGE * u[0] > TIGHT * drop:
        return LimitFit("loose", f"{found}; known only loosely: {little}", *numbers)
    return LimitFit("fitted", f"{found}; {little}", *numbers)


def _same(listed: tuple[LimitReading, ...]) -> bool:
    angles = {r.angle_deg for r in listed}
    thick = {r.thickness_mm for r in listed}
    return len(angles) == 1 or len(thick) == 1


def _solve(
    depth: Array, tau: Array, u_tau: Array, u_depth_mm: float
) -> tuple[Array, Array, Array, Array]:
    """(L, G), their covariance, left-overs (mm) and each one's standard deviation (mm)."""
    a = np.stack([np.sin(tau), -np.ones_like(tau)], axis=-1)
    y = -depth * np.cos(tau)
    spread = np.ones_like(tau)
    x = np.zeros(2)
    for _ in range(30):  # the weights move by far less than a percent after three rounds
        weight = 1 / spread**2
        normal = np.linalg.inv(a.T * weight @ a)
        new = normal @ (a.T * weight @ y)
        slope = new[0] * np.cos(tau) - depth * np.sin(tau)
        spread = np.hypot(slope * u_tau, np.cos(tau) * u_depth_mm)
        spread = np.maximum(spread, 1e-9)
        if np.allclose(new, x, rtol=1e-12, atol=0):
            break
        x = new
    covariance = np.linalg.inv(a.T * (1 / spread**2) @ a)
    return new, covariance, a @ new - y, spread


def _swing(
    depth: Array, tau: Array, u_tau: Array, u_depth_mm: float
) -> tuple[tuple[float, float], ...]:
    out = []
    for i in range(len(tau)):
        ends = []
        for sign in (-1.0, 1.0):
            moved = tau.copy()
            moved[i] += sign * np.radians(NUDGE_DEG)
            ends.append(float(_solve(depth, moved, u_tau, u_depth_mm)[0][0]))
        out.append((min(ends), max(ends)))
    return tuple(out)
