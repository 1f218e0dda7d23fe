"""Many joints solved together: each row is what that joint gives alone."""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import Any

import attrs
import numpy as np
import pytest

import jointgeo
from jointgeo.errors import InputError
from jointgeo.fixtures.file import named_fixture
from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.arith import arcsin
from jointgeo.geometry.columns import Column, fixed
from jointgeo.schema.fields import describe
from jointgeo.solution.settings import HANDS, Hand, solve_settings
from jointgeo.solution.together import FEW, Sheaf, alike, settings_together

# mm or degrees: math and numpy round the last digit of a sine differently, and lengths of
# metres carry it on.
SAME = 1e-9


TYPES = sorted(jointgeo.joint_types())
#: The type that tests bend to their ends, and one of its numbers.
FirstType: Any = jointgeo.joint_type(TYPES[0])
FIRST = next(i.name for i in describe(FirstType) if i.kind == "number")


@pytest.fixture(scope="module")
def porch() -> Fixture:
    return named_fixture("porch")


def near(name: str, count: int, spread: float, example: int = 0) -> list[Any]:
    """Joints near an example of a type, each number its own."""
    source = random.Random(f"{name} {spread}")  # noqa: S311  # it picks dimensions, no secret
    cls = jointgeo.joint_type(name)
    start = cls.examples()[example].to_dict()
    numbers = [i.name for i in describe(cls) if i.kind == "number" and start[i.name]]
    out: list[Any] = []
    while len(out) < count:
        factors = {n: source.uniform(1 - spread, 1 + spread) for n in numbers}
        try:
            out.append(cls.from_dict({**start, **{n: start[n] * f for n, f in factors.items()}}))
        except InputError:  # a rule between two fields; the next draw will do
            continue
    return out


def differs(one: Any, other: Any, path: str = "") -> str | None:
    """Where two answers differ, if they do."""
    if isinstance(one, dict) and isinstance(other, dict):
        if list(one) != list(other):
            return f"{path}: {list(one)} and {list(other)}"
        return next(filter(None, (differs(one[k], other[k], f"{path}.{k}") for k in one)), None)
    if isinstance(one, (list, tuple)) and isinstance(other, (list, tuple)):
        if len(one) != len(other):
            return f"{path}: {len(one)} and {len(other)} items"
        pairs = enumerate(zip(one, other, strict=True))
        return next(filter(None, (differs(a, b, f"{path}[{i}]") for i, (a, b) in pairs)), None)
    if type(one) is float and type(other) is float:
        return None if abs(one - other) <= SAME else f"{path}: {one} and {other}"
    same = one == other and type(one) is type(other)
    return None if same else f"{path}: {one!r} and {other!r}"


def check(joints: Sequence[Any], fixture: Fixture, hand: Hand, sheaves: list[Sheaf]) -> set[int]:
    seen: set[int] = set()
    for sheaf in sheaves:
        for number, place in enumerate(sheaf.places):
            assert place not in seen
            seen.add(place)
            alone = solve_settings(joints[place], fixture, hand).to_dict()
            assert differs(sheaf.row(number), alone) is None
    return seen


@pytest.mark.parametrize("hand", HANDS)
@pytest.mark.parametrize("name", TYPES)
def test_each_row_is_what_that_joint_gives_alone(name: str, hand: Hand, porch: Fixture) -> None:
    joints = near(name, 200, 0.02)
    sheaves = list(settings_together(joints, porch, hand))
    # What is left are groups too small to be worth it.
    assert len(check(joints, porch, hand, sheaves)) >= 200 - 3 * FEW


def test_joints_far_from_one_another_part_and_are_right(porch: Fixture) -> None:
    parted = 0
    for name in TYPES:
        joints = near(name, 400, 0.06)
        sheaves = list(settings_together(joints, porch))
        assert check(joints, porch, "as_drawn", sheaves), name
        parted += len(sheaves) > 1
    assert parted > 1


def test_every_example_on_a_corrected_fixture(porch: Fixture) -> None:
    """Some of them need packing."""
    learnt = attrs.evolve(porch.correction, tilt_zero_deg=0.2, tilt_zero_u_deg=0.03)
    fixture = attrs.evolve(porch, correction=learnt)
    packed = 0
    for name in TYPES:
        for example in range(len(jointgeo.joint_type(name).examples())):
            joints = near(name, 100, 0.01, example)
            sheaves = list(settings_together(joints, fixture))
            assert check(joints, fixture, "as_drawn", sheaves), name
            setups = [s for sheaf in sheaves for p in sheaf.answer["parts"] for s in p["setups"]]
            packed += any(s["packing"] is not None for s in setups)
    assert packed


def test_few_joints_are_left_to_be_solved_alone(porch: Fixture) -> None:
    assert list(settings_together(near(TYPES[0], FEW - 1, 0.01), porch)) == []


