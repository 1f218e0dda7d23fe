"""How a bar of a piece file stands about its own length, and which side bears the face mark.

Knows entries and vectors. The two are said apart: ``faces`` only picks one of four sides.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import asin, degrees, sqrt

from jointgeo.errors import PieceError, shown
from jointgeo.geometry.vectors import Vec, X, Y, Z
from jointgeo.pieces.entries import BarEntry
from jointgeo.pieces.lines import Mate

__all__ = ["face_of", "looks"]

FLAT = 1e-9
ONE_PLANE_DEG = 1e-6  # rounding of a drawing that closes is 1e-13
_WORDS = {"front": -Y, "back": Y, "right": X, "left": -X, "up": Z, "down": -Z}


def looks(word: str, middle: Vec) -> Vec:
    """The direction of a word for a bar whose run has that middle; "out" is level, away from the
    upright middle of the piece."""
    if word in _WORDS:
        return _WORDS[word]
    out = Vec(middle.x, middle.y, 0.0)
    return out if word == "out" else -out


def face_of(entry: BarEntry, start: Vec, end: Vec, mates: Mapping[str, Mate]) -> Vec:
    """Which way the face side looks."""
    grain, middle = (end - start).unit, (start + end) / 2
    normal = _roll(entry, grain, middle, mates)
    sides = [normal, normal ^ grain, -normal, -(normal ^ grain)]
    want = looks(entry.faces or "out", middle)
    across = want.across(grain)
    if across.length <= FLAT:
        if entry.faces is None:
            return normal
        says = f"no side of it looks {entry.faces}"
        raise PieceError.of(f"bar {entry.name}.faces", says, shown(entry.faces), "another word")
    best = max(side @ across for side in sides)
    near = [side for side in sides if side @ across > best - FLAT * across.length]
    if len(near) > 1 and entry.faces is not None and entry.set is None:
        says = "two of its sides look that way alike"
        raise PieceError.of(f"bar {entry.name}.faces", says, shown(entry.faces), "another word")
    return near[0]


def _roll(entry: BarEntry, grain: Vec, middle: Vec, mates: Mapping[str, Mate]) -> Vec:
    """Out of one of its sides, unit vector."""
    said = [k for k in ("leans", "true_view", "set") if getattr(entry, k) is not None]
    if len(said) > 1:
        says = f"how it stands is said twice, by {' and by '.join(said)}"
        raise PieceError.of(f"bar {entry.name}", says, None, "one of them")
    if entry.true_view is not None:
        view = Y if entry.true_view == "front" else X
        if (view ^ grain).length <= FLAT:
            says = "the bar runs straight away from you in that view"
            other = '"side"' if entry.true_view == "front" else '"front"'
            raise PieceError.of(f"bar {entry.name}.true_view", says, entry.true_view, other)
        return (view ^ grain).unit
    if entry.set is not None:
        out = Vec(middle.x, middle.y, 0.0).across(grain)
        if out.length <= FLAT:
            says = "it stands in the middle, and has no outside"
            raise PieceError.of(f"bar {entry.name}.set", says, shown(entry.set), "true_view")
        return (out.unit + (out.unit ^ grain)) / sqrt(2.0)
    if entry.leans not in (None, "upright"):
        return _with(entry, grain, mates)
    if entry.leans is None and min(abs(grain.x), abs(grain.y), abs(grain.z)) > FLAT:
        says = "it slopes both ways, and nothing says how it stands about its own length"
        allowed = 'true_view = "front" or "side": the view in which it is drawn edge-on'
        raise PieceError.of(f"bar {entry.name}", says, None, f'{allowed}; or leans = "upright"')
    across = Z ^ grain
    return X if across.length <= FLAT else across.unit


def _with(entry: BarEntry, grain: Vec, mates: Mapping[str, Mate]) -> Vec:
    """Square to the plane of the bar and the mates that it leans with."""
    path = f"bar {entry.name}.leans"
    if entry.leans == "with mates":
        chosen = list(mates.values())
    elif entry.leans is not None and entry.leans in mates:
        chosen = [mates[entry.leans]]
    else:
        names = ", ".join(f'"{n}"' for n in mates)
        allowed = f'"upright", "with mates", or one of the bars it is joined to: {names or "none"}'
        raise PieceError.of(path, "is no bar that it is joined to", shown(entry.leans), allowed)
    normals = [grain ^ mate.way for mate in chosen]
    if not normals or min(n.length for n in normals) <= FLAT:
        raise PieceError.of(path, "they span no plane with it", shown(entry.leans), '"upright"')
    first = normals[0].unit
    # How far a mate comes out of the plane that the bar and the first of them span.
    off = max(degrees(asin(min(1.0, abs(first @ mate.way)))) for mate in chosen)
    if off > ONE_PLANE_DEG:
        names = " and ".join(m.name for m in chosen)
        says = f"{names} do not lie in one plane with it: they are {off:.3f}° apart"
        raise PieceError.of(path, says, shown(entry.leans), '"upright", or one of them by name')
    return first
