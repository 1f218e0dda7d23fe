"""Elements of HTML and SVG as escaped text.

Knows the standard library only; no drawing, no joint. The trap is a name or a message
with ``<`` in it that reaches the page unescaped: here text is escaped unless it is a
``Markup``, which only these functions make. The rejected alternative, a template
language, would be a run-time dependency for one page.
"""

from __future__ import annotations

import html
from collections.abc import Iterable
from functools import lru_cache

__all__ = ["Markup", "element", "joined", "number"]

#: Elements of HTML that have no end tag.
_VOID = frozenset({"br", "col", "hr", "input", "link", "meta"})


class Markup(str):
    """Text that is already escaped."""

    __slots__ = ()


def number(value: float) -> str:
    """A number for an attribute: thousandths, no trailing zeros, never ``-0``."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def joined(parts: Iterable[str]) -> Markup:
    """Parts one after another; plain text among them is escaped."""
    return Markup("".join(p if isinstance(p, Markup) else html.escape(p) for p in parts))


def element(name: str, /, *children: str, **attributes: str | float | None) -> Markup:
    """``<name …>children</name>``.

    Attribute names: a trailing underscore is dropped (``class_``), others become hyphens
    (``stroke_width``); an attribute of None is left out.
    """
    pairs = [
        f'{_written(key)}"{html.escape(value) if isinstance(value, str) else number(value)}"'
        for key, value in attributes.items()
        if value is not None
    ]
    head = f"<{name}{''.join(pairs)}>"
    return Markup(head if name in _VOID else f"{head}{joined(children)}</{name}>")


@lru_cache(maxsize=128)
def _written(key: str) -> str:
    """An attribute's name as it stands in an element: `` stroke-width=``."""
    return f" {key.rstrip('_').replace('_', '-')}="
