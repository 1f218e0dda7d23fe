"""Numbers and names as a person reads them on the sheet.

Knows units and the names of sides; no drawing and no page. Millimetres to 0.01, as
``report`` prints them, degrees to 0.001 with minutes beside them.
"""

from __future__ import annotations

from collections.abc import Sequence

from jointgeo.joints.check import Check
from jointgeo.schema.units import DECIMALS, decimals_apart, degrees_minutes, fixed
from jointgeo.solution.axis import DOUBT, AxisSetting
from jointgeo.solution.end import Use

__all__ = [
    "amount",
    "angle",
    "apart",
    "broken",
    "check_name",
    "listed",
    "mark",
    "mm",
    "picture_figure",
    "set_scale",
    "short_by",
    "use",
    "wheel",
    "with_margin",
]


def mm(value: float) -> str:
    """``22.90``, without the unit and never ``-0.00``."""
    return fixed(value, 2)


def angle(value: float) -> str:
    """``-7.827° (-7°49.6′)``."""
    return f"{fixed(value, 3)}° ({degrees_minutes(value)})"


def set_scale(axis: AxisSetting) -> str:
    """``set the swivel's scale to -7.760° or -7°45.6′ (true angle -7.827°, anticlockwise)``."""
    if axis.wedge:
        return axis.scale_words
    if axis.doubted:
        return f"do not set the {axis.axis} yet: {DOUBT} ({axis.true_words})"
    return f"set the {axis.axis}'s scale to {axis.figure_words}"


def picture_figure(axis: AxisSetting, break_: str) -> str:
    """The same for a picture: ``swivel's scale -7.760° (true angle -7.827°, anticlockwise)``."""
    said = axis.true_words.replace(", ", f",{break_}")
    if axis.wedge:
        return f"{axis.axis} by wedges{break_}({said})"
    figure = "not known" if axis.doubted else f"{fixed(axis.figure_deg, 3)}°"
    return f"{axis.axis}'s scale {figure}{break_}({said})"


def amount(value: float, unit: str) -> str:
    """A value of a check or a mark with its unit."""
    if unit == "mm":
        return f"{mm(value)} mm"
    return f"{fixed(value, 3)}°" if unit == "deg" else f"{fixed(value, 1)} {unit}".rstrip()


def apart(value: float, limit: float, unit: str) -> tuple[str, str]:
    """A value and its limit, with as many digits as it takes to tell them apart."""
    first, second, _ = with_margin(value, limit, limit - value, unit)
    return first, second


def with_margin(value: float, limit: float, margin: float, unit: str) -> tuple[str, str, str]:
    """The same, and what lies between them with as many."""
    sign = "°" if unit == "deg" else f" {unit}".rstrip()
    digits = decimals_apart(value, limit, DECIMALS.get(unit, 1))
    first, second, third = (fixed(v, digits) + sign for v in (value, limit, margin))
    return first, second, third


def short_by(check: Check) -> str:
    """How much a check lacks, with digits that do not make nought of it."""
    return with_margin(check.value, check.limit, abs(check.margin), check.unit)[2]


def mark(name: str, value: object) -> str:
    """A layout dimension whose name ends in its unit: ``depth 4.00 mm``."""
    stem, _, unit = name.rpartition("_")
    if not isinstance(value, int | float):  # a joint type's slip; shown as it is
        return f"{name.replace('_', ' ')} {value}"
    return f"{stem.replace('_', ' ')} {amount(value, unit)}"


def check_name(name: str) -> str:
    """The name of a check, or of a dimension without its unit, in words."""
    return name.replace("_", " ")


def use(item: Use) -> str:
    """``2 × leg, near end, mirrored``."""
    hand = "" if item.hand == "as_drawn" else ", mirrored"
    return f"{item.count} × {item.member}, {item.end} end{hand}"


def wheel(turns: int, divisions: int) -> str:
    """The handwheel from zero, signed: ``7 turns 18 div``."""
    return f"{turns} turns {divisions} div"


def listed(items: Sequence[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def broken(words: str, most: int = 14) -> str:
    """Words over several lines, none much longer than ``most`` letters."""
    lines = [""]
    for word in words.split():
        if lines[-1] and len(lines[-1]) + len(word) >= most:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return "\n".join(lines)
