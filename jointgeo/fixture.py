"""The fixture as data: every measure a solver or a check may ask for.

Knows parameter fields and errors; knows no joint and no file format (``fixture_file``
reads and writes TOML).

Frame. Machine frame of design: stand facing the plate; X right along the traverse, Y
away from you into the plate, Z up, away from the cutter. The plate's face at zero
settings is Y = 0, its lower edge Z = 0. The frame rides on the traverse, so the
cutter is what moves along X: the rejected alternative, a frame fixed to the bench,
would put the carriage's position into every number on the plate. A body that stays
on the base is therefore given as it stands when the cutter's right-hand face is at
X = 0, and appears further right by the cutter's X otherwise.
"""

from __future__ import annotations

from typing import Literal

import attrs
import numpy as np

from jointgeo.errors import FixtureError, Problem
from jointgeo.fields import angle, choice, count, flag, length, number, text
from jointgeo.rotations import Array
from jointgeo.upkeep import Aids, Correction, Past

__all__ = [
    "Backing",
    "Body",
    "Clamp",
    "Cutter",
    "CutterHeight",
    "Feed",
    "Fence",
    "Fixture",
    "FrontBeam",
    "Plate",
    "Practice",
    "Swivel",
    "Tilt",
    "Traverse",
    "Uncertainty",
]

Side = Literal["left", "right"]


def _ordered(low_name: str, low: float, high_name: str, high: float, unit: str) -> None:
    if low >= high:
        problem = Problem(
            low_name,
            f"is not below {high_name}",
            f"{low:g}",
            f"less than {high_name} = {high:g} {unit}",
            unit,
        )
        raise FixtureError(problem)


@attrs.frozen
class Swivel:
    """The fence's turn on the plate; positive clockwise as you face the plate."""

    min_deg: float = angle("Least swivel the fence can be set to", low=-89, high=0)
    max_deg: float = angle("Greatest swivel the fence can be set to", low=0, high=89)
    pivot_x_mm: float = length("X of the pivot on the plate", low=-5000, default=0.0)
    pivot_z_mm: float = length("Height of the pivot above the plate's lower edge", low=-5000)

    def __attrs_post_init__(self) -> None:
        _ordered("min_deg", self.min_deg, "max_deg", self.max_deg, "deg")


@attrs.frozen
class Tilt:
    """The plate's swing about its hinge; positive when the cut end swings towards you."""

    min_deg: float = angle("Least tilt; 0 on a fixture that tilts one way only", low=-89, high=0)
    max_deg: float = angle("Greatest tilt", low=0, high=89)
    hinge_y_mm: float = length(
        "Y of the hinge line; positive is behind the plate's face", low=-5000
    )
    hinge_z_mm: float = length("Height of the hinge line above the plate's lower edge", low=-5000)

    def __attrs_post_init__(self) -> None:
        _ordered("min_deg", self.min_deg, "max_deg", self.max_deg, "deg")


@attrs.frozen
class Traverse:
    """The screw that carries the plate sideways; its scale is the cutter's X on the plate."""

    min_mm: float = length("Least X the cutter's right-hand face can reach", low=-10_000)
    max_mm: float = length("Greatest X the cutter's right-hand face can reach", low=-10_000)
    lead_mm: float = length("Travel for one whole turn of the handwheel", low=0.01, high=100)
    divisions: int = count("Divisions on the handwheel", low=1, high=10_000)

    def __attrs_post_init__(self) -> None:
        _ordered("min_mm", self.min_mm, "max_mm", self.max_mm, "mm")


