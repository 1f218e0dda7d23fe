"""Job files: what is refused and how it is said, members, ends and hands."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from jointgeo import (
    InputError,
    JobError,
    UnknownNameError,
)
from jointgeo.jobs.file import demo_jobs, load_job, load_jobs, read_job
from jointgeo.jobs.report import job_text
from jointgeo.jobs.solve import solve_job
from jointgeo.solution.serialise import end_settings
from tests.jobs.written import BENCH, MEMBER, PLANTER, job_from


@pytest.mark.parametrize(
    ("change", "field", "says"),
    [
        ('title = "Trial bench"|', "title", "is missing"),
        ('fixture = "porch"|fixture = "attic"', "fixture", "is not the name of a known fixture"),
        ('fixture = "porch"|fixture = "../porch.toml"', "file", "there is no such file"),
        ("splayed_bridle|splayed_bridal", "joint[0].type", "is not a known joint type"),
        ("leg_width_mm|leg_width_cm", "joint[0].parameters.leg_width_cm", "unit"),
        (
            "leg_width_mm = 66|leg_width_mm = -66",
            "joint[0].parameters.leg_width_mm",
            "is too small",
        ),
        (
            "leg_width_mm = 66|leg_width_mm = nan",
            "joint[0].parameters.leg_width_mm",
            "is not a finite number",
        ),
        (
            "leg_width_mm = 66|leg_width_mm = true",
            "joint[0].parameters.leg_width_mm",
            "is not a number",
        ),
        (
            "leg_width_mm = 66|leg_width_mm = 66\nleg_width_in = 2.5",
            "joint[0].parameters.leg_width_mm",
            "is given twice",
        ),
        (
            'leg_width_mm = 66|leg_width_in = "two"',
            "joint[0].parameters.leg_width_in",
            "is not a length in inches",
        ),
        (
            "tongue_thickness_mm = 22|tongue_thickness_mm = 31",
            "joint[0].parameters.tongue_thickness_mm",
            "is more than the rail has",
        ),
        ('joint = "leg"|joint = "arm"', "member[0].near.joint", "is no joint of this file"),
        ('part = "leg"|part = "arm"', "member[0].near.part", "is no part of that joint"),
        (', part = "leg"|', "member[0].near.part", "is missing"),
        ('cut = "joint", |', "member[0].near.joint", "goes with"),
        ('name = "leg"\nnear|name = "leg"\ncount = 0\nnear', "member[0].count", "is too small"),
        ('name = "leg"\nnear|name = "leg"\nhand = "left"\nnear', "member[0].hand", "not a choice"),
        ("[[member]]|[[membre]]", "membre", "is not a known name"),
    ],
)
def test_a_mistake_is_named_with_file_and_field(
    tmp_path: Path, change: str, field: str, says: str
) -> None:
    old, new = change.split("|")
    text = BENCH + MEMBER
    assert old in text
    with pytest.raises(InputError) as caught:
        job_from(tmp_path, text.replace(old, new, 1))
    problem = caught.value.problems[0]
    assert (problem.field, says in problem.message) == (field, True), str(caught.value)


def test_every_mistake_is_reported_at_once(tmp_path: Path) -> None:
    text = BENCH.replace("= 66", "= -66").replace("= 44", '= "thick"').replace("splay_across", "x")
    with pytest.raises(JobError) as caught:
        job_from(tmp_path, text)
    fields = [p.field.rpartition(".")[2] for p in caught.value.problems]
    assert fields == ["leg_width_mm", "leg_thickness_mm", "splay_across_deg", "x_deg"]
    assert "trial.toml" in str(caught.value)


def test_a_file_that_is_no_toml_says_so(tmp_path: Path) -> None:
    with pytest.raises(JobError, match=r"trial\.toml: file: cannot be read as a TOML file"):
        job_from(tmp_path, "title = ")
    with pytest.raises(JobError, match="there is no such file"):
        load_job(tmp_path / "none.toml")
    with pytest.raises(UnknownNameError, match="is not the name of a job that ships"):
        load_job("garden-set")


def test_a_fixture_beside_the_job_is_found_by_its_path(tmp_path: Path) -> None:
    from importlib.resources import files

    fixture = (files("jointgeo") / "data" / "fixtures" / "porch.toml").read_text("utf-8")
    (tmp_path / "mine.toml").write_text(fixture.replace('"porch"', '"mine"'), "utf-8")
    answer = job_from(tmp_path, BENCH.replace('"porch"', '"mine.toml"'))
    assert answer.job.fixture.name == "mine"


def test_without_members_each_cut_part_counts_once(tmp_path: Path) -> None:
    answer = job_from(tmp_path, BENCH)
    assert [(u.member, u.count) for e in answer.ends for u in e.uses] == [("leg, leg", 1)]


def test_inches_and_millimetres_give_the_same_settings(tmp_path: Path) -> None:
    metric = job_from(tmp_path, BENCH.replace("= 66", "= 63.5")).to_dict()
    inches = job_from(tmp_path, BENCH.replace("_width_mm = 66", '_width_in = "2 1/2"')).to_dict()
    assert metric == inches


def test_mirrored_legs_swivel_the_other_way_with_the_other_edge_on_the_fence() -> None:
    answer = solve_job(load_job("bench"))
    near = {
        use.hand: end_settings(end)["setups"][0]
        for end in answer.ends
        for use in end.uses
        if use.end == "near"
    }
    # From tan swivel = cos 12° · tan 8°, worked by hand to 0.0001°.
    assert near["as_drawn"]["swivel_deg"] == pytest.approx(7.8274, abs=5e-5)
    assert near["mirrored"]["swivel_deg"] == pytest.approx(-7.8274, abs=5e-5)
    assert near["as_drawn"]["against_fence"] == "face_edge"
    assert near["mirrored"]["against_fence"] == "back_edge"
    assert near["as_drawn"]["tilt_deg"] == near["mirrored"]["tilt_deg"] == pytest.approx(12.0)


def test_a_boards_two_ends_take_opposite_swivels_with_one_side_on_the_plate() -> None:
    answer = solve_job(load_job("planter"))
    ends = {u.end: end_settings(e) for e in answer.ends for u in e.uses}
    near, far = ends["near"], ends["far"]
    # tan swivel = tan 45° · sin 10°: 9.8511°; the mark x_from must differ between the ends.
    assert near["setups"][0]["swivel_deg"] == pytest.approx(9.8511, abs=5e-5)
    assert far["setups"][0]["swivel_deg"] == pytest.approx(-9.8511, abs=5e-5)
    assert near["setups"][0]["against_plate"] == far["setups"][0]["against_plate"] == "face_side"
    assert {near["stock"]["x_from"], far["stock"]["x_from"]} == {"face_edge", "back_edge"}


def test_the_foot_of_a_leg_is_parallel_to_its_top() -> None:
    """Trim lines of both ends, laid on the same blank, are the same distance apart on all edges."""
    answer = solve_job(load_job("bench"))
    member = "leg, front left and rear right"
    marks = {
        u.end: (end_settings(e)["marks"][0]["at_mm"], end_settings(e)["stock"])
        for e in answer.ends
        for u in e.uses
        if u.member == member
    }
    (near, stock), (far, _) = marks["near"], marks["far"]
    between = [stock["length_mm"] - near[edge] - far[edge] for edge in near]
    # The centre line is 430 mm long between two parallel planes, so every edge is.
    assert between == pytest.approx([430.0] * 4, abs=1e-9)


def test_a_blank_carries_the_allowance_of_both_ends() -> None:
    answer = solve_job(load_job("chair"))
    lengths = {end_settings(e)["stock"]["length_mm"] for e in answer.ends}
    assert len({round(v, 9) for v in lengths}) == 1
    # 380 between shoulders, two tenons of 25 mm, and at each end at least 1 mm of trim.
    assert lengths.pop() > 380 + 25 + 25 + 2


def test_each_setting_appears_once_and_counts_every_piece() -> None:
    for job in load_jobs("porch-joints"):
        answer = solve_job(job)
        wanted = {
            (m.name, end): m.count
            for m in job.members
            for end, cut in (("near", m.near), ("far", m.far))
            if cut.cut != "square"
        }
        found = {(u.member, u.end): u.count for e in answer.ends for u in e.uses}
        assert found == wanted
        tilts = [e.plan.setups[0].chosen.tilt_deg for e in answer.ends]
        assert tilts == sorted(tilts)


def test_the_porch_set_says_what_fits_and_what_does_not() -> None:
    status = {job.source: solve_job(job).status for job in load_jobs("porch-joints")}
    assert set(status) == set(demo_jobs()["porch-joints"])
    assert {name for name, s in status.items() if s == "fail"} == {"planter-six"}
    failed = [
        c for e in solve_job(load_job("planter-six")).ends for c in e.checks if c.status == "fail"
    ]
    assert {c.name for c in failed} == {"tilt_range", "front_beam"}
    assert all(c.margin < 0 and c.remedies for c in failed)


def test_the_answer_is_plain_finite_json() -> None:
    for job in load_jobs("porch-joints"):
        data = solve_job(job).to_dict()
        assert json.loads(json.dumps(data, allow_nan=False)) == data


@pytest.mark.parametrize(
    ("far", "field", "says"),
    [
        ('{ cut = "joint", joint = "corner", part = "a" }', "member[0].far.part", "wrong side"),
        ('{ cut = "joint", joint = "corner", part = "b" }', "member[0].length_mm", "is needed"),
        ('{ cut = "parallel" }\nlength_mm = -1', "member[0].length_mm", "is too small"),
    ],
)
def test_ends_that_disagree_are_refused(tmp_path: Path, far: str, field: str, says: str) -> None:
    with pytest.raises(JobError) as caught:
        job_from(tmp_path, PLANTER + f"far = {far}\n")
    assert caught.value.problems[0].field == field
    assert says in caught.value.problems[0].message


def test_a_plain_trim_is_set_at_its_layout_angles(tmp_path: Path) -> None:
    text = BENCH + MEMBER + 'far = { cut = "trim", width_angle_deg = 6, thickness_angle_deg = 4 }\n'
    answer = job_from(tmp_path, text)
    far = next(e for e in answer.ends if e.uses[0].end == "far")
    setup = end_settings(far)["setups"][0]
    # swivel = the angle on the face side, tilt = atan(cos 6° · tan 4°), by hand.
    tilt = math.degrees(math.atan(math.cos(math.radians(6)) * math.tan(math.radians(4))))
    assert setup["swivel_deg"] == pytest.approx(6.0, abs=1e-9)
    assert setup["tilt_deg"] == pytest.approx(tilt, abs=1e-9)
    assert setup["cuts"] == []


def test_a_mirrored_trim_slopes_the_other_way(tmp_path: Path) -> None:
    far = 'far = { cut = "trim", width_angle_deg = 6, hand = "HAND" }\n'
    swivels = []
    for hand in ("as_drawn", "mirrored"):
        answer = job_from(tmp_path, BENCH + MEMBER + far.replace("HAND", hand))
        end = next(e for e in answer.ends if e.uses[0].end == "far")
        swivels.append(end.plan.setups[0].chosen.swivel_deg)
    # With no tilt the face side goes on the plate, where a rise to the right is anticlockwise.
    assert swivels == pytest.approx([-6.0, 6.0], abs=1e-9)


@pytest.mark.parametrize(
    ("far", "field", "says"),
    [
        ('{ cut = "square", width_angle_deg = 3 }', "member[0].far.cut", "takes no angles"),
        ('{ cut = "parallel", hand = "mirrored" }', "member[0].far.hand", "says nothing"),
    ],
)
def test_what_an_end_has_no_use_for_is_refused(
    tmp_path: Path, far: str, field: str, says: str
) -> None:
    with pytest.raises(JobError) as caught:
        job_from(tmp_path, BENCH + MEMBER + f"far = {far}\n")
    assert caught.value.problems[0].field == field
    assert says in caught.value.problems[0].message


def test_lengths_that_disagree_are_told_with_their_file(tmp_path: Path) -> None:
    far = 'far = { cut = "joint", joint = "corner", part = "b" }\n'
    with pytest.raises(JobError, match=r"trial\.toml: member\[0\]\.length_mm"):
        job_from(tmp_path, PLANTER + far)


def test_the_second_setups_overhang_is_measured_to_the_trimmed_end() -> None:
    """The corner it was first measured to went with the trim, 1 mm or more of it."""
    for end in solve_job(load_job("chair")).ends:
        first, second = end_settings(end)["setups"]
        assert first["overhang_trimmed_mm"] <= first["overhang_mm"] - 1.0 + 1e-9
        assert second["overhang_trimmed_mm"] <= second["overhang_mm"] - 1.0 + 1e-9


def test_read_job_takes_plain_data_and_refuses_anything_else() -> None:
    with pytest.raises(JobError, match="is not a table"):
        read_job([], Path())


# Clamped by hand ---------------------------------------------------------------------------

WISH = MEMBER.replace('part = "leg" }', 'part = "leg", against_plate = "face_side" }')


def test_a_side_chosen_by_hand_is_taken_and_its_cost_is_told(tmp_path: Path) -> None:
    """The bench's leg with its face side on the plate asks for the opposite tilt: 12° away from
    you, 12° below what the porch fixture's tilt gives. The library's back leaves 12° of room."""
    answer = job_from(tmp_path, BENCH + WISH)
    (setup,) = answer.to_dict()["settings"][0]["setups"]
    assert setup["against_plate"] == "face_side"
    assert setup["tilt_deg"] == pytest.approx(-12.0, abs=1e-9)
    assert (setup["by_hand"]["against_plate"], setup["by_hand"]["differs"]) == ("back", True)
    costs = {c["check"]: (c["margin"], c["library_margin"]) for c in setup["by_hand"]["costs"]}
    assert costs["tilt_range"] == pytest.approx((-12.0, 12.0), abs=1e-9)
    assert not answer.feasible
    text = job_text(answer)
    assert "clamped as asked for; the library takes the back on the plate" in text
    assert "margin of tilt_range: -12.000°, as the library takes it 12.000°" in text


def test_a_wish_for_what_the_library_takes_changes_nothing_but_the_words(tmp_path: Path) -> None:
    plain = job_text(job_from(tmp_path, BENCH + MEMBER)).splitlines()
    same = job_text(job_from(tmp_path, BENCH + WISH.replace("face_side", "back"))).splitlines()
    assert [line for line in same if line not in plain] == [
        "    clamped as asked for; the library takes the same"
    ]


def test_a_cutter_chosen_by_hand_is_taken(tmp_path: Path) -> None:
    """A tongue's slot of 22.1 mm (0.1 of fit): 18.9 mm of room for the saw, 16.1 for the disc."""
    text = BENCH + WISH.replace('against_plate = "face_side"', 'cutter = "saw 3.2"')
    (setup,) = job_from(tmp_path, text).to_dict()["settings"][0]["setups"]
    assert (setup["cutter"], setup["by_hand"]["cutter"]) == ("saw 3.2", "slotting disc 6")
    costs = {c["check"]: (c["margin"], c["library_margin"]) for c in setup["by_hand"]["costs"]}
    mine, own = costs["socket_width"]
    assert mine - own == pytest.approx(6.0 - 3.2, abs=1e-9)


