"""Names of the stock's sides, by the marks a person puts on it.

Knows nothing else. A frame's x and y never reach a person: the same board end has x
running from its face edge or from its back edge, but face side and face edge are
marked once and hold for the whole board.
"""

from __future__ import annotations

from jointgeo.joints.drawing import XFrom

__all__ = ["clamped_sides", "edge_names", "in_words", "opposite", "other_edge"]

_OPPOSITE = {
    "face_side": "back",
    "back": "face_side",
    "face_edge": "back_edge",
    "back_edge": "face_edge",
}


def opposite(side: str) -> str:
    """The marked side across the stock from ``side``."""
    return _OPPOSITE[side]


def other_edge(x_from: XFrom) -> XFrom:
    """``x_from`` of the board's other end, and of its mirror image."""
    return "back_edge" if x_from == "face_edge" else "face_edge"


def clamped_sides(side: int, x_from: XFrom) -> dict[str, str]:
    """Which marked side faces "plate", "you", "left" and "right" when n = ``side``.

    n = 1 turns x towards Y, so the edge at x = width lies on the plate and the back
    comes to the left.
    """
    at_zero, at_width = x_from, opposite(x_from)
    plate = ("back", at_width, "face_side", at_zero)[side % 4]
    left = (at_zero, "back", at_width, "face_side")[side % 4]
    return {"plate": plate, "you": opposite(plate), "left": left, "right": opposite(left)}


def edge_names(x_from: XFrom) -> tuple[str, str, str, str]:
    """The four long edges in the order of ``blank.section``."""
    at_zero, at_width = x_from, opposite(x_from)
    return (
        f"face_side_{at_zero}",
        f"face_side_{at_width}",
        f"back_{at_width}",
        f"back_{at_zero}",
    )


def in_words(name: str) -> str:
    """A marked side in words, or a long edge by the two sides that meet in it: ``back_edge`` is
    "back edge", ``back_face_edge`` is "back / face edge"."""
    for long in ("face_side", "back_edge", "face_edge"):
        name = name.replace(long, long.replace("_", " "))
    return name.replace("_", " / ")