@attrs.frozen
class Cutter:
    """A disc whose axis lies along X, or a pin that stands upright."""

    name: str = text("Name of the cutter", most=40)
    kind: str = choice("Disc (saw or slotting cutter) or pin (shank cutter)", ("disc", "pin"))
    diameter_mm: float = length("Cutting diameter", low=0.1, high=1000)
    kerf_mm: float = length("Width of the channel one pass leaves", low=0.2, high=500)
    reach_mm: float = length("Greatest depth it cuts before its hub or holder touches", low=0.1)

    def __attrs_post_init__(self) -> None:
        if self.kind == "pin" and self.kerf_mm != self.diameter_mm:
            problem = Problem(
                "kerf_mm",
                "of a pin must equal its diameter",
                f"{self.kerf_mm:g}",
                f"{self.diameter_mm:g} mm",
                "mm",
            )
            raise FixtureError(problem)
        if self.kind == "disc" and self.reach_mm >= self.diameter_mm / 2:
            problem = Problem(
                "reach_mm",
                "of a disc must be less than its radius",
                f"{self.reach_mm:g}",
                f"less than {self.diameter_mm / 2:g} mm",
                "mm",
            )
            raise FixtureError(problem)

    def chord_mm(self, depth_mm: float) -> float:
        """How far it reaches along the feed beyond its centre while cutting that deep."""
        r = self.diameter_mm / 2
        if self.kind == "pin":
            return r
        d = min(depth_mm, r)
        return float(np.sqrt(d * (2 * r - d)))


@attrs.frozen
class CutterHeight:
    """The scale that says how high the cutter stands."""

    datum: str = text("What height 0 is measured from, in words")
    datum_z_mm: float = length("Z of that datum; negative is below the plate's edge", low=-5000)
    min_mm: float = length("Least height of the cutter's top above the datum", low=-5000)
    max_mm: float = length("Greatest height of the cutter's top above the datum", low=-5000)

    def __attrs_post_init__(self) -> None:
        _ordered("min_mm", self.min_mm, "max_mm", self.max_mm, "mm")


@attrs.frozen
class Feed:
    """The stroke that carries the cutter through the stock, along Y."""

    min_mm: float = length("Y of the cutter's centre at the end nearest you", low=-10_000)
    max_mm: float = length("Y of the cutter's centre at the far end", low=-10_000)
    sense: str = choice("Way the cutter moves while it cuts", ("towards_plate", "away_from_plate"))

    def __attrs_post_init__(self) -> None:
        _ordered("min_mm", self.min_mm, "max_mm", self.max_mm, "mm")


@attrs.frozen
class Plate:
    """The upright plate; X is measured from its middle."""

    width_mm: float = length("Width of the plate", low=0.1)
    height_mm: float = length("Height of the plate above its lower edge", low=0.1)
    thickness_mm: float = length("Thickness of the plate", low=0.1, high=500)


@attrs.frozen
class Fence:
    """The fence on the plate, upright at zero; the stock's edge lies against it."""

    side: str = choice("Side of the stock the fence stands on, as you face it", ("left", "right"))
    x_mm: float = length("X of the fence's working face at zero swivel", low=-5000)


@attrs.frozen
class Backing:
    """The board between stock and plate."""

    thickness_mm: float = length("Thickness of the backing board, 0 for none", low=0, high=200)
    sacrificial: bool = flag(
        "True: it hangs down to the end of the stock and is cut with it, fresh for each cut. "
        "False: it ends at the plate's lower edge and cuts must clear it"
    )


@attrs.frozen
class Clamp:
    """What holds the stock against the backing."""

    opening_mm: float = length("Greatest backing, packing and stock it takes together", low=0.1)


@attrs.frozen
class FrontBeam:
    """A fixed member in front of the plate, of the fixture's whole width."""

    name: str = text("Name of the beam", most=40)
    face_distance_mm: float = length("Distance of its face in front of the plate's face", low=0.1)
    z_min_mm: float = length("Z of its lower side", low=-10_000)
    z_max_mm: float = length("Z of its upper side", low=-10_000)
    fitted: bool = flag("True if it is on the fixture now, false for an alternative")
    removable: bool = flag("True if the fixture may be used without it")
    caution: str = text(
        "What to mind when it is off",
        most=160,
        default="the frame is less stiff without it: clamp a brace across and take light cuts",
    )

    def __attrs_post_init__(self) -> None:
        _ordered("z_min_mm", self.z_min_mm, "z_max_mm", self.z_max_mm, "mm")


