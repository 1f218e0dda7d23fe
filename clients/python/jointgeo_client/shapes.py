"""The JSON of the service as types: what stands in each answer.

Knows nothing else. TypedDicts, so that an answer stays the plain data it came as. Lengths
end in _mm, angles in _deg. Members that a later service adds do no harm.
"""

from __future__ import annotations

from typing import Any, Literal, NotRequired, TypedDict

__all__ = [
    "BatchItem",
    "Candidate",
    "Check",
    "Cut",
    "CutterHeight",
    "Feasibility",
    "FixtureName",
    "Hand",
    "Health",
    "JointTypeInfo",
    "JointTypes",
    "LayoutBox",
    "Mark",
    "Packing",
    "Parameter",
    "PartSettings",
    "Pass",
    "Path",
    "Placement",
    "Refused",
    "Remedy",
    "Settings",
    "Setup",
    "Stock",
    "Use",
    "Verify",
    "Want",
]

Hand = Literal["as_drawn", "mirrored"]
Want = Literal["settings", "feasibility"]


class Health(TypedDict):
    status: str
    version: str


#: One parameter of a joint type, in JSON Schema's words; only what it has is there. required:
#: whether it must be given; x-unit: mm, deg; inches: the other name of a length, with its range.
Parameter = TypedDict(
    "Parameter",
    {
        "name": str,
        "required": bool,
        "description": str,
        "type": str,
        "enum": NotRequired[list[str]],
        "minimum": NotRequired[float],
        "exclusiveMinimum": NotRequired[float],
        "maximum": NotRequired[float],
        "minLength": NotRequired[int],
        "maxLength": NotRequired[int],
        "default": NotRequired[Any],
        "x-unit": NotRequired[str],
        "inches": NotRequired[dict[str, Any]],
    },
)


class Path(TypedDict):
    """What can be asked of one joint: its path, the value there, and what that means."""

    path: str
    value: float | int | bool | str | None
    meaning: str


class JointTypeInfo(TypedDict):
    """examples: worked parameters, only where one type was asked for by name."""

    name: str
    summary: str
    parameters: list[Parameter]
    examples: NotRequired[list[dict[str, Any]]]


class Refused(TypedDict):
    name: str
    distribution: str
    version: str
    reason: str


class JointTypes(TypedDict):
    joint_types: list[JointTypeInfo]
    refused: list[Refused]


class FixtureName(TypedDict):
    """A fixture by what it is asked by: the name in its file, its title and the edition of its
    file, or the reason why it cannot be asked."""

    name: str
    called: NotRequired[str]
    title: NotRequired[str]
    edition: NotRequired[str]
    reason: NotRequired[str]


class Stock(TypedDict):
    width_mm: float
    thickness_mm: float
    length_mm: float
    x_from: Literal["face_edge", "back_edge"]


class Use(TypedDict):
    member: str
    end: Literal["near", "far"]
    hand: Hand
    count: int


class Pass(TypedDict):
    travel_mm: float
    turns: int
    divisions: int
    rounding_mm: float


class Cut(TypedDict):
    left_mm: float
    right_mm: float
    depth_mm: float
    outer: bool
    passes: list[Pass]


class DepthHeight(TypedDict):
    depth_mm: float
    height: float
    steps: list[float]


class CutterHeight(TypedDict):
    datum: str
    trim: float
    trim_steps: list[float]
    cuts: list[DepthHeight]


class Packing(TypedDict):
    thick_end: str
    length_mm: float
    thin_mm: float
    thick_mm: float
    error_if_ignored_mm: float


class Candidate(TypedDict):
    against_plate: str
    against_fence: str
    swivel_deg: float
    tilt_deg: float
    packing_deg: float
    front_beam_gap_mm: float
    in_range: bool
    degenerate: bool
    chosen: bool
    judged: bool
    status: str | None
    failing: list[str]


class Cost(TypedDict):
    """margin, library_margin: None where that clamping has no such check."""

    check: str
    unit: str
    margin: float | None
    library_margin: float | None


