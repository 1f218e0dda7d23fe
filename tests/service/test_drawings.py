"""What a drawing may hold: numpy's numbers come out plain, all else is the type's own fault."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import attrs
import numpy as np
import pytest
from flask.testing import FlaskClient

from jointgeo.plugin import Drawing, JointType, Vec, Verify

Made = Callable[..., type[JointType]]
Serve = Callable[..., FlaskClient]
SETTINGS = "/v1/joint-types/slotted/settings"
FEASIBILITY = "/v1/joint-types/slotted/feasibility"
QUESTION = {"joint": {}, "fixture": "porch"}


def _drawing(cls: type[JointType], change: Callable[[Drawing], Drawing]) -> type[JointType]:
    """The same joint type with its drawing changed."""
    sound = cls()
    return type("Slotted", (cls,), {"draw": lambda _: change(sound.draw())})


def _bar(drawing: Drawing, **members: Any) -> Drawing:
    board, lath = drawing.bars
    return attrs.evolve(drawing, bars=(attrs.evolve(board, **members), lath))


def _slot(drawing: Drawing, **members: Any) -> Drawing:
    return attrs.evolve(drawing, notches=(attrs.evolve(drawing.notches[0], **members),))


def _block(drawing: Drawing, **members: Any) -> Drawing:
    (groove,) = drawing.pockets
    block = attrs.evolve(groove.block, **members)
    return attrs.evolve(drawing, pockets=(attrs.evolve(groove, block=block),), empty=(block,))


NAN, F = float("nan"), np.float64


@pytest.mark.parametrize("hand", ["as_drawn", "mirrored"])
@pytest.mark.parametrize(
    "change",
    [
        lambda d: _bar(d, width=F(60), thickness=np.float32(20), length=np.int64(300)),
        lambda d: _bar(d, middle=Vec(F(0), F(0), F(0)), face=Vec(F(0), F(-1), F(0))),
        lambda d: _slot(d, across=Vec(F(1), F(0), F(0)), gap=F(0)),
        lambda d: _slot(d, channels=np.array([[-5.0, 5.0, 20.0]])),
        lambda d: _slot(d, end=d.notches[0].end._replace(at=F(0))),
        lambda d: _block(d, middle=Vec(F(0), F(-5), F(100)), size=np.array([10.0, 10.0, 10.0])),
        lambda d: attrs.evolve(d, slides={"board": Vec(F(0), F(0), F(-1))}),
    ],
)
def test_a_drawing_in_numbers_of_numpy_gives_the_same_answer(
    slotted: Made, serving: Serve, change: Callable[[Drawing], Drawing], hand: str
) -> None:
    question = {**QUESTION, "hand": hand}
    for url in (SETTINGS, FEASIBILITY):
        expected = serving(_drawing(slotted(), _block_left_empty)).post(url, json=question)
        answer = serving(_drawing(slotted(), lambda d: change(_block_left_empty(d))))
        answered = answer.post(url, json=question)
        assert answered.status_code == 200, answered.text
        assert answered.json == expected.json


def _block_left_empty(drawing: Drawing) -> Drawing:
    return attrs.evolve(drawing, empty=(drawing.pockets[0].block,))


@pytest.mark.parametrize(
    "change",
    [
        lambda d: _bar(d, width=NAN),
        lambda d: _bar(d, length=float("inf")),
        lambda d: _bar(d, middle=Vec(0.0, F(NAN), 0.0)),
        lambda d: _bar(d, grain=Vec(NAN, 0.0, 1.0)),
        lambda d: _bar(d, grain=Vec(0.0, 0.0, 2.0)),
        lambda d: _bar(d, name=object()),
        lambda d: _slot(d, gap=NAN),
        lambda d: _slot(d, gap=np.float32("inf")),
        lambda d: _slot(d, name=b"slot"),
        lambda d: _slot(d, channels=[(NAN, 5.0, 20.0)]),
        lambda d: _slot(d, channels=[(-5.0, 5.0, NAN)]),
        lambda d: _slot(d, channels=[(-5.0, 5.0, 20.0, F(NAN))]),
        lambda d: _slot(d, channels=[(-5.0, 5.0)]),
        lambda d: _slot(d, end=d.notches[0].end._replace(at=NAN)),
        lambda d: _slot(d, end=d.bars[0].side("face_edge"), across=d.bars[0].grain),
        lambda d: _block(d, middle=Vec(0.0, 0.0, NAN)),
        lambda d: _block(d, size=(10.0, 10.0, F(NAN))),
        lambda d: attrs.evolve(d, slides={"board": Vec(0.0, 0.0, NAN)}),
        lambda d: attrs.evolve(d, verify={"board": (Verify("a gap", NAN, "calipers"),)}),
        lambda d: attrs.evolve(d, verify={"board": (Verify("a gap", {1.0}, "calipers"),)}),  # type: ignore[arg-type]  # what mypy would have told the plug-in's author
        lambda d: attrs.evolve(d, verify={"board": ("a gap",)}),
    ],
)
def test_a_drawing_that_is_no_plain_data_is_the_types_fault(
    slotted: Made, serving: Serve, change: Callable[[Drawing], Drawing]
) -> None:
    client = serving(_drawing(slotted(), change))
    for hand in ("as_drawn", "mirrored"):
        answer = client.post(SETTINGS, json={**QUESTION, "hand": hand})
        assert answer.status_code == 500, answer.text
        assert answer.json is not None
        assert "slotted from an unknown distribution" in answer.json["detail"]


@pytest.mark.parametrize("hand", ["as_drawn", "mirrored"])
@pytest.mark.parametrize(
    "change",
    [
        lambda d: _bar(d, face=np.array([0.0, -1.0, 0.0])),
        lambda d: _bar(d, middle=np.zeros(3)),
        lambda d: _slot(d, across=np.array([1.0, 0.0, 0.0])),
        lambda d: attrs.evolve(d, slides={"board": np.array([0.0, 0.0, -1.0])}),
    ],
)
def test_an_array_for_a_vector_gives_the_same_answer_or_is_the_types_fault(
    slotted: Made, serving: Serve, change: Callable[[Drawing], Drawing], hand: str
) -> None:
    question = {**QUESTION, "hand": hand}
    answer = serving(_drawing(slotted(), change)).post(SETTINGS, json=question)
    if answer.status_code == 200:
        assert answer.json == serving(slotted()).post(SETTINGS, json=question).json
    else:
        assert answer.status_code == 500
        assert answer.json is not None
        assert "slotted from an unknown distribution" in answer.json["detail"]


def test_a_table_within_itself_is_the_types_fault(slotted: Made, serving: Serve) -> None:
    """Looked through without an end it would take all the memory there is."""
    marks: dict[str, Any] = {"depth_mm": 10.0}
    marks["again"] = [marks]
    answer = serving(slotted(marks=marks)).post(SETTINGS, json=QUESTION)
    assert answer.status_code == 500
