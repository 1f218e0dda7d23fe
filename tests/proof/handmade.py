"""Settings written by hand, for joints simple enough to work out on paper.

Nothing here comes from the library: the dry fit itself is what is being checked. World
and stock frames are chosen so that every number can be read off a sketch.
"""

from __future__ import annotations

import copy
import itertools
from typing import Any

import numpy as np

Settings = dict[str, Any]


def part(
    name: str,
    size: tuple[float, float, float],
    setups: list[Settings] | None = None,
    layout: list[Settings] | None = None,
    x_from: str = "face_edge",
) -> Settings:
    """size: width, thickness, length of the blank."""
    stock = dict(zip(("width_mm", "thickness_mm", "length_mm"), size, strict=True))
    return {
        "part": name,
        "stock": stock | {"x_from": x_from},
        "layout": layout or [],
        "setups": setups or [],
    }


def setup(cuts: list[Settings], **other: Any) -> Settings:
    plain = {
        "against_plate": "back",
        "swivel_deg": 0.0,
        "tilt_deg": 0.0,
        "packing_deg": 0.0,
        "trim_mm": 1.0,
        "kerf_mm": 4.0,
        "cuts": cuts,
    }
    return plain | other


def cut(left: float, right: float, depth: float, kerf: float = 4.0) -> Settings:
    """Passes from the left face to the right one, overlapping by 1 mm and more."""
    count = max(1, int(np.ceil((right - left - kerf) / (kerf - 1.0))) + 1)
    travels = np.linspace(left + kerf, right, count) if count > 1 else [right]
    passes = [{"travel_mm": float(t)} for t in travels]
    return {"left_mm": left, "right_mm": right, "depth_mm": depth, "passes": passes}


def box(name: str, low: tuple[float, ...], high: tuple[float, ...]) -> Settings:
    """A box between two corners, as a frame at its middle and its size."""
    frame = np.eye(4)
    frame[:3, 3] = (np.array(low) + high) / 2
    return {"name": name, "frame": frame.tolist(), "size_mm": np.subtract(high, low).tolist()}


def placed(name: str, columns: np.ndarray | list[list[float]], at: tuple[float, ...]) -> Settings:
    """columns: where the stock's x, y and z point in the world, one row each."""
    pose = np.eye(4)
    pose[:3, :3] = np.transpose(columns)
    pose[:3, 3] = at
    return {"part": name, "pose": pose.tolist()}


def bar(name: str, size: tuple[float, ...], columns: Any, at: tuple[float, ...]) -> Settings:
    """size: width, thickness, length from the datum; placed as in ``placed``."""
    pose = placed(name, columns, at)["pose"]
    return {"name": name, "size_mm": list(map(float, size)), "pose": pose}


def notch(
    name: str,
    of: str,
    end: tuple[tuple[float, ...], float],
    across: tuple[float, ...],
    channels: list[tuple[float | None, float | None, float]],
    gap: float = 0.0,
) -> Settings:
    """end: the plane's normal out of the wood, and where it lies along it."""
    low_high_depth = ("low_mm", "high_mm", "depth_mm")
    return {
        "name": name,
        "bar": of,
        "end": {"normal": list(end[0]), "at_mm": end[1]},
        "across": list(across),
        "channels": [dict(zip(low_high_depth, c, strict=True)) | {"gap_mm": gap} for c in channels],
    }


NOTHING: Settings = {"bars": [], "notches": [], "pockets": [], "empty": [], "slides": {}}


def alone(piece: Settings) -> Settings:
    """One part, whatever it should fit."""
    return {"parts": [piece], "assembly": [], "drawing": NOTHING}


def drawing(
    bars: list[Settings],
    notches: list[Settings],
    slides: dict[str, tuple[float, ...]],
    pockets: list[Settings] | None = None,
    empty: list[Settings] | None = None,
) -> Settings:
    return {
        "bars": bars,
        "notches": notches,
        "pockets": pockets or [],
        "empty": empty or [],
        "slides": {name: list(way) for name, way in slides.items()},
    }


SIZE = (40.0, 50.0, 200.0)  # of the post


