"""What holds for every joint type that is installed, whatever its name.

The heart of it: each cut end is made again from the settings' JSON alone and compared,
point by point, with the notches the joint type asked for.
"""

from __future__ import annotations

import copy
import json
from typing import Any

import attrs
import numpy as np
import pytest

from jointgeo.errors import InputError
from jointgeo.fixtures.file import load_fixture
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.registry import failures, joint_types
from jointgeo.joints.stock import parts
from jointgeo.solution.solution import solve

from .rebuild import agree_on_the_wood, trim_room_mm
from .samples import fixture_with

EXAMPLES = [
    pytest.param(joint, id=f"{name}-{number}")
    for name, cls in joint_types().items()
    for number, joint in enumerate(cls.examples(), 1)
]
HANDS = ["as_drawn", "mirrored"]
FIXTURES = {
    "porch": load_fixture("porch"),
    "any way": fixture_with({"tilt.min_deg": -89}),
    "fence on the right": fixture_with({"fence.side": "right", "feed.sense": "away_from_plate"}),
}


def test_there_are_types_and_none_of_them_fails() -> None:
    assert joint_types()
    assert failures() == ()


@pytest.mark.parametrize("joint", EXAMPLES)
def test_parameters_survive_a_round_trip(joint: JointType) -> None:
    as_text = json.dumps(joint.to_dict(), allow_nan=False)
    assert type(joint).from_dict(json.loads(as_text)) == joint


@pytest.mark.parametrize("name", joint_types())
def test_bad_parameters_are_named_all_at_once(name: str) -> None:
    cls = joint_types()[name]
    good = cls.examples()[0].to_dict()
    key = next(k for k, v in good.items() if isinstance(v, float))
    with pytest.raises(InputError) as caught:
        cls.from_dict({**good, key: True, "no_such_thing_mm": 1})
    assert {p.field for p in caught.value.problems} == {key, "no_such_thing_mm"}


@pytest.mark.parametrize("joint", EXAMPLES)
@pytest.mark.parametrize("hand", HANDS)
@pytest.mark.parametrize("fixture", FIXTURES)
def test_answers_are_plain_finite_data(joint: JointType, hand: Any, fixture: str) -> None:
    solution = solve(joint, FIXTURES[fixture], hand)
    for answer in (solution.settings_dict(), solution.feasibility_dict(), solution.to_dict()):
        assert json.loads(json.dumps(answer, allow_nan=False)) == answer
    assert solution.setups


@pytest.mark.parametrize("joint", EXAMPLES)
def test_the_same_question_has_the_same_answer_and_changes_nothing(joint: JointType) -> None:
    fixture = load_fixture("porch")
    before = copy.deepcopy((attrs.asdict(joint), attrs.asdict(fixture)))
    first = solve(joint, fixture).to_dict()
    again = type(joint).from_dict(joint.to_dict())
    assert json.dumps(first) == json.dumps(solve(again, fixture).to_dict())
    assert (attrs.asdict(joint), attrs.asdict(fixture)) == before


@pytest.mark.parametrize("joint", EXAMPLES)
def test_what_a_caller_is_given_is_the_callers_own(joint: JointType) -> None:
    """Changing an answer changes no later one."""
    fixture = load_fixture("porch")
    answer = solve(joint, fixture)
    clean = json.dumps(answer.to_dict())
    spoiled = answer.to_dict()
    for part in spoiled["parts"]:
        part["stock"].clear()
        for setup in part["setups"]:
            setup["cuts"].clear()
        for box in part["layout"]:
            box["marks"].clear()
            box["frame"].clear()
    for kind in ("bars", "notches", "pockets", "empty", "slides"):
        spoiled["drawing"][kind].clear()
    assert json.dumps(answer.to_dict()) == clean
    assert json.dumps(solve(joint, fixture).to_dict()) == clean


@pytest.mark.parametrize("joint", EXAMPLES)
@pytest.mark.parametrize("hand", HANDS)
@pytest.mark.parametrize("fixture", FIXTURES)
def test_settings_alone_make_the_cuts_that_were_asked_for(
    joint: JointType, hand: Any, fixture: str, rng: np.random.Generator
) -> None:
    """Gone from the blank where points lie in the trim or in a notch, and nowhere else."""
    found = solve(joint, FIXTURES[fixture], hand).to_dict()
    cut_parts = 0
    for part, made in zip(parts(joint.drawing), found["parts"], strict=True):
        if not made["setups"]:
            continue
        cut_parts += 1
        agree_on_the_wood(part, made, rng, mirrored=hand == "mirrored")
    assert cut_parts