class ByHand(TypedDict):
    """The library's own choice, and what the one asked for costs."""

    against_plate: str
    cutter: str
    differs: bool
    costs: list[Cost]


# "for" is a word of Python, so this one table is written as a call.
Setup = TypedDict(
    "Setup",
    {
        "for": list[Use],
        "against_plate": str,
        "against_fence": str,
        "exit_side": str | None,
        "swivel_deg": float,
        "tilt_deg": float,
        "packing_deg": float,
        "packing": Packing | None,
        "overhang_mm": float,
        "trim_mm": float,
        "cutter": str,
        "kerf_mm": float,
        "cutter_height_mm": CutterHeight,
        "touch_off": dict[str, Any],
        "cuts": list[Cut],
        "candidates": list[Candidate],
        "chosen_because": str,
        "by_hand": ByHand | None,
    },
)


class LayoutBox(TypedDict):
    """frame: 4×4 row-major, stock from box, the box centred on it."""

    name: str
    frame: list[list[float]]
    size_mm: list[float]
    side: str
    marks: dict[str, float]


class Mark(TypedDict):
    line: str
    at_mm: dict[str, float]


class Verify(TypedDict):
    what: str
    expected_mm: float
    instrument: str


class PartSettings(TypedDict):
    part: str
    stock: Stock
    layout: list[LayoutBox]
    setups: list[Setup]
    marks: list[Mark]
    verify: list[Verify]


class Placement(TypedDict):
    """pose: 4×4 row-major, world from stock, millimetres."""

    part: str
    pose: list[list[float]]


class Bar(TypedDict):
    """As drawn. pose: world from stock, z = 0 at the length datum. size_mm: finished."""

    name: str
    size_mm: list[float]
    pose: list[list[float]]


class End(TypedDict):
    """The plane normal · p = at_mm, in the world; the normal looks out of the wood."""

    normal: list[float]
    at_mm: float


class Channel(TypedDict):
    """A bound that is None runs out of the wood. gap_mm: clearance at its cheeks."""

    low_mm: float | None
    high_mm: float | None
    depth_mm: float
    gap_mm: float


class Notch(TypedDict):
    """What one clamping cuts; channels run along ``across``, from the world's origin."""

    name: str
    bar: str
    end: End
    across: list[float]
    channels: list[Channel]


class Block(TypedDict):
    """A box centred on ``frame``, world from box."""

    name: str
    frame: list[list[float]]
    size_mm: list[float]


class Pocket(Block):
    """Taken from ``bar`` by other means than the fixture, laid out on ``side``."""

    bar: str
    side: str


class Drawing(TypedDict):
    """The joint as drawn. slides: for each bar that moves, the way it is drawn out."""

    bars: list[Bar]
    notches: list[Notch]
    pockets: list[Pocket]
    empty: list[Block]
    slides: dict[str, list[float]]


class Settings(TypedDict):
    joint_type: str
    fixture: str
    edition: str | None
    parts: list[PartSettings]
    drawing: Drawing
    assembly: list[Placement]
    notes: list[str]


class Remedy(TypedDict):
    """Beside these two a remedy carries its amounts, under names that end in their unit."""

    do: str
    says: str


class Check(TypedDict):
    """margin is positive where there is room, in ``unit``."""

    name: str
    value: float
    limit: float
    margin: float
    unit: str
    status: Literal["pass", "caution", "fail", "not_stated"]
    because: str
    remedies: list[Remedy]
    part: str
    setup: NotRequired[int]


class Feasibility(TypedDict):
    joint_type: str
    fixture: str
    edition: str | None
    feasible: bool
    status: Literal["pass", "caution", "fail"]
    not_stated: int
    checks: list[Check]


class BatchItem(TypedDict):
    """One question of a batch. id: echoed, at most 80 characters."""

    joint_type: str
    want: Literal["settings", "feasibility", "both"]
    joint: dict[str, Any]
    fixture: str | dict[str, Any]
    hand: NotRequired[Hand]
    id: NotRequired[str]
