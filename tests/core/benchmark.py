"""How long one joint takes, against a boolean kernel that only cuts it: run on a quiet machine.

    python -m tests.core.benchmark [--joints 60] [--rounds 5]

Prints, for each joint type that ships, milliseconds for building the joint, solving it and writing
settings and checks as plain data (setting aids apart), for its worked examples and for random
joints, most of which no fixture can cut and which therefore cost their remedies too; beside it the
time of manifold3d for the same joint: settings read from JSON, both parts cut, put together
and overlapped, in the same round. Of several rounds the least counts. Last, how long ``import
jointgeo`` takes in times of ``import numpy``, and with what solves a joint loaded too.

Nothing here is asserted: times belong to a machine. What is printed are ratios of one run.
"""

from __future__ import annotations

import argparse
import json
import math
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any

import manifold3d
import numpy as np

from jointgeo import Fixture, JointType, joint_types, load_fixture, solve
from tests.proof.random_joints import joints


def answered(cls: type[JointType], parameters: dict[str, Any], fixture: Fixture) -> dict[str, Any]:
    """From plain parameters to plain data."""
    return solve(cls.from_dict(parameters), fixture).to_dict(aids=False)


def turned(setup: dict[str, Any], x_from: str) -> np.ndarray[Any, Any]:
    """Machine from stock, (3, 3)."""
    side = setup["against_plate"]
    quarter = {"back": 0, "face_side": 2}.get(side, 3 if side == x_from else 1)
    out = np.eye(3)
    for axis, degrees in (
        (2, 90 * quarter + setup["packing_deg"]),
        (1, setup["swivel_deg"]),
        (0, -setup["tilt_deg"]),
    ):
        a = math.radians(degrees)
        i, k = (axis + 1) % 3, (axis + 2) % 3
        turn = np.eye(3)
        turn[[i, i, k, k], [i, k, i, k]] = math.cos(a), -math.sin(a), math.sin(a), math.cos(a)
        out = turn @ out
    return out


def below(turn: np.ndarray[Any, Any], left: float, right: float, top: float) -> Any:
    """Everything between two X and below a height of the machine, in the stock's frame."""
    big = 5000.0
    left, right = max(left, -big), min(right, big)
    box = manifold3d.Manifold.cube((right - left, 2 * big, top + big))
    box = box.translate((left, -big, -big))
    return box.transform(np.hstack([turn.T, np.zeros((3, 1))]))


def overlapped(text: str) -> float:
    """What both parts of a joint fill, mm³, cut from its settings as JSON."""
    settings = json.loads(text)
    poses = {p["part"]: np.array(p["pose"])[:3] for p in settings["assembly"]}
    solids = []
    for part in settings["parts"]:
        stock = part["stock"]
        size = (stock["width_mm"], stock["thickness_mm"], stock["length_mm"])
        solid = manifold3d.Manifold.cube(size)
        waste = []
        square = np.array([[x, y, 0] for x in (0, size[0]) for y in (0, size[1])], dtype=float)
        for setup in part["setups"]:
            turn = turned(setup, stock["x_from"])
            trim = float((square @ turn[2]).min()) + setup["trim_mm"]
            if not waste:
                waste.append(below(turn, -1e9, 1e9, trim))
            # The touch-off corner: where the named long edge meets the trim plane.
            edge = setup["touch_off"]["nearest_edge"]
            x = 0.0 if edge.endswith(stock["x_from"]) else size[0]
            y = 0.0 if edge.startswith("face_side") else size[1]
            z = (trim - turn[2, 0] * x - turn[2, 1] * y) / turn[2, 2]
            corner = float(turn[0] @ (x, y, z)) + setup["touch_off"]["cut_away_mm"]
            waste += [
                below(turn, corner + c["left_mm"], corner + c["right_mm"], trim + c["depth_mm"])
                for c in setup["cuts"]
            ]
        for box in part["layout"]:
            sides = np.array(box["size_mm"])
            block = manifold3d.Manifold.cube(tuple(sides)).translate(tuple(-sides / 2))
            waste.append(block.transform(np.array(box["frame"])[:3]))
        for tool in waste:
            solid = solid - tool
        solids.append(solid.transform(poses[part["part"]]))
    return float((solids[0] ^ solids[1]).volume())


def least_ms(rounds: int, *works: Callable[[], object]) -> list[float]:
    """The least time of each work over the rounds, the works taken in turn."""
    found = [math.inf] * len(works)
    for _ in range(rounds):
        for place, work in enumerate(works):
            start = time.perf_counter()
            work()
            found[place] = min(found[place], 1e3 * (time.perf_counter() - start))
    return found


def pair(joint: JointType, fixture: Fixture, rounds: int) -> list[float]:
    """Milliseconds of the library and of the kernel for one joint."""
    given, text = joint.to_dict(), json.dumps(solve(joint, fixture).settings_dict(aids=False))
    cls = type(joint)
    return least_ms(rounds, lambda: answered(cls, given, fixture), lambda: overlapped(text))


def importing(what: str, rounds: int) -> float:
    run = [sys.executable, "-c", what]
    return least_ms(rounds, lambda: subprocess.run(run, check=True))[0]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--joints", type=int, default=60, help="random joints of each type")
    parser.add_argument("--rounds", type=int, default=5, help="the least of so many rounds counts")
    asked = parser.parse_args()
    fixture = load_fixture("porch")
    print("ms a joint: library / kernel; random joints at the median, and the 95th percentile")
    for name, cls in joint_types().items():
        example = pair(cls.examples()[0], fixture, 4 * asked.rounds)
        many = [pair(j, fixture, asked.rounds) for j in joints(name, asked.joints, 5)]
        ours, kernel = (sorted(times) for times in zip(*many, strict=True))
        print(
            f"{name:20} example {example[0]:.2f} / {example[1]:.2f}   random "
            f"{statistics.median(ours):.2f} / {statistics.median(kernel):.2f}   "
            f"95 % {ours[int(0.95 * len(ours))]:.2f} / {kernel[int(0.95 * len(kernel))]:.2f}"
        )
    bare, ready, arrays = (
        importing(what, 2 * asked.rounds)
        for what in ("import jointgeo", "import jointgeo; jointgeo.solve", "import numpy")
    )
    print(
        f"import jointgeo: {bare / arrays:.2f} times import numpy; {ready / arrays:.2f} with solve"
    )


if __name__ == "__main__":
    main()
