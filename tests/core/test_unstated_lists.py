"""A fixture file that does not say what beams or bodies there are: nothing is then known to clear.

Expected statuses follow from the places of the solids in ``samples``, by hand.
"""

from __future__ import annotations

import tomllib

import attrs
import pytest

import jointgeo
from jointgeo.fixtures.file import read_fixture
from jointgeo.fixtures.model import STATED_LISTS, Fixture
from jointgeo.fixtures.text import fixture_tables, fixture_toml

from .samples import BEAM, FIXTURE, changed, checks_of, fixture_with, part_at, without

FOULING = ("front_beam", "bodies", "cutter_clearance")


def told(fixture: Fixture, part: object = None) -> dict[str, str]:
    found = checks_of(part or part_at(), fixture)
    return {name: found[name].status for name in FOULING if name in found}


def test_the_lists_that_must_be_stated() -> None:
    assert STATED_LISTS == ("front_beam", "body")


def test_an_empty_list_says_that_there_is_none() -> None:
    assert told(fixture_with()) == {"cutter_clearance": "pass"}


@pytest.mark.parametrize(
    ("left_out", "expected"),
    [
        (["front_beam"], {"front_beam": "not_stated", "cutter_clearance": "not_stated"}),
        (["body"], {"bodies": "not_stated", "cutter_clearance": "not_stated"}),
        (["front_beam", "body"], dict.fromkeys(FOULING, "not_stated")),
    ],
)
def test_what_needs_a_list_that_is_left_out_is_not_stated(left_out, expected) -> None:
    fixture = fixture_with(dict.fromkeys(left_out))
    assert told(fixture) == expected
    for name in expected:
        check = checks_of(part_at(), fixture)[name]
        assert [k for k in left_out if f"{k} = []" in check.because] == [
            k for k in left_out if k in check.remedies[0].amounts["keys"]
        ]
        assert check.remedies[0].amounts["keys"]


def test_a_beam_that_is_listed_is_clear_of_stock_only_while_bodies_are_not() -> None:
    """At 4000 mm nothing reaches it; at 1 mm the stock itself does, whatever else swings."""
    far = {"front_beam": [BEAM], "body": None}
    assert told(fixture_with(far))["front_beam"] == "not_stated"
    assert told(fixture_with({**far, "body": []}))["front_beam"] == "pass"
    near = {"front_beam": [{**BEAM, "face_distance_mm": 1}], "body": None}
    assert told(fixture_with(near))["front_beam"] == "fail"


def test_the_verdict_is_never_plainly_feasible() -> None:
    joint = next(iter(jointgeo.joint_types().values())).examples()[0]
    half = read_fixture({k: v for k, v in FIXTURE.items() if k not in STATED_LISTS})
    whole = jointgeo.solve(joint, read_fixture(FIXTURE))
    answer = jointgeo.solve(joint, half)
    assert whole.not_stated == 0
    assert answer.not_stated == 3
    assert answer.status == whole.status


@pytest.mark.parametrize("left_out", [(), ("body",), ("front_beam",), ("front_beam", "body")])
def test_what_a_file_leaves_open_it_leaves_open_when_written(left_out) -> None:
    data = FIXTURE
    for key in left_out:
        data = without(data, key)
    fixture = read_fixture(data)
    assert fixture.unstated == frozenset(left_out)
    written = fixture_toml(fixture)
    assert [k for k in STATED_LISTS if f"\n{k} = []\n" in written] == [
        k for k in STATED_LISTS if k not in left_out
    ]
    for again in (read_fixture(tomllib.loads(written)), read_fixture(fixture_tables(fixture))):
        assert again == fixture
        assert again.unstated == fixture.unstated
    assert (fixture == read_fixture(FIXTURE)) == (not left_out)


def test_a_fixture_made_in_python_states_what_it_has() -> None:
    """And one that was read states what is put in."""
    made = attrs.evolve(jointgeo.load_fixture("porch"), front_beam=(), body=())
    assert not any(made.leaves_open(name) for name in STATED_LISTS)
    half = fixture_with({"front_beam": None})
    assert half.leaves_open("front_beam")
    beams = fixture_with({"front_beam": [BEAM]}).front_beam
    assert not attrs.evolve(half, front_beam=beams).leaves_open("front_beam")


def test_no_file_may_set_what_it_leaves_open() -> None:
    with pytest.raises(jointgeo.FixtureError, match="unstated: is not a known name"):
        read_fixture(changed(FIXTURE, {"unstated": ["body"]}))
