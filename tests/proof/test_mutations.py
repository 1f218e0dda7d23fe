"""53 wrong joints, one wrong thing in each: every one must be noticed, by the laws it names.

The laws that must notice are those for which the change is a fault of that very kind; that others
notice too is no fault of theirs.
"""

from __future__ import annotations

import pytest

from jointgeo import JointType
from jointgeo.proof import dry_fit

from .mutations import CASES, CLAIMS_OFF, Case, noticed
from .samples import named, solved


@named
def test_unchanged_they_are_right(joint: JointType) -> None:
    assert [c for c in joint.claims() if not c.off <= CLAIMS_OFF] == []
    assert dry_fit(solved(joint)).faults == ()


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.id)
def test_is_noticed(case: Case) -> None:
    missed = set(case.laws.split()) - noticed(case)
    assert not missed, case.what


def test_each_is_tried_once() -> None:
    assert len({case.id for case in CASES}) == len(CASES) == 53
    # Every law is needed by one of them at least.
    laws = {"claims", "settings", "twice", "lost", "bears", "apart", "cone"}
    assert {law for case in CASES for law in case.laws.split()} == laws
