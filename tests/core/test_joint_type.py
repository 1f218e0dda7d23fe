"""What the library makes of a joint type: its drawing, claims, and what is left unclaimed."""

from __future__ import annotations

import math
from typing import Any, ClassVar, Self

import attrs
import pytest

from jointgeo.errors import InputError, PluginError
from jointgeo.joints.dimensions import mm
from jointgeo.joints.drawing import Bar, Drawing
from jointgeo.joints.joint_type import Claim, JointType
from jointgeo.schema.fields import choice

from .bars import bridle, leg, rail, slot


@attrs.frozen
class Sample(JointType):
    """A slot in a leg, drawn as asked but for what a test changes."""

    name: ClassVar[str] = "sample"
    summary: ClassVar[str] = "A slot, for tests"
    drawn_times: ClassVar[list[int]] = []

    leg_width_mm: float = mm("Width of the leg", 1, 500, default=60.0)
    slot_mm: float = mm("Width of the slot", 1, 500, default=20.5)
    at: str = choice("Where", ("here", "there"), default="here")

    def draw(self) -> Drawing:
        self.drawn_times.append(1)
        notch = slot(-self.slot_mm / 2, self.slot_mm / 2)
        return bridle(bars=(leg(width=self.leg_width_mm), rail()), notches=(notch,))

    @classmethod
    def measure(cls, bar: Bar, mate: Bar) -> dict[str, Any]:
        del mate
        return {"leg_width_mm": bar.width, "at": "here"}

    def sizes(self) -> dict[str, Any]:
        low, high = self.drawing.notches[0].cheeks
        return {"slot_mm": -high.at - low.at}

    def also(self) -> dict[str, tuple[float, float]]:
        low, high = self.drawing.notches[0].cheeks
        return {"slot in the middle": ((low.at - high.at) / 2, 0.0)}

    @classmethod
    def examples(cls) -> tuple[Self, ...]:
        return (cls(),)


def test_every_parameter_is_a_claim_and_so_is_what_is_equal_besides() -> None:
    joint = Sample(slot_mm=12)
    assert {c.name: (c.drawn, c.asked) for c in joint.claims()} == {
        "leg_width_mm": (60, 60),
        "at": ("here", "here"),
        "slot_mm": (12, 12),
        "slot in the middle": (0, 0),
    }
    assert joint.unclaimed() == []


def test_a_joint_is_drawn_once() -> None:
    Sample.drawn_times.clear()
    joint = Sample()
    joint.claims()
    joint.unclaimed()
    assert len(Sample.drawn_times) == 1


@pytest.mark.parametrize(
    ("drawn", "asked", "off"),
    [
        (5.0, 5.25, 0.25),
        (5, 5, 0.0),
        ("here", "here", 0.0),
        ("here", "there", math.inf),
        (math.nan, 5.0, math.inf),
        (math.inf, 5.0, math.inf),
        ("5", 5.0, math.inf),
    ],
)
def test_how_far_a_claim_is_off(drawn: Any, asked: Any, off: float) -> None:
    assert Claim("x", drawn, asked).off == off


def test_a_wrong_choice_is_off() -> None:
    assert [c.name for c in Sample(at="there").claims() if c.off] == ["at"]


def test_what_nothing_reads_back_is_named_and_so_is_what_is_no_parameter() -> None:
    class Forgets(Sample):
        def sizes(self) -> dict[str, Any]:
            return {"slit_mm": 5.0}

    joint = Forgets()
    assert joint.unclaimed() == ["slit_mm", "slot_mm"]
    assert "slit_mm" not in {c.name for c in joint.claims()}


def test_what_is_no_drawing_is_the_types_fault() -> None:
    class Draws(Sample):
        def draw(self) -> Any:
            return (leg(), rail())

    with pytest.raises(PluginError, match=r"sample .* failed: draw must give a Drawing, not tuple"):
        _ = Draws().drawing


def test_sizes_given_beside_two_bars_win_over_what_these_show() -> None:
    joint, placement = Sample.between(leg(), rail(), slot_mm=9, at="there")
    assert (joint.slot_mm, joint.at, joint.leg_width_mm) == (9, "there", 60)
    assert placement.at == (0, 0, 0)


def test_bars_that_are_out_of_range_name_the_parameter() -> None:
    with pytest.raises(InputError) as caught:
        Sample.between(leg(width=501), rail(), slot_mm=9)
    assert [p.field for p in caught.value.problems] == ["leg_width_mm"]