def test_pieces_cut_alike_are_one_setting_whoever_chose(tmp_path: Path) -> None:
    other = WISH.replace('name = "leg"', 'name = "spare leg"').replace("face_side", "back")
    answer = job_from(tmp_path, BENCH + MEMBER + other)
    assert [[u.member for u in e.uses] for e in answer.ends] == [["leg", "spare leg"]]


@pytest.mark.parametrize(
    ("wish", "field", "says", "allowed"),
    [
        (
            'against_plate = "face_edge"',
            "near.against_plate",
            "is no side that this end can be clamped on",
            '"back"',
        ),
        ('against_plate = "front"', "near.against_plate", "is not a choice", '"face_edge"'),
        ('cutter = "fret saw"', "near.cutter", "is no cutter of the fixture", '"saw 3.2"'),
    ],
)
def test_a_wish_that_cannot_be_granted_is_refused(
    tmp_path: Path, wish: str, field: str, says: str, allowed: str
) -> None:
    with pytest.raises(JobError) as caught:
        job_from(tmp_path, BENCH + WISH.replace('against_plate = "face_side"', wish))
    (problem,) = caught.value.problems
    assert (problem.field, says in problem.message) == (f"member[0].{field}", True), problem
    assert allowed in problem.allowed
    assert "trial.toml" in str(caught.value)


def test_a_wish_at_an_end_that_is_not_cut_is_refused(tmp_path: Path) -> None:
    text = BENCH + MEMBER + 'far = { cut = "square", against_plate = "back" }\n'
    with pytest.raises(JobError, match="no cut is made on the fixture") as caught:
        job_from(tmp_path, text)
    assert caught.value.problems[0].field == "member[0].far.against_plate"
