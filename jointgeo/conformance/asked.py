"""What a check of parameters asks of the type on the bench, be it of joints or of pieces.

Knows fields; no joint type and no piece type.
"""

from __future__ import annotations

from typing import Any, ClassVar, Protocol

from jointgeo.schema.fields import FieldInfo

__all__ = ["Asked"]


class Asked(Protocol):
    """cls: the class, with ``from_dict`` and ``to_dict``. noun: what it makes, plural. examples:
    its worked examples; cases: those and some near them."""

    noun: ClassVar[str]

    @property
    def cls(self) -> Any: ...

    @property
    def fields(self) -> tuple[FieldInfo, ...]: ...

    @property
    def examples(self) -> tuple[Any, ...]: ...

    @property
    def cases(self) -> tuple[Any, ...]: ...
