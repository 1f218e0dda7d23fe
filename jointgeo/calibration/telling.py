"""What test cuts taught, in lines a person reads.

Knows what calibration found; computes nothing but rounding.
"""

from __future__ import annotations

from collections.abc import Iterator

from jointgeo.calibration.calibrate import Calibrated, CalibratedAt, CalibratedValue
from jointgeo.fixtures.estimate import COVERAGE
from jointgeo.fixtures.testcuts import short_name

__all__ = ["calibration_lines"]

MEANS = (
    "± holds in 95 of 100 shops. The first says how well the error itself is known, the second "
    "how near a cut comes that is set anew"
)


def calibration_lines(found: Calibrated) -> Iterator[str]:
    """Each unknown with its wanted values, what is open, what one more cut would bring."""
    yield from found.taken.notes
    if found.values:
        yield MEANS
    for value in found.values:
        yield from _value(value)
    if found.next is not None:
        yield found.next.says


def _value(value: CalibratedValue) -> Iterator[str]:
    out = f", {value.left_out} left out" if value.left_out else ""
    yield f"{value.name}, from {_cuts(value.cuts)}{out}:"
    for at in value.at:
        yield f"  {_at(value, at)}"
    for finding in value.findings:
        yield f"  {'OPEN' if finding.open else 'note'}: {finding.says}"
    yield from _outlook(value)


def _at(value: CalibratedValue, at: CalibratedAt) -> str:
    known = at.known
    if value.unit != "deg":
        places = 3 if value.unit == "mm" else 5
        unit = " mm" if value.unit == "mm" else ""
        numbers = [f"{v:.{places}f}" for v in (known.mean, known.later, at.needed)]
        return (
            f"{known.off:+.{places}f}{unit} ± {numbers[0]}; a later cut ± {numbers[1]}, needed "
            f"± {numbers[2]}: {_verdict(value, at)}"
        )
    words = (
        f"at {at.wanted:g}°: {known.off:+.3f}° ± {known.mean:.3f}°; a cut set anew "
        f"± {known.later:.3f}°, needed ± {at.needed:.3f}°: {_verdict(value, at)}"
    )
    if not at.in_range:
        words += f"; its scale cannot show {at.scale:.3f}°, which that angle takes"
    else:
        words += f"; set the scale to {at.scale:.2f}°"
    if at.untested:
        words += "; nothing was cut within 2° of it, and most of this is the scale's gain"
    elif known.later > at.before.later:
        words += (
            f" (± {at.before.later:.3f}° before took the file's word, this comes from the cuts)"
        )
    return words


def _verdict(value: CalibratedValue, at: CalibratedAt) -> str:
    if at.enough:
        return "good enough"
    return "NOT good enough, see what is open" if value.open else "NOT good enough yet"


def _outlook(value: CalibratedValue) -> Iterator[str]:
    if value.unit == "deg" and value.untouched is not None and not value.open:
        name, u = value.untouched
        yield (
            f"  if nobody has touched the {value.name} since {short_name(name)}, that setting is "
            f"known to ± {u:.3f}°: cut while it stands"
        )
    if value.enough or value.open:
        return
    if value.hopeless:
        yield (
            f"  no number of cuts is enough: its settings repeat to {value.error.repeats:.3f} only"
            + ("; use a stop or spacer, or a setting that stands" if value.unit == "deg" else "")
        )
    elif value.more_cuts is not None:
        where = "at that angle" if len(value.at) == 1 else "at these angles"
        where = f" {where}" if value.unit == "deg" else ""
        yield f"  {_cuts(value.more_cuts)} more{where} should be enough"
    elif value.unit == "deg" and COVERAGE * value.error.repeats < min(a.needed for a in value.at):
        yield "  cuts of this axis alone will not do: the other takes too much of the glue line"
    else:
        yield "  more than 20 cuts would be needed: set it some better way"


def _cuts(number: int) -> str:
    return f"{number} cut" + ("" if number == 1 else "s")