@attrs.frozen
class Body:
    """A box that stock can foul, given at zero settings in machine coordinates."""

    name: str = text("Name of the body", most=40)
    fixed_to: str = choice("What it moves with", ("base", "traverse", "tilt", "fence"))
    x_min_mm: float = length("Left side", low=-10_000)
    x_max_mm: float = length("Right side", low=-10_000)
    y_min_mm: float = length("Side nearest you", low=-10_000)
    y_max_mm: float = length("Far side", low=-10_000)
    z_min_mm: float = length("Lower side", low=-10_000)
    z_max_mm: float = length("Upper side", low=-10_000)

    def __attrs_post_init__(self) -> None:
        for axis in "xyz":
            low, high = f"{axis}_min_mm", f"{axis}_max_mm"
            _ordered(low, getattr(self, low), high, getattr(self, high), "mm")

    @property
    def low(self) -> Array:
        return np.array([self.x_min_mm, self.y_min_mm, self.z_min_mm])

    @property
    def high(self) -> Array:
        return np.array([self.x_max_mm, self.y_max_mm, self.z_max_mm])


@attrs.frozen
class Uncertainty:
    """Standard uncertainties (k = 1) of settings and measures; see the GUM, JCGM 100."""

    swivel_deg: float = angle("Reading the swivel's scale", low=0, high=10)
    tilt_deg: float = angle("Reading the tilt's scale", low=0, high=10)
    swivel_zero_deg: float = angle("Repeatability of setting the swivel to zero", low=0, high=10)
    tilt_zero_deg: float = angle("Repeatability of setting the tilt to zero", low=0, high=10)
    hinge_play_mm: float = length("Play of the hinge across its line", low=0, high=10)
    tilt_lock_difference_mm: float = length(
        "Difference between the spacers under the two sides on which the tilt is locked",
        low=0,
        high=10,
    )
    tilt_lock_spacing_mm: float = length("Distance between those two sides", low=0.1)
    tilt_lock_arm_mm: float = length("Distance from the hinge to those locks", low=0.1)
    rail_height_difference_mm: float = length("Difference in height of the rails", low=0, high=10)
    rail_spacing_mm: float = length("Distance between the rails", low=0.1)
    traverse_lead_fraction: float = number(
        "1", "Error of the lead over its length", low=0, high=0.1
    )
    backlash_mm: float = length("Backlash left when every pass comes from one side", low=0, high=5)
    kerf_mm: float = length("Kerf as it was measured", low=0, high=5)
    runout_mm: float = length("Run-out of the cutter at its edge", low=0, high=5)
    depth_mm: float = length("Setting of the cutter's height", low=0, high=5)
    stock_thickness_mm: float = length("Thickness of the stock as it was measured", low=0, high=5)


@attrs.frozen
class Practice:
    """How this shop likes to work. Common practice, no published source; change at will."""

    trim_extra_mm: float = length(
        "Taken off below the lowest point that must go", low=0.0, high=50, default=1.0
    )
    clearance_mm: float = length("Kept between cutter and plate", low=0, high=100, default=3.0)
    run_past_mm: float = length("Run of an outer cut past the stock", low=0, high=50, default=1.0)
    overlap_mm: float = length("Least overlap of neighbouring passes", low=0, high=20, default=0.5)
    glue_line_mm: float = length(
        "Widest gap at a shoulder that still closes (top of the usual glue line)",
        low=0.001,
        high=2,
        default=0.15,
    )
    wedge_thin_mm: float = length(
        "Thin end of a wedge that can still be made", low=0, high=50, default=3.0
    )


