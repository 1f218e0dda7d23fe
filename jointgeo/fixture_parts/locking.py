"""What every slot with a locking screw is checked by: play, and whether the lock holds.

Knows slots and fixtures; no single part. Friction and screw force are from memory, the reserve is
common practice with no published source: the check says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import attrs

from jointgeo.fixture_parts.slots import angle_of_play_deg, clamping_n, slip_torque_nm
from jointgeo.fixture_parts.wanted import Facts
from jointgeo.joints.check import Check, Remedy, at_least, at_most, not_stated

__all__ = ["lock_checks"]

#: Slip torque over what the cutting force asks for; common practice, no published source.
RESERVE = 3.0


def lock_checks(
    facts: Facts, axis: str, radii_mm: Sequence[float], lever_mm: float
) -> Iterator[Check]:
    """radii_mm: of every locking screw, and there is another pair on the tilt's other side where
    the caller says so. lever_mm: of the cutting force about the axis."""
    fixture = facts.fixture
    play, screw, torque = (facts.take(n) for n in ("play_mm", "screw_mm", "torque_nm"))
    u = getattr(fixture.uncertainty, f"{axis}_deg")
    loose = angle_of_play_deg(play, min(radii_mm))
    because = (
        f"loose, the screw lets the {axis} turn by {loose:.3f}° in its slot; set the angle with "
        "the screw done up, and do not trust it to come back (limit our choice: four times what "
        "the scale is read to)"
    )
    check = at_most(f"{axis}_slot_play", loose, 4 * u, "deg", because, short="caution")
    if check.status != "pass" and u > 0:
        wider = min(radii_mm) * loose / (4 * u)
        says = f"a radius of {wider:.0f} mm or more, or a slot with less play"
        remedy = Remedy("move_slot_out", says, {"radius_mm": wider})
        check = attrs.evolve(check, remedies=(remedy,))
    yield check
    forces = [c.force_n for c in fixture.cutter]
    slips = slip_torque_nm(clamping_n(torque, screw), radii_mm)
    known = [f for f in forces if f is not None]
    if len(known) < len(forces):
        keys = ("cutter.rpm", "cutter.power_w")
        yield not_stated(f"{axis}_lock_holds", slips, "N·m", keys, "the force it must hold")
        return
    needed = RESERVE * max(known) * lever_mm / 1000
    because = (
        f"friction 0.25 and a screw done up with {torque:g} N·m (from memory) slip at {slips:.1f} "
        f"N·m; {RESERVE:g} times the mean cutting force {max(known):.0f} N at {lever_mm:.0f} mm "
        "asks for the limit, and a cutter that grabs for several times that: a stop, not friction, "
        "is what holds then"
    )
    check = at_least(f"{axis}_lock_holds", slips, needed, "N·m", because, short="caution")
    if check.status != "pass":
        more = torque * needed / slips
        says = f"do the screws up with {more:.1f} N·m, or set them further out"
        check = attrs.evolve(check, remedies=(Remedy("tighten", says, {"torque_nm": more}),))
    yield check
