"""What is written as JSON: plain data quickly, a plug-in's data all the same, nothing infinite."""

from __future__ import annotations

import collections
import dataclasses
import datetime
import enum
import json
import math
from typing import Any

import attrs
import numpy as np
import pytest

from jointgeo_service.strict_json import encode


@pytest.mark.parametrize(
    ("value", "read"),
    [
        ({"a": [1, 2.5, None, True, "7°"], "b": {}}, {"a": [1, 2.5, None, True, "7°"], "b": {}}),
        ({"pair": (1.0, (2.0,))}, {"pair": [1.0, [2.0]]}),
        ({"numpy": [np.float64(0.1), np.int32(3), np.bool_(True)]}, {"numpy": [0.1, 3, True]}),
        ({"array": np.eye(2)}, {"array": [[1.0, 0.0], [0.0, 1.0]]}),
        ({"half a pair": "\ud800"}, {"half a pair": "\ud800"}),
        ({"big": 2**70}, {"big": 2**70}),
    ],
)
def test_read_back_by_the_standard_library(value: Any, read: Any) -> None:
    assert json.loads(encode(value)) == read


@pytest.mark.parametrize("number", [0.1, 1 / 3, 1e-300, 123456789.123456789, -0.0, 5e15 + 1])
def test_every_digit_is_kept(number: float) -> None:
    back = json.loads(encode({"x": [number]}))["x"][0]
    assert (back, math.copysign(1.0, back)) == (number, math.copysign(1.0, number))


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, np.float64("nan")])
@pytest.mark.parametrize(
    "around",
    [lambda v: v, lambda v: [[1.0, v]], lambda v: {"a": ({"b": v},)}, lambda v: [1, "x", v]],
)
def test_what_is_not_finite_is_never_written(bad: float, around: Any) -> None:
    with pytest.raises(ValueError, match="JSON compliant"):
        encode(around(bad))


@attrs.frozen
class Holder:
    x: float = math.nan


class Kind(enum.Enum):
    NAN = math.nan


@pytest.mark.parametrize(
    "odd",
    [
        collections.OrderedDict(x=math.nan),
        collections.defaultdict(float, x=math.inf),
        type("Listed", (list,), {})([math.nan]),
        dataclasses.make_dataclass("Data", ["x"])(math.nan),
        Kind.NAN,
        Holder(),
        datetime.date(2026, 1, 1),
    ],
    ids=lambda odd: type(odd).__name__,
)
def test_kinds_of_plain_data_are_not_written_unseen(odd: Any) -> None:
    with pytest.raises((ValueError, TypeError)):
        encode({"a": [odd]})


def test_kinds_of_plain_data_are_written_where_all_is_finite() -> None:
    assert json.loads(encode({"a": collections.OrderedDict(x=1.5)})) == {"a": {"x": 1.5}}


def test_what_is_no_data_is_never_written() -> None:
    with pytest.raises(TypeError, match="object cannot be written as JSON"):
        encode({"a": object()})
