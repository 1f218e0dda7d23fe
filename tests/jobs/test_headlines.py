"""What stands above an operation that is not to be cut, and a check that is short by little."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from jointgeo.jobs.report import Writer, check_lines, warning
from jointgeo.joints.check import Check, at_least, at_most

TILT = at_most("tilt_range", 30.381, 24.0, "deg", "")  # by a fifth of 30.381°
BEAM = at_least("front_beam", -34.64, 0.0, "mm", "")  # by all of 34.64 mm
APART = at_least("bars_apart", -0.35, 0.0, "mm", "")
CLOSE = at_most("joint_closes", 0.152, 0.15, "mm", "because", short="caution")


@pytest.mark.parametrize(
    ("own", "others", "named"),
    [
        ((TILT, BEAM, CLOSE), (APART,), "front_beam is short by 34.64 mm"),
        ((TILT,), (APART, BEAM), "tilt_range is short by 6.381°"),
        ((CLOSE,), (APART,), "bars_apart is short by 0.35 mm"),
        ((), (at_most("depth", 2.0004, 2.0, "mm", ""),), "depth is short by 0.0004 mm"),
    ],
)
def test_the_operations_own_worst_comes_first(
    own: tuple[Check, ...], others: tuple[Check, ...], named: str
) -> None:
    end = SimpleNamespace(checks=own)
    found = list(warning(Writer(inches=False), "this", end, others))  # type: ignore[arg-type]
    assert found == [f"DO NOT CUT: this is not feasible; {named}"]


def test_nothing_stands_above_what_fails_nothing() -> None:
    end = SimpleNamespace(checks=(CLOSE,))
    assert not list(warning(Writer(inches=False), "this", end, ()))  # type: ignore[arg-type]


def test_a_value_and_its_limit_print_otherwise() -> None:
    (line,) = check_lines(Writer(inches=False), (CLOSE,))
    assert line.endswith("0.152 mm, limit 0.150 mm, margin -0.002 mm; because")
