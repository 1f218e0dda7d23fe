"""What a job file with a slip in it is told: which member, which name, and what to write."""

from __future__ import annotations

from pathlib import Path

import pytest

from jointgeo import JobError
from tests.jobs.written import BENCH, MEMBER, PLANTER, job_from


@pytest.mark.parametrize(
    ("change", "hint"),
    [
        ("leg_width_mm = 66|leg_width_mm = 66,5", "; write 66.5 with a point"),
        ("leg_width_mm = 66|leg_width_mm = -66,50 # wide", "; write -66.50 with a point"),
        ("leg_width_mm = 66|leg_width_mm = 66 5", None),
    ],
)
def test_a_decimal_comma_is_told_its_point(tmp_path: Path, change: str, hint: str | None) -> None:
    with pytest.raises(JobError, match="line 8") as caught:
        job_from(tmp_path, BENCH.replace(*change.split("|")))
    message = caught.value.problems[0].message
    assert message.endswith(hint) if hint else "with a point" not in message


@pytest.mark.parametrize(
    ("key", "meant"),
    [("leg_widht_mm", "leg_width_mm"), ("leg_widht_in", "leg_width_in")],
)
def test_a_misspelt_key_is_one_mistake_and_told_the_name(
    tmp_path: Path, key: str, meant: str
) -> None:
    with pytest.raises(JobError) as caught:
        job_from(tmp_path, BENCH.replace("leg_width_mm", key))
    (problem,) = caught.value.problems
    assert problem.field == f"joint[0].parameters.{key}"
    assert problem.message == f"is not a known name; did you mean {meant}?"


def test_a_name_that_is_given_is_not_what_an_unknown_name_means(tmp_path: Path) -> None:
    """leg_width_mm stands in the file, so that leg_widht_mm is no slip for it alone."""
    with pytest.raises(JobError) as caught:
        job_from(tmp_path, BENCH + "leg_widht_mm = 66\n")
    assert "leg_width_mm?" not in caught.value.problems[0].message


@pytest.mark.parametrize(
    ("change", "field", "allowed"),
    [
        (
            'type = "splayed_bridle"|',
            "joint[0].type",
            "one of angled_box_joint, angled_butt, angled_tenon",
        ),
        ("[[joint]]|[joint]", "joint", "[[joint]] in double brackets, each with a type, one of"),
        ('"porch"|"attic"', "fixture", 'one of "porch", or the path of a .toml file'),
        ("leg_width_mm = 66|leg_width_in = 66", "joint[0].parameters.leg_width_in", "19.685 in"),
    ],
)
def test_what_is_allowed_is_named(tmp_path: Path, change: str, field: str, allowed: str) -> None:
    """500 mm, the widest leg, is 19.685 in (500 / 25.4, down to 0.001)."""
    with pytest.raises(JobError) as caught:
        job_from(tmp_path, BENCH.replace(*change.split("|"), 1))
    problem = caught.value.problems[0]
    assert problem.field == field
    assert allowed in problem.allowed


@pytest.mark.parametrize("far", ["", 'far = { cut = "parallel" }\n'])
def test_a_length_against_the_joints_own_is_refused(tmp_path: Path, far: str) -> None:
    with pytest.raises(JobError) as caught:
        job_from(tmp_path, BENCH + MEMBER + far + "length_mm = 350\n")
    (problem,) = caught.value.problems
    assert problem.field == "member[0].length_mm"
    for words in ("member 'leg'", "joint 'leg'", "350 mm here", "430 mm there", "leave one out"):
        assert words in str(problem)


def test_a_length_against_what_both_ends_agree_on_is_refused(tmp_path: Path) -> None:
    text = PLANTER.replace("length_b_mm = 300", "length_b_mm = 320")
    far = 'far = { cut = "joint", joint = "corner", part = "b" }\n'
    with pytest.raises(JobError, match="320 mm there"):
        job_from(tmp_path, text + far + "length_mm = 310\n")
    assert job_from(tmp_path, text + far + "length_mm = 320\n").ends


def test_a_length_stands_where_the_ends_disagree_or_say_the_same(tmp_path: Path) -> None:
    far = 'far = { cut = "joint", joint = "corner", part = "b" }\n'
    answer = job_from(tmp_path, PLANTER + far + "length_mm = 310\n")
    assert {e.part.length_mm for e in answer.ends} == {310.0}
    same = job_from(tmp_path, BENCH + MEMBER + "length_mm = 430\n")
    assert {e.part.length_mm for e in same.ends} == {430.0}


@pytest.mark.parametrize("where", ["near", "far"])
def test_a_part_with_nothing_to_cut_is_refused_and_not_dropped(tmp_path: Path, where: str) -> None:
    leg = '{ cut = "joint", joint = "leg", part = "leg" }'
    rail = leg.replace('part = "leg"', 'part = "rail"')
    member = f"near = {rail}\n" if where == "near" else f"near = {leg}\nfar = {rail}\n"
    with pytest.raises(JobError) as caught:
        job_from(tmp_path, BENCH + '[[member]]\nname = "rail"\n' + member)
    (problem,) = caught.value.problems
    assert problem.field == f"member[0].{where}.part"
    assert problem.message == "'rail' has no end that is cut on this fixture"
    assert problem.allowed == "'leg'"