def test_equal_joints_need_no_columns(porch: Fixture) -> None:
    joints = near(TYPES[0], 1, 0.01) * FEW
    (sheaf,) = settings_together(joints, porch)
    assert sheaf.row(FEW - 1) == solve_settings(joints[0], porch).to_dict()


def test_alike_are_joints_that_differ_in_numbers_only() -> None:
    for name in TYPES:
        joint = jointgeo.joint_type(name).examples()[0]
        for info in describe(type(joint)):
            value = getattr(joint, info.name)
            if info.kind == "number" and value:
                assert alike(joint) == alike(attrs.evolve(joint, **{info.name: value * 0.999}))
            elif info.kind == "choice":
                other = next(c for c in info.choices if c != value)
                assert alike(joint) != alike(attrs.evolve(joint, **{info.name: other}))
    assert len({alike(jointgeo.joint_type(name).examples()[0]) for name in TYPES}) == len(TYPES)


def test_a_type_that_insists_on_single_numbers_makes_no_sheaf(porch: Fixture) -> None:
    @attrs.frozen
    class Insists(FirstType):  # type: ignore[misc]  # a class of any
        name = "insists"

        def notes(self) -> tuple[str, ...]:
            return (f"{float(getattr(self, FIRST)):.1f}",)

    joints = [Insists(**joint.to_dict()) for joint in near(TYPES[0], FEW, 0.01)]
    assert list(settings_together(joints, porch)) == []


def test_a_sheaf_that_a_joint_alone_does_not_bear_out_is_not_handed_out(porch: Fixture) -> None:
    """An array that is as long by chance as a column: numpy takes the one for the other."""

    @attrs.frozen
    class Mixes(FirstType):  # type: ignore[misc]  # a class of any
        name = "mixes"

        def notes(self) -> tuple[str, ...]:
            spread = getattr(self, FIRST) * np.arange(FEW)
            return (f"{spread if isinstance(spread, Column) else float(spread[0]):.3f}",)

    joints = [Mixes(**joint.to_dict()) for joint in near(TYPES[0], FEW, 0.0001)]
    assert list(settings_together(joints, porch, trusted=True))
    assert list(settings_together(joints, porch)) == []


def test_only_a_type_that_says_so_is_solved_together(porch: Fixture) -> None:
    @attrs.frozen
    class Silent(FirstType):  # type: ignore[misc]  # a class of any
        takes_columns = False

    joints = near(TYPES[0], FEW, 0.0001)
    assert list(settings_together(joints, porch))
    silent = [Silent(**joint.to_dict()) for joint in joints]
    assert list(settings_together(silent, porch)) == []
    assert list(settings_together([], porch)) == []


@pytest.mark.parametrize("row", [0, FEW // 2, FEW - 1])
def test_a_fault_of_a_joint_alone_is_not_hidden_by_the_others(row: int, porch: Fixture) -> None:
    """A number divided by zero raises; so does a column, rather than say infinite."""
    joints = near(TYPES[0], FEW, 0.0001)
    hole = getattr(joints[row], FIRST)

    @attrs.frozen
    class Divides(FirstType):  # type: ignore[misc]  # the same
        def notes(self) -> tuple[str, ...]:
            return (f"{1.0 / (getattr(self, FIRST) - hole):.3f}",)

    faulty = [Divides(**joint.to_dict()) for joint in joints]
    assert list(settings_together(faulty, porch)) == []


def test_what_is_no_number_does_not_part_a_batch_for_ever(porch: Fixture) -> None:
    @attrs.frozen
    class Wonders(FirstType):  # type: ignore[misc]  # the same
        def notes(self) -> tuple[str, ...]:
            return (f"{fixed(arcsin(getattr(self, FIRST)))}",)

    joints = [Wonders(**joint.to_dict()) for joint in near(TYPES[0], FEW, 0.0001)]
    assert list(settings_together(joints, porch)) == []


def test_joints_at_fault_are_left_to_be_solved_alone(porch: Fixture) -> None:
    middle = getattr(FirstType.examples()[0], FIRST)

    @attrs.frozen
    class Faulty(FirstType):  # type: ignore[misc]  # the same
        name = "faulty"

        def parts(self) -> Any:
            if getattr(self, FIRST) > middle:
                raise ValueError("a fault of the type's own")
            return super().parts()

    joints = [Faulty(**joint.to_dict()) for joint in near(TYPES[0], 4 * FEW, 0.01)]
    faulty = {i for i, joint in enumerate(joints) if getattr(joint, FIRST) > middle}
    covered = check(joints, porch, "as_drawn", list(settings_together(joints, porch)))
    assert faulty
    assert covered
    assert not covered & faulty
