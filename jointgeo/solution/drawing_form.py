"""A drawing as plain data: ``drawing`` of the JSON contract.

Knows drawings; computes nothing. Everything is in the joint's world, in millimetres, planes and
directions as unit vectors; a channel that runs out of the wood has null for that bound. A bar's
pose is world from stock with z = 0 at its length datum, as it was drawn; the assembly's poses
have z = 0 at the blank's square end.
"""

from __future__ import annotations

from typing import Any

from jointgeo.geometry.vectors import INF
from jointgeo.joints.drawing import Bar, Block, Channel, Drawing, Notch, Pocket

__all__ = ["drawing_form"]


def drawing_form(drawing: Drawing) -> dict[str, Any]:
    """Bars, notches, pockets, space left empty, and the ways the bars come apart."""
    return {
        "bars": [_bar(b) for b in drawing.bars],
        "notches": [_notch(n) for n in drawing.notches],
        "pockets": [_pocket(p) for p in drawing.pockets],
        "empty": [_block(b) for b in drawing.empty],
        "slides": {name: list(way) for name, way in drawing.slides.items()},
    }


def _bar(bar: Bar) -> dict[str, Any]:
    return {
        "name": bar.name,
        "size_mm": [bar.width, bar.thickness, bar.length],
        "pose": [list(row) for row in bar.pose],
    }


def _notch(notch: Notch) -> dict[str, Any]:
    return {
        "name": notch.name,
        "bar": notch.bar,
        "end": {"normal": list(notch.end.normal), "at_mm": notch.end.at},
        "across": list(notch.across),
        "channels": [_channel(c, notch.gap) for c in notch.channels],
    }


def _channel(channel: Channel, gap: float) -> dict[str, Any]:
    return {
        "low_mm": None if channel.low == -INF else channel.low,
        "high_mm": None if channel.high == INF else channel.high,
        "depth_mm": channel.depth,
        "gap_mm": gap if channel.gap is None else channel.gap,
    }


def _pocket(pocket: Pocket) -> dict[str, Any]:
    return {"bar": pocket.bar, "side": pocket.side, **_block(pocket.block, pocket.name)}


def _block(block: Block, name: str = "") -> dict[str, Any]:
    x, y, z = block.axes
    rows = [list(row) for row in zip(x, y, z, block.middle, strict=True)]
    return {
        "name": name or block.name,
        "frame": [*rows, [0.0, 0.0, 0.0, 1.0]],
        "size_mm": list(block.size),
    }