@attrs.frozen
class Fixture:
    """One fixture. Angles in degrees, lengths in millimetres, machine frame above."""

    name: str = text("Name of the fixture: letters, digits, - and _", most=40)
    title: str = text("What it is, in a few words", default="A shop-made fixture")
    swivel: Swivel = attrs.field(kw_only=True)
    tilt: Tilt = attrs.field(kw_only=True)
    traverse: Traverse = attrs.field(kw_only=True)
    cutter: tuple[Cutter, ...] = attrs.field(kw_only=True)
    cutter_height: CutterHeight = attrs.field(kw_only=True)
    feed: Feed = attrs.field(kw_only=True)
    plate: Plate = attrs.field(kw_only=True)
    fence: Fence = attrs.field(kw_only=True)
    backing: Backing = attrs.field(kw_only=True)
    clamp: Clamp = attrs.field(kw_only=True)
    front_beam: tuple[FrontBeam, ...] = attrs.field(kw_only=True, default=())
    body: tuple[Body, ...] = attrs.field(kw_only=True, default=())
    uncertainty: Uncertainty = attrs.field(kw_only=True)
    practice: Practice = attrs.field(kw_only=True, factory=Practice)
    aids: Aids = attrs.field(kw_only=True, factory=Aids)
    correction: Correction = attrs.field(kw_only=True, factory=Correction)
    history: tuple[Past, ...] = attrs.field(kw_only=True, default=())

    def __attrs_post_init__(self) -> None:
        problems: list[Problem] = []
        if not all(c.isascii() and (c.isalnum() or c in "-_") for c in self.name):
            allowed = "ASCII letters, digits, - and _"
            problems.append(Problem("name", "has a character it may not have", self.name, allowed))
        if not self.cutter:
            problems.append(Problem("cutter", "is an empty list", "[]", "at least one cutter"))
        for field in ("cutter", "front_beam", "body"):
            names = [item.name for item in getattr(self, field)]
            for index, name in enumerate(names):
                if name in names[:index]:
                    problems.append(
                        Problem(
                            f"{field}[{index}].name", "is used twice", name, "a name of its own"
                        )
                    )
        thin = min((c.kerf_mm for c in self.cutter), default=np.inf)
        if self.practice.overlap_mm > thin / 2:
            problems.append(
                Problem(
                    "practice.overlap_mm",
                    "leaves the narrowest cutter too short a step between passes",
                    f"{self.practice.overlap_mm:g}",
                    f"at most {thin / 2:g} mm, half its kerf",
                    "mm",
                )
            )
        if abs(self.fence.x_mm) > self.plate.width_mm / 2:
            problems.append(
                Problem(
                    "fence.x_mm",
                    "puts the fence beside the plate",
                    f"{self.fence.x_mm:g}",
                    f"-{self.plate.width_mm / 2:g} to {self.plate.width_mm / 2:g} mm",
                    "mm",
                )
            )
        problems += self.correction.problems({c.name: c.kerf_mm for c in self.cutter})
        if problems:
            raise FixtureError(*problems)

    @property
    def corrected(self) -> Fixture:
        """The same fixture with kerfs and lead as they were found to be: what passes are made from.

        The axes' corrections stay, since they belong to the scale and not to the angle.
        Applying it twice changes nothing more.
        """
        found = {k.cutter: k.kerf_mm for k in self.correction.kerf}
        if not any(found.values()) and self.correction.lead_fraction == 0.0:
            return self
        cutters = []
        for c in self.cutter:
            kerf = c.kerf_mm + found.get(c.name, 0.0)
            wide = kerf if c.kind == "pin" else c.diameter_mm
            cutters.append(attrs.evolve(c, kerf_mm=kerf, diameter_mm=wide))
        lead = self.traverse.lead_mm * (1 + self.correction.lead_fraction)
        kerfs = tuple(attrs.evolve(k, kerf_mm=0.0) for k in self.correction.kerf)
        return attrs.evolve(
            self,
            cutter=tuple(cutters),
            traverse=attrs.evolve(self.traverse, lead_mm=lead),
            correction=attrs.evolve(self.correction, lead_fraction=0.0, kerf=kerfs),
        )

    @property
    def fitted_beams(self) -> tuple[FrontBeam, ...]:
        return tuple(b for b in self.front_beam if b.fitted)
