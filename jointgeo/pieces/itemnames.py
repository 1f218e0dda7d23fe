"""What a message about a piece file calls the items of its lists: by name, as the person does.

Knows the file's tables as they were read; places nothing.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import attrs

from jointgeo.errors import Problem, one_line

__all__ = ["by_name"]

_LISTED = re.compile(r"(bar|board|joint|fall)\[(\d+)\]")


def by_name(problem: Problem, data: Mapping[str, Any]) -> Problem:
    """The same with ``bar leg`` for ``bar[0]``; by its number from 1 where no name tells it."""
    found = _LISTED.match(problem.field)
    if found is None:
        return problem
    what, index, rest = found[1], int(found[2]), problem.field[found.end() :]
    names = [t.get("name") if isinstance(t, Mapping) else None for t in data.get(what, ())]
    name = names[index] if index < len(names) else None
    told = isinstance(name, str) and name and names.count(name) == 1 and rest != ".name"
    label = one_line(str(name)) if told else str(index + 1)
    return attrs.evolve(problem, field=f"{what} {label}{rest}")
