"""Values as the service's texts write them.

Knows nothing else.
"""

from __future__ import annotations

import re

__all__ = ["Scalar", "Value", "scalar_in", "text_of"]

Scalar = float | int | bool | str
Value = float | int | bool | str | None
_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?(e[+-]?[0-9]+)?")


def text_of(value: Scalar) -> str:
    """A value as it stands in a query string."""
    if isinstance(value, bool):
        return "true" if value else "false"
    # float's own repr: that of a NumPy number names its class.
    return float.__repr__(value) if isinstance(value, float) else str(value)


def scalar_in(text: str) -> Value:
    """The value that a text of an answer stands for."""
    if text.startswith("'"):  # the service's mark of a text that begins like a number
        return text[1:]
    if text in ("", "true", "false"):
        return {"": None, "true": True, "false": False}[text]
    if not _NUMBER.fullmatch(text):
        return text
    return float(text) if "." in text or "e" in text else int(text)
