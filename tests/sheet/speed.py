"""How long a joint's page takes, and how that grows with the fingers of a box; run by hand.

    .venv-test/bin/python -m tests.sheet.speed

Times are of the processor and the least of several rounds, beside a plain loop of 200,000 sines in
the same run, since machines differ. The dry fit is worked out before: it is kept.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable

import attrs

import jointgeo
from jointgeo.sheet import Book, page, sheet_of_joint

__all__ = ["box", "least_ms", "yardstick"]


def least_ms(work: Callable[[], object], rounds: int = 5) -> float:
    """Processor time of the quickest of several rounds, ms."""
    found = math.inf
    for _ in range(rounds):
        start = time.process_time()
        work()
        found = min(found, time.process_time() - start)
    return 1e3 * found


def yardstick() -> float:
    """A plain loop."""
    return sum(math.sin(i) * i for i in range(200_000))


def box(fingers: int) -> jointgeo.JointType:
    """A corner whose fingers are 8 mm wide."""
    first = jointgeo.joint_type("angled_box_joint").examples()[0]
    return attrs.evolve(first, finger_count=fingers, fit_mm=0.0, board_width_mm=8.0 * fingers)


def _page_ms(joint: jointgeo.JointType, rounds: int) -> float:
    fixture = jointgeo.load_fixture("porch")
    page(sheet_of_joint(joint, fixture), Book())
    # A new one each time, so that nothing of it is known but its dry fit.
    return least_ms(lambda: page(sheet_of_joint(attrs.evolve(joint), fixture), Book()), rounds)


def main() -> None:
    plain = least_ms(yardstick)
    print(f"plain loop {plain:.0f} ms")
    for name in jointgeo.joint_types():
        took = _page_ms(jointgeo.joint_type(name).examples()[0], 5)
        print(f"{name} {took:.0f} ms, {took / plain:.1f} of the loop")
    for count in (12, 24, 48, 96):
        took = _page_ms(box(count), 2)
        print(f"box of {count} fingers {took:.0f} ms, {took / plain:.1f} of the loop")


if __name__ == "__main__":
    main()