@pytest.mark.parametrize("joint", EXAMPLES)
@pytest.mark.parametrize("hand", HANDS)
def test_the_trim_clears_every_corner_of_the_square_end(joint: JointType, hand: Any) -> None:
    """By the practice's extra (1 mm on the porch fixture) at the highest corner."""
    for part in solve(joint, load_fixture("porch"), hand).to_dict()["parts"]:
        for setup in part["setups"]:
            assert trim_room_mm(part, setup) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("joint", EXAMPLES)
@pytest.mark.parametrize("fixture", FIXTURES)
def test_passes_clear_each_cut_and_nothing_beside_it(joint: JointType, fixture: str) -> None:
    for part in solve(joint, FIXTURES[fixture]).to_dict()["parts"]:
        for setup in part["setups"]:
            kerf = setup["kerf_mm"]
            for cut in setup["cuts"]:
                at = [p["travel_mm"] for p in cut["passes"]]
                assert at == sorted(at)
                assert at[-1] == pytest.approx(cut["right_mm"], abs=1e-9)
                if cut["right_mm"] - cut["left_mm"] >= kerf:
                    assert at[0] - kerf == pytest.approx(cut["left_mm"], abs=1e-9)
                assert all(step <= kerf + 1e-9 for step in np.diff(at))


@pytest.mark.parametrize("joint", EXAMPLES)
@pytest.mark.parametrize("fixture", FIXTURES)
def test_the_mirror_image_has_mirrored_settings(joint: JointType, fixture: str) -> None:
    """The same marked side on the plate, the opposite swivel and packing, the same tilt."""
    drawn, image = (solve(joint, FIXTURES[fixture], h).to_dict() for h in HANDS)
    for a, b in zip(drawn["parts"], image["parts"], strict=True):
        assert a["stock"]["x_from"] != b["stock"]["x_from"]
        for s, t in zip(a["setups"], b["setups"], strict=True):
            flipped = {
                c["against_plate"]: (-c["swivel_deg"], c["tilt_deg"], -c["packing_deg"])
                for c in s["candidates"]
            }
            for c in t["candidates"]:
                angles = (c["swivel_deg"], c["tilt_deg"], c["packing_deg"])
                assert angles == pytest.approx(flipped[c["against_plate"]], abs=1e-9)


@pytest.mark.parametrize("joint", EXAMPLES)
def test_a_mirrored_assembly_is_the_mirror_image(joint: JointType) -> None:
    """Every corner of every blank lands on the mirror image of its own: world x reflected."""
    fixture = load_fixture("porch")
    drawn, image = (solve(joint, fixture, h).to_dict() for h in HANDS)
    stock = {p["part"]: p["stock"] for p in drawn["parts"]}
    for a, b in zip(drawn["assembly"], image["assembly"], strict=True):
        size = [stock[a["part"]][k] for k in ("width_mm", "thickness_mm", "length_mm")]
        corners = np.array([[x, y, z, 1] for x in (0, 1) for y in (0, 1) for z in (0, 1)])
        corners = corners * [*size, 1]
        twin = corners * [-1, 1, 1, 1] + [size[0], 0, 0, 0]
        for pose in (a["pose"], b["pose"]):
            assert np.linalg.det(np.array(pose)[:3, :3]) == pytest.approx(1.0, abs=1e-9)
        np.testing.assert_allclose(
            corners @ np.array(a["pose"]).T * [-1, 1, 1, 1],
            twin @ np.array(b["pose"]).T,
            rtol=0,
            atol=1e-9,
        )


@pytest.mark.parametrize("joint", EXAMPLES)
@pytest.mark.parametrize("hand", HANDS)
def test_feasibility_names_its_parts_and_counts_its_setups(joint: JointType, hand: Any) -> None:
    fixture: Fixture = load_fixture("porch")
    found = solve(joint, fixture, hand)
    setups = {end.part.name: len(end.setups) for end in found.ends}
    for check in found.checks:
        assert check.name.isidentifier()
        assert check.because
        assert check.unit
        assert check.part == "" or check.part in setups
        if check.setup is not None:
            assert 1 <= check.setup <= setups[check.part]
    assert found.feasible == all(c.status != "fail" for c in found.checks)
