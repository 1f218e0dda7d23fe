"""Ends of many pieces gathered by operation, in the order to cut them.

Knows solved ends and their JSON; no job and no piece.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

import attrs

from jointgeo.errors import PluginError
from jointgeo.solution.end import EndSolution
from jointgeo.solution.serialise import end_settings

__all__ = ["by_operation"]


def by_operation(ends: Iterable[EndSolution]) -> tuple[EndSolution, ...]:
    """Each operation once, with all its uses; in an order that sets each axis once where it can."""
    return tuple(sorted(_grouped(ends), key=_order))


def _key(end: EndSolution) -> str:
    """Equal for ends that are cut alike, to a millionth of a millimetre or degree."""
    data = end_settings(end, aids=False)
    del data["part"]
    for setup in data["setups"]:
        # Cut alike is cut alike, whoever chose it.
        for key in ("for", "candidates", "chosen_because", "by_hand"):
            del setup[key]
    return json.dumps(_rounded(data), sort_keys=True)


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 6) + 0.0
    if isinstance(value, dict):
        return {k: _rounded(v) for k, v in value.items()}
    return [_rounded(v) for v in value] if isinstance(value, list) else value


def _grouped(ends: Iterable[EndSolution]) -> list[EndSolution]:
    groups: dict[str, EndSolution] = {}
    for end in ends:
        key = _key(end)
        known = groups.get(key)
        if known is None:
            groups[key] = end
            continue
        # Cut with an end that another bar comes to, a plain one is held to the same accuracy.
        stricter = known if known.part.meets or not end.part.meets else end
        groups[key] = attrs.evolve(stricter, uses=known.uses + end.uses)
    return list(groups.values())


def _order(end: EndSolution) -> tuple[float, ...]:
    """Each axis set once: by tilt, then swivel, of the first setup."""
    if not end.plan.setups:
        raise PluginError("a part without setups was solved as a cut end")
    first = end.plan.setups[0].chosen
    return (round(first.tilt_deg, 6), round(first.swivel_deg, 6), float(first.side))