def square_tenon() -> Settings:
    """A rail 60 × 20 with a tenon 40 × 10 × 25, 1 mm of trim; a post with a mortise 27 deep.

    World: the rail's own frame with the shoulder at z = 0. The rail's length from the
    shoulder is 200; its blank is 1 + 25 + 200.
    """
    # Second setup: the edge at x = 60 on the plate turns x away from you, so the back is
    # on the left and cuts are counted from y = 20 downwards.
    rail = part(
        "rail",
        (60, 20, 226),
        [
            setup([cut(-1, 10, 25), cut(50, 61, 25)]),
            setup([cut(-1, 5, 25), cut(15, 21, 25)], against_plate="back_edge"),
        ],
    )
    # The post: x across the tenon's thickness, y the way the tenon goes in, z along its width.
    mortise = box("mortise", (15, -1, 80), (25, 27, 120))
    post = part("post", SIZE, layout=[mortise])
    # Stock x, y, z of the post in the world: world y, world -z, world -x.
    turned = [[0, 1, 0], [0, 0, -1], [-1, 0, 0]]
    post_at = (130, -10, 0)
    end = ((0, 0, -1), 25.0)
    # Mortise and glue room in the world: x along the post, y across it, z out of it.
    taken = box("mortise", (10, 5, -27), (50, 15, 1)) | {"bar": "post", "side": "face_side"}
    return {
        "joint_type": "by hand",
        "fixture": "none",
        "parts": [rail, post],
        "assembly": [
            placed("rail", np.eye(3), (0, 0, -26)),
            placed("post", turned, post_at),
        ],
        "drawing": drawing(
            [bar("rail", (60, 20, 200), np.eye(3), (0, 0, 0)), bar("post", SIZE, turned, post_at)],
            [
                notch("edges", "rail", end, (1, 0, 0), [(None, 10, 25), (50, None, 25)]),
                notch("cheeks", "rail", end, (0, 1, 0), [(None, 5, 25), (15, None, 25)]),
            ],
            {"rail": (0, 0, 1)},
            [taken],
            [box("glue room", (10, 5, -27), (50, 15, -25))],
        ),
    }


def square_bridle() -> Settings:
    """A leg 60 × 40 with a slot 20 × 50 straddling a rail 50 deep, 20 thick and 300 long.

    World: the rail's own frame: x down, y across, z along.
    """
    leg = part("leg", (60, 40, 401), [setup([cut(20, 40, 50)])])
    rail = part("rail", (50, 20, 300))
    # Stock x of the leg along world y, its y along world z, its z down along world x.
    turned = [[0, 1, 0], [0, 0, 1], [1, 0, 0]]
    return {
        "parts": [leg, rail],
        "assembly": [
            placed("rail", np.eye(3), (0, 0, 0)),
            placed("leg", turned, (-1, -20, 130)),
        ],
        "drawing": drawing(
            [
                bar("leg", (60, 40, 400), turned, (0, -20, 130)),
                bar("rail", (50, 20, 300), np.eye(3), (0, 0, 0)),
            ],
            [notch("slot", "leg", ((-1, 0, 0), 0.0), (0, 1, 0), [(0, 20, 50)])],
            {"leg": (1, 0, 0)},
        ),
    }


def square_fingers() -> Settings:
    """Two boards 90 wide, a 12 and b 10 thick, three fingers of 30; a has the outer two.

    World: board a's own frame, z = 0 at its finger ends. b lies square to it, its outside in
    the plane z = 0, its finger end in the plane y = 0.
    """
    a = part("a", (90, 12, 201), [setup([cut(30, 60, 10)])])
    b = part("b", (90, 10, 151), [setup([cut(-1, 30, 12), cut(60, 91, 12)])], x_from="back_edge")
    # Stock x of b against world x, its thickness along world z, its length along world y.
    turned = [[-1, 0, 0], [0, 0, 1], [0, 1, 0]]
    return {
        "parts": [a, b],
        "assembly": [
            placed("a", np.eye(3), (0, 0, -1)),
            placed("b", turned, (90, -1, 0)),
        ],
        "drawing": drawing(
            [
                bar("a", (90, 12, 200), np.eye(3), (0, 0, 0)),
                bar("b", (90, 10, 150), turned, (90, 0, 0)),
            ],
            [
                notch("fingers", "a", ((0, 0, -1), 0.0), (1, 0, 0), [(30, 60, 10)]),
                notch(
                    "fingers", "b", ((0, -1, 0), 0.0), (1, 0, 0), [(None, 30, 12), (60, None, 12)]
                ),
            ],
            {"a": (0, 0, 1), "b": (0, 1, 0)},
        ),
    }


def altered(settings: Settings, path: str, value: Any) -> Settings:
    """A copy with the value at a path such as ``parts[0].setups[1].tilt_deg`` replaced."""
    out: Any = copy.deepcopy(settings)
    steps = list(keys(path))
    here = out
    for step in steps[:-1]:
        here = here[step]
    here[steps[-1]] = value
    return out


def keys(path: str) -> itertools.chain[Any]:
    """The names and indices of a path."""

    def split(step: str) -> list[Any]:
        name, *indices = step.replace("]", "").split("[")
        return [name, *map(int, indices)]

    return itertools.chain.from_iterable(map(split, path.split(".")))
