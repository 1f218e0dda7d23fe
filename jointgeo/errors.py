"""What can go wrong, and whose fault it is.

Knows nothing of the rest of the library. Two families only:

* ``InputError`` and its kinds: the caller gave something that cannot be used.
  It carries one ``Problem`` for each field at fault, so that a person mends a
  file once and not once for each mistake.
* ``PluginError``: a joint type broke its contract. The caller can do nothing
  about it, so the message names the distribution whose author can.

An infeasible joint is neither: it is an answer, see ``jointgeo.solution.feasibility``.
"""

from __future__ import annotations

from typing import Any, Self

import attrs

__all__ = [
    "FixtureError",
    "InputError",
    "JobError",
    "JointgeoError",
    "MissingExtraError",
    "PieceError",
    "PluginError",
    "Problem",
    "UnknownNameError",
]


def shown(value: object, most: int = 60) -> str:
    """A caller's value as it may stand in a message: short, on one line, and safe to print."""
    try:
        text = repr(value)
    except (ValueError, RecursionError):  # an integer too long to print, a list inside itself
        text = f"a {type(value).__name__} that cannot be printed"
    return text if len(text) <= most else text[: most - 1] + "…"


@attrs.frozen
class Problem:
    """One field at fault.

    field: dotted path to the field as the caller wrote it, e.g. ``joint.rail_width_mm``.
    message: one sentence for a person.
    given: what was given, shortened; None where nothing was.
    allowed: what would be accepted.
    unit: the unit of the allowed values; "" where there is none.
    """

    field: str
    message: str
    given: str | None = None
    allowed: str = ""
    unit: str = ""

    def as_dict(self) -> dict[str, Any]:
        return {k: v for k, v in attrs.asdict(self).items() if v not in (None, "")}

    def __str__(self) -> str:
        tail = ""
        if self.given is not None:
            tail += f"; given {self.given}"
        if self.allowed:
            tail += f"; allowed: {self.allowed}"
        return f"{self.field}: {self.message}{tail}" if self.field else self.message + tail


def one_line(text: str, most: int = 60) -> str:
    """A caller's name for something, as it may stand in a path: short and on one line."""
    safe = text if text.isprintable() else repr(text)
    return safe if len(safe) <= most else safe[: most - 1] + "…"


class JointgeoError(Exception):
    """Every error that jointgeo raises on purpose."""


class InputError(JointgeoError):
    """The caller's fault. ``problems`` names each field; ``source`` is a file's name or ""."""

    def __init__(self, *problems: Problem, source: str = "") -> None:
        self.problems = problems
        self.source = source
        super().__init__(str(self))

    def __str__(self) -> str:
        head = f"{self.source}: " if self.source else ""
        return "\n".join(head + str(problem) for problem in self.problems)

    @classmethod
    def of(
        cls, field: str, message: str, given: object = None, allowed: str = "", unit: str = ""
    ) -> Self:
        """One problem's error; numbers given are shown as a person would write them."""
        number = isinstance(given, float | int) and not isinstance(given, bool)
        text = None if given is None else f"{given:g}" if number else str(given)
        return cls(Problem(field, message, text, allowed, unit))

    def under(self, prefix: str, source: str = "") -> InputError:
        """The same error with every path put below ``prefix``."""
        moved = tuple(
            attrs.evolve(p, field=f"{prefix}.{p.field}" if p.field else prefix)
            for p in self.problems
        )
        return type(self)(*moved, source=source or self.source)


class FixtureError(InputError):
    """A fixture description that cannot be used."""


class JobError(InputError):
    """A job file that cannot be used."""


class PieceError(InputError):
    """A piece file that cannot be used."""


class UnknownNameError(InputError):
    """A joint type, fixture or demo file of that name does not exist."""


def how_to_install(extra: str) -> str:
    """How a part that is not installed comes in. From the project's own folder: no package index
    is named, where somebody else's package could have this name."""
    return f"in the folder of jointgeo: python -m pip install '.[{extra}]'"


class MissingExtraError(JointgeoError):
    """A part of the product is not installed; the message says how to install it."""

    @classmethod
    def of(cls, what: str, needs: str, extra: str) -> MissingExtraError:
        """``what`` cannot be had without the library ``needs``, which comes with ``extra``."""
        return cls(f"{what} needs {needs}, which is missing; {how_to_install(extra)}")


class PluginError(JointgeoError):
    """A plug-in broke its contract. The caller can do nothing about it; its author can.

    joint_type, distribution (name and version) and where (file:line) are "" until whoever ran the
    type's code knows them; ``named`` gives the same error with them. kind: what joint_type names.
    """

    def __init__(
        self,
        reason: str = "",
        joint_type: str = "",
        distribution: str = "",
        where: str = "",
        kind: str = "joint type",
    ) -> None:
        self.reason = reason
        self.joint_type = joint_type
        self.distribution = distribution
        self.where = where
        self.kind = kind
        super().__init__(str(self))

    def __str__(self) -> str:
        if not self.joint_type:
            return self.reason
        place = f" ({self.where})" if self.where else ""
        whose = f"The {self.kind} {self.joint_type} from {self.distribution}"
        return f"{whose} failed: {self.reason}{place}"

    def named(
        self, joint_type: str, distribution: str, where: str = "", kind: str = "joint type"
    ) -> PluginError:
        """This error with what it lacks; what it knows already stands."""
        if self.joint_type:
            return self
        return PluginError(self.reason, joint_type, distribution, self.where or where, kind)
