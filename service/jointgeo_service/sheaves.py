"""A sheaf of settings written as JSON, row by row.

Knows ``jointgeo.columns`` and orjson; knows no joint type and no HTTP.

Theory. All rows of a sheaf share their structure. So what they share is written once, with a
place for each number or text that differs; each column is written once, all rows of it
together; and a row is the shared text with its own values between.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import repeat
from typing import Any

import numpy as np
import orjson

from jointgeo.columns import Column, Each, Ranked, Texts

__all__ = ["written"]


class _Template:
    """What all rows share, and what differs, in the order it comes."""

    def __init__(self, texts: Texts) -> None:
        self.texts = texts
        #: Shared text up to the next place, the values for that place, and so on.
        self.pieces: list[bytes | list[bytes]] = []
        self.shared = bytearray()
        #: A column stands in many places, a normal at every finger: it is written once.
        self.known: dict[int, list[bytes]] = {}

    def put(self, value: Any) -> None:
        kind = type(value)
        if kind is dict:
            lead = b"{"
            for name, member in value.items():
                self._share(lead + _plain(name) + b":")
                self.put(member)
                lead = b","
            self._share(b"}" if value else b"{}")
        elif kind is list or kind is tuple:
            lead = b"["
            for item in value:
                self._share(lead)
                self.put(item)
                lead = b","
            self._share(b"]" if value else b"[]")
        elif kind is Column:
            known = self.known.get(id(value))
            if known is None:
                known = self.known[id(value)] = _numbers(value)
            self._differ(known)
        elif kind is Each:
            self._differ([_plain(v) for v in value])
        elif kind is Ranked:
            self._differ(_ranked(value, self.texts))
        elif kind is str:
            self._text(value)
        else:
            self._share(_plain(value))

    def rows(self, count: int) -> Iterator[bytes]:
        columns = [repeat(p, count) if isinstance(p, bytes) else p for p in self.pieces]
        # Joined, not formatted: that would read the whole template anew for each row.
        return map(b"".join, zip(*columns, repeat(bytes(self.shared), count), strict=True))

    def _share(self, text: bytes) -> None:
        self.shared += text

    def _differ(self, values: list[bytes]) -> None:
        self.pieces += [bytes(self.shared), values]
        self.shared.clear()

    def _text(self, value: str) -> None:
        self._share(b'"')
        for piece in self.texts.pieces(value):
            if isinstance(piece, str):
                self._share(_plain(piece)[1:-1])
            else:
                self._differ(_said(piece))
        self._share(b'"')


def written(answer: Any, texts: Texts, count: int) -> Iterator[bytes]:
    """Each row of a sheaf as JSON; ValueError for a number that is not finite."""
    template = _Template(texts)
    template.put(answer)
    return template.rows(count)


def _plain(value: Any) -> bytes:
    if isinstance(value, float) and not math.isfinite(value):
        raise ValueError("a number that is not finite has no place in JSON")
    return orjson.dumps(value)


def _said(texts: list[str]) -> list[bytes]:
    """Each of them as it stands within quotes."""
    whole = "\n".join(texts)
    plain = whole.replace("\n", "")
    if plain.isprintable() and '"' not in plain and "\\" not in plain:
        return whole.encode().split(b"\n")
    return [_plain(text)[1:-1] for text in texts]


def _numbers(column: Column) -> list[bytes]:
    values = np.asarray(column)
    if not np.isfinite(values).all():
        raise ValueError("a number that is not finite has no place in JSON")
    plain = np.ascontiguousarray(values)
    return orjson.dumps(plain, option=orjson.OPT_SERIALIZE_NUMPY)[1:-1].split(b",")


def _ranked(tables: Ranked, texts: Texts) -> list[bytes]:
    """Each row's tables in its own order."""
    count = max(len(part) for key in tables.keys for part in key if isinstance(part, Column))
    tables_by_row = zip(*(written(t, texts, count) for t in tables), strict=True)
    keys = [
        zip(*(p.tolist() if isinstance(p, Column) else [p] * count for p in key), strict=True)
        for key in tables.keys
    ]
    out = []
    for row, ranks in zip(tables_by_row, zip(*keys, strict=True), strict=True):
        order = sorted(range(len(row)), key=ranks.__getitem__)
        out.append(b"[%b]" % b",".join([row[i] for i in order]))
    return out
