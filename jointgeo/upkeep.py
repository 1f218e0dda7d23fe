"""What a shop adds to its fixture's file as it learns: setting aids, corrections, old values.

Knows parameter fields and errors only. ``fixture`` holds these values as tables; ``accuracy`` makes
and uses them.

Signs. A correction of an axis is added to the wanted angle to get what the scale must
show: scale = wanted + correction. So an axis that truly stands at 0.2° when its scale
reads 0 has a correction of -0.2°. A kerf correction is added to the cutter's kerf to get
what it truly cuts; the lead's fraction is (true travel / dialled travel) - 1.

A correction's own standard uncertainty of 0 means "not learnt yet": the uncertainty of
the scale, the kerf or the lead in the fixture's own table then stands in its place.
"""

from __future__ import annotations

import attrs

from jointgeo.errors import Problem
from jointgeo.fields import angle, choice, count, length, number, text

__all__ = ["Aids", "Correction", "KerfCorrection", "Past"]


@attrs.frozen
class Aids:
    """What the shop sets angles with. Uncertainties are standard (k = 1)."""

    stop_distance_mm: float = length(
        "From the hinge line to where a spacer or the stop screw bears on the plate",
        above=0,
        default=230.0,
    )
    stop_screw_pitch_mm: float = length(
        "Pitch of the screws that stop the plate and square the inner plate",
        above=0,
        high=20,
        default=1.0,
    )
    square_screw_arm_mm: float = length(
        "From the inner plate's fixed edge to the screws that set it square", above=0, default=230.0
    )
    fence_rule_mm: float = length(
        "From the swivel's pivot to where an offset is measured on the fence",
        above=0,
        default=300.0,
    )
    sine_bar_mm: float = length("Distance between the rollers of a sine bar", above=0, default=100)
    wedge_length_mm: float = length("Length of a wedge", above=0, high=2000, default=200.0)
    wedge_stock_mm: float = length(
        "Thickest wedge that can be made in one piece", above=0, high=500, default=32.0
    )
    block_set: str = choice("Set of gauge blocks in the shop", ("metric_87",), default="metric_87")
    fraction_denominator: int = count(
        "Finest fraction of an inch a spacer is made to", low=2, high=128, default=64
    )
    spacer_u_mm: float = length("Thickness of a spacer as made", low=0, high=5, default=0.02)
    rule_u_mm: float = length("Offset read on a rule", low=0, high=5, default=0.15)
    block_u_mm: float = length("A stack of gauge blocks", low=0, high=1, default=0.001)
    wedge_u_mm: float = length("Height of a wedge at one end", low=0, high=5, default=0.05)
    distance_u_mm: float = length(
        "Any of the distances above, as measured", low=0, high=10, default=0.2
    )


@attrs.frozen
class KerfCorrection:
    """What one cutter cuts more than its kerf says."""

    cutter: str = text("Name of the cutter", most=40)
    kerf_mm: float = length("Add to the cutter's kerf", low=-5, high=5)
    kerf_u_mm: float = length("Standard uncertainty of that", low=0, high=5)


@attrs.frozen
class Correction:
    """What check-ups and test cuts have taught; all zero on a fixture that learnt nothing."""

    swivel_zero_deg: float = angle(
        "Add to a wanted swivel to get the scale's figure", low=-10, high=10, default=0.0
    )
    swivel_zero_u_deg: float = angle(
        "Standard uncertainty of that; 0: not learnt", low=0, high=10, default=0.0
    )
    tilt_zero_deg: float = angle(
        "Add to a wanted tilt to get the scale's figure", low=-10, high=10, default=0.0
    )
    tilt_zero_u_deg: float = angle(
        "Standard uncertainty of that; 0: not learnt", low=0, high=10, default=0.0
    )
    lead_fraction: float = number(
        "1", "True travel over dialled travel, less 1", low=-0.1, high=0.1, default=0.0
    )
    lead_fraction_u: float = number(
        "1", "Standard uncertainty of that; 0: not learnt", low=0, high=0.1, default=0.0
    )
    date: str = text("When it was measured", most=40, default="not measured")
    source: str = text("What it was measured from", most=80, default="none")
    kerf: tuple[KerfCorrection, ...] = attrs.field(kw_only=True, default=())

    def problems(self, kerfs: dict[str, float]) -> list[Problem]:
        """What is wrong with the kerf list on a fixture of these cutters (name: kerf, mm)."""
        out = []
        left = dict(kerfs)
        for index, item in enumerate(self.kerf):
            where = f"correction.kerf[{index}]"
            if item.cutter not in left:
                allowed = "each once, of " + ", ".join(f'"{n}"' for n in kerfs)
                message = "is no cutter here, or stands twice"
                out.append(Problem(f"{where}.cutter", message, item.cutter, allowed))
            elif left.pop(item.cutter) + item.kerf_mm <= 0:
                allowed = f"more than -{kerfs[item.cutter]:g} mm"
                given = f"{item.kerf_mm:g}"
                out.append(Problem(f"{where}.kerf_mm", "leaves no kerf", given, allowed, "mm"))
        return out


@attrs.frozen
class Past:
    """A value of the fixture's file that was replaced, kept so that no measurement is lost."""

    date: str = text("When it was replaced", most=40)
    name: str = text("The value, by table and key", most=120)
    was: float = number("1", "Its old value, in the unit its name ends in")
    now: float = number("1", "Its new value, in the same unit")
    source: str = text("What the new value came from", most=80)
