"""A sheaf of settings written as JSON, row by row.

Knows ``jointgeo.geometry.columns`` and orjson; knows no joint type and no HTTP.

Theory. All rows of a sheaf share their structure. So what they share is written once, with a
place for each number or text that differs; each column is written once, many rows of it
together; and a row is the shared text with its own values between. Written columns take ten
times the room of the numbers, so that no more than ``ROWS`` of a sheaf are written at a time.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import repeat
from typing import Any

import numpy as np
import orjson

from jointgeo.geometry.columns import Column, Each, Ranked, Texts
from jointgeo_service.strict_json import encode, is_plain

__all__ = ["ROWS", "written"]

ROWS = 100


class _Template:
    """What some rows of a sheaf share, and what differs, in the order it comes."""

    def __init__(self, texts: Texts, rows: slice) -> None:
        self.texts, self.slice = texts, rows
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
                self._share(lead + encode(name) + b":")
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
                known = self.known[id(value)] = _numbers(value[self.slice])
            self._differ(known)
        elif kind is Each:
            self._differ([orjson.dumps(v) for v in value[self.slice]])
        elif kind is Ranked:
            self._differ(self._ranked(value))
        elif kind is str:
            self._text(value)
        else:
            self._share(encode(value))

    def rows(self) -> Iterator[bytes]:
        count = self.slice.stop - self.slice.start
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
                self._share(encode(piece)[1:-1])
            else:
                self._differ(_said(piece[self.slice]))
        self._share(b'"')

    def _ranked(self, tables: Ranked) -> list[bytes]:
        """Each row's tables in its own order."""
        columns, keys = [], []
        for table, key in zip(tables, tables.keys, strict=True):
            template = _Template(self.texts, self.slice)
            template.put(table)
            columns.append(template.rows())
            keys.append(zip(*map(self._listed, key), strict=True))
        out = []
        for row, ranks in zip(zip(*columns, strict=True), zip(*keys, strict=True), strict=True):
            order = sorted(range(len(row)), key=ranks.__getitem__)
            out.append(b"[%b]" % b",".join([row[i] for i in order]))
        return out

    def _listed(self, part: Any) -> list[Any]:
        if isinstance(part, Column):
            listed: list[Any] = part[self.slice].tolist()
            return listed
        return [part] * (self.slice.stop - self.slice.start)


def written(answer: Any, texts: Texts, count: int) -> Iterator[bytes]:
    """Each row of a sheaf as JSON.

    Raises at once, and not when some row's turn comes, ValueError for a number that is not
    finite and TypeError for what is no data.
    """
    _check(answer, count)
    return _written(answer, texts, count)


def _written(answer: Any, texts: Texts, count: int) -> Iterator[bytes]:
    for first in range(0, count, ROWS):
        template = _Template(texts, slice(first, min(first + ROWS, count)))
        template.put(answer)
        yield from template.rows()


def _check(value: Any, count: int) -> None:
    if isinstance(value, Column):
        if value.shape != (count,) or value.dtype.kind not in "fib":
            raise TypeError("a column must have a number for each row")
        if not np.isfinite(np.asarray(value)).all():
            raise ValueError("a number that is not finite has no place in JSON")
    elif isinstance(value, Each):
        if len(value) != count or not is_plain(list(value)):
            raise TypeError("plain data is needed for each row")
    elif isinstance(value, dict):
        for name, member in value.items():
            encode(name)
            _check(member, count)
    elif isinstance(value, (list, tuple)):
        for item in value:
            _check(item, count)
    else:
        encode(value)


def _said(texts: list[str]) -> list[bytes]:
    """Each of them as it stands within quotes."""
    whole = "\n".join(texts)
    plain = whole.replace("\n", "")
    if plain.isprintable() and '"' not in plain and "\\" not in plain:
        return whole.encode().split(b"\n")
    return [encode(text)[1:-1] for text in texts]


def _numbers(column: Column) -> list[bytes]:
    plain = np.ascontiguousarray(np.asarray(column))
    return orjson.dumps(plain, option=orjson.OPT_SERIALIZE_NUMPY)[1:-1].split(b",")
