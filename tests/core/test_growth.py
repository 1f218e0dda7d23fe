"""No more than twice the work for twice as much: fingers, passes, bodies, beams, items, joints.

Work is counted, not timed: the steps of the interpreter's own machine (``f_trace_opcodes``), which
are the same on every run and every machine, however busy. What a step does inside is not seen, so
this finds a loop within a loop and not a slow library. Of a + b·nᵏ steps the second doubling adds
2ᵏ times what the first one added, whatever a and b are: that k is held.
What is bounded and not linear, beams times bodies together and measured settings, is the service's
to refuse (``tests/service/test_budgets.py``).
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

import attrs
import pytest

from jointgeo import joint_types, load_fixture, solve
from jointgeo.fixtures.file import read_fixture
from jointgeo.fixtures.model import Fixture
from jointgeo.jobs.file import load_job
from jointgeo.jobs.report import job_text
from jointgeo.jobs.solve import solve_job
from jointgeo.proof.fit import dry_fit
from jointgeo.schema.fields import describe
from jointgeo_service.batches import answers
from jointgeo_service.fixtures import Fixtures
from jointgeo_service.plugins import Catalogue
from jointgeo_service.questions import Questions

from .samples import BEAM, FIXTURE

#: Sorting has a factor that grows with the logarithm, and small tables grow in jumps. A loop
#: within a loop has 2.
MOST = 1.3
PORCH = load_fixture("porch")
EXAMPLES = {
    cls.examples()[0]: any(i.kind == "integer" for i in describe(cls))
    for cls in joint_types().values()
}
#: One with fingers, or whatever else a joint may have many of; and one with nothing to count that
#: is cut in one clamping.
BOX = next(example for example, many in EXAMPLES.items() if many)
BRIDLE = next(
    example
    for example, many in EXAMPLES.items()
    if not many and [bool(s.cuts) for s in solve(example, PORCH).setups] == [True]
)


def steps(run: Callable[[], object]) -> int:
    """How many steps the interpreter takes for it, the second time it runs."""
    count = 0

    def trace(frame: FrameType, event: str, _: Any) -> Any:
        nonlocal count
        frame.f_trace_opcodes, frame.f_trace_lines = True, False
        count += event == "opcode"
        return trace

    run()  # what is loaded and kept is loaded and kept now
    before = sys.gettrace()
    sys.settrace(trace)
    try:
        run()
    finally:
        sys.settrace(before)
    return count


def exponent(made: Callable[[int], Callable[[], object]], least: int) -> float:
    first, second, third = (steps(made(n * least)) for n in (1, 2, 4))
    assert first < second < third, "there is more to do for more"
    return math.log2((third - second) / (second - first))


def answered(joint: Any, fixture: Fixture) -> Callable[[], object]:
    return lambda: solve(joint, fixture).to_dict()


def fingers(count: int) -> Any:
    return attrs.evolve(BOX, board_width_mm=12.0 * count, finger_count=count, finger_width_mm=0.0)


def thin(count: int) -> Fixture:
    """A fixture whose narrow cutter makes so many passes where one of 40 mm makes one."""
    cutter = {**FIXTURE["cutter"][0], "kerf_mm": 40 / count}
    return read_fixture({**FIXTURE, "cutter": [cutter], "practice": {"overlap_mm": 0.001}})


def crowded(beams: int, bodies: int) -> Fixture:
    """Beams that foul, and bodies that swing along just behind them, each of its own place."""
    listed = []
    for i in range(bodies):
        low = {"x_min_mm": -300 + 7 * (i % 80), "y_min_mm": -100 + i % 13, "z_min_mm": 3 * i % 400}
        high = {k.replace("min", "max"): v + 30 for k, v in low.items()}
        listed.append({"name": f"body {i}", "fixed_to": ("tilt", "fence")[i % 2], **low, **high})
    fouls = {"face_distance_mm": 101, "z_min_mm": -400, "z_max_mm": 300}
    named = [{**BEAM, **fouls, "name": f"beam {i}", "caution": f"{i}"} for i in range(beams)]
    return read_fixture({**FIXTURE, "front_beam": named, "body": listed})


def cutters(count: int) -> dict[str, Any]:
    own = FIXTURE["cutter"][0]
    listed = [{**own, "name": f"disc {i}", "kerf_mm": 6 + i / 1000} for i in range(count)]
    return {**FIXTURE, "cutter": listed}


def job(tmp_path: Path, count: int) -> Callable[[], object]:
    """A job of so many bridles, each cut on a leg of its own, read, solved and told."""
    part = BRIDLE.drawing.bars[0].name
    sizes = "\n".join(f"{k} = {v}" for k, v in (BRIDLE.to_dict()).items() if not isinstance(v, str))
    lines = ['title = "Many"', 'fixture = "porch"']
    for i in range(count):
        lines += [f'[[joint]]\nname = "joint {i}"\ntype = "{BRIDLE.name}"', "[joint.parameters]"]
        lines.append(sizes.replace("fit_mm = 0.0", f"fit_mm = {i / 1000}"))
    for i in range(count):
        lines += [
            f'[[member]]\nname = "leg {i}"',
            f'near = {{ cut = "joint", joint = "joint {i}", part = "{part}" }}',
        ]
    path = tmp_path / f"job-{count}.toml"
    path.write_text("\n".join(lines))
    return lambda: job_text(solve_job(load_job(str(path))))


def fitted(count: int) -> Callable[[], object]:
    found = solve(fingers(count), PORCH).settings_dict(aids=False)
    return lambda: dry_fit(found)


#: What makes the work for an amount, and the least of three amounts, each twice the one before.
CASES: dict[str, tuple[Callable[[int], Callable[[], object]], int]] = {
    "fingers": (lambda n: answered(fingers(n), PORCH), 24),
    "fingers, dry fit": (fitted, 12),
    "passes": (lambda n: answered(BRIDLE, thin(n)), 50),
    "beams that foul": (lambda n: answered(BRIDLE, crowded(n, 4)), 10),
    "bodies at a beam": (lambda n: answered(BRIDLE, crowded(1, n)), 40),
    "cutters": (lambda n: answered(BRIDLE, read_fixture(cutters(n))), 100),
    "cutters, read": (lambda n: lambda: read_fixture(cutters(n)), 100),
    "beams and bodies, read": (lambda n: lambda: crowded(n, n), 50),
}


@pytest.mark.parametrize("case", CASES)
def test_twice_as_much_is_twice_the_work(case: str) -> None:
    assert exponent(*CASES[case]) < MOST


def test_joints_of_a_job(tmp_path: Path) -> None:
    assert exponent(lambda n: job(tmp_path, n), 3) < MOST


def test_items_of_a_batch() -> None:
    questions = Questions(Catalogue.of({BRIDLE.name: type(BRIDLE)}), Fixtures())
    own = {"joint_type": BRIDLE.name, "want": "both", "fixture": FIXTURE}
    item = {**own, "joint": BRIDLE.to_dict()}
    assert exponent(lambda n: lambda: list(answers(questions, [item] * n)), 4) < MOST


def test_a_loop_within_a_loop_would_be_seen() -> None:
    def square(count: int) -> Callable[[], object]:
        return lambda: [i * j for i in range(count) for j in range(count)]

    assert exponent(square, 20) == pytest.approx(2.0, abs=0.05)  # n more for the outer loop
