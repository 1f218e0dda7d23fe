"""Each check finds what it is for, finds nothing else, and cannot be left out.

What a check must find is in no book: each is held against a type that is broken in that
one way (``broken``) and against types that are sound.
"""

from __future__ import annotations

import inspect
import subprocess
import sys
from typing import Any

import attrs
import pytest

import jointgeo
from jointgeo.conformance import CHECKS, check_joint_type, every_check, pytest_cases
from jointgeo.conformance.kit import report_on, run_check
from jointgeo.conformance.pytest_twin import Case
from jointgeo.conformance.subject import Subject
from jointgeo.errors import InputError, Problem
from jointgeo.plugin import Bar, Vec, X, Y, Z, mortise

from .broken import BROKEN
from .silent import SILENT
from .sound import CornerHalfLap, HalfLap


@every_check(*jointgeo.joint_types().values())
def test_every_installed_type_conforms(case: Case) -> None:
    case()


def test_the_sound_type_conforms() -> None:
    report = report_on(Subject(CornerHalfLap, wanted=5, anywhere=10), {})
    assert report.passed, str(report)
    assert [f.check for f in report.findings] == list(CHECKS)
    assert all(f.outcome == "passed" and f.tried for f in report.findings)


def test_there_is_one_broken_type_for_each_check() -> None:
    assert set(BROKEN) == set(CHECKS)


@pytest.mark.parametrize("check", CHECKS)
def test_a_broken_type_fails_its_check_and_no_other(check: str) -> None:
    subject = Subject(BROKEN[check], wanted=1, anywhere=6)
    findings = {name: run_check(name, subject) for name in CHECKS}
    failed = {name: str(f) for name, f in findings.items() if f.outcome == "failed"}
    assert set(failed) == {check}, failed


@pytest.mark.parametrize("what", SILENT)
def test_a_fault_that_raises_nothing_is_seen(what: str) -> None:
    cls, checks = SILENT[what]
    subject = Subject(cls, wanted=1, anywhere=6)
    findings = {name: run_check(name, subject) for name in CHECKS}
    failed = {name: str(f) for name, f in findings.items() if f.outcome == "failed"}
    assert set(failed) == checks, failed


#: What a person who wrote the broken type is told to do.
TELLS = {
    "claims": "fit_mm: nothing reads it back; return it from measure() where two bars show it, "
    "from sizes() where only the cuts do",
    "between": "measure() must look at the bars, not at the axes of draw()",
    "dimensions": "mend the sign or the place in draw(), or the declaration",
    "range_ends": "let it be drawn, or refuse it in __attrs_post_init__ with an InputError",
    "remembers_nothing": "a cache must have every parameter it depends on in its key",
    "quiet": "return a note from notes(), or use logging",
    "pace": "look for work done again and again in draw()",
    "marks": "let mortise, groove, housing or bevel make it",
}


@pytest.mark.parametrize("check", TELLS)
def test_a_fault_says_what_to_do(check: str) -> None:
    finding = run_check(check, Subject(BROKEN[check], wanted=1, anywhere=6))
    assert TELLS[check] in finding.faults[0]


def test_a_length_and_an_angle_without_a_declaration_are_named() -> None:
    for what, named in (
        (
            "a length without a declaration",
            "fit_mm: it declares no dimension; give its field a Length",
        ),
        (
            "an angle without a declaration",
            "corner_deg: it declares no dimension; give its field a Turn",
        ),
    ):
        finding = run_check("dimensions", Subject(SILENT[what][0], wanted=1, anywhere=2))
        assert finding.faults[0].startswith(named)


def test_nobody_writes_the_marks_of_a_mortise() -> None:
    """They follow from where it lies: moved by 3 mm it is gauged from 3 mm further in."""
    assert "marks" not in inspect.signature(mortise).parameters
    rail = Bar.cornered("rail", (60, 30, 400), X, Z, -Y, Vec(0.0, 0.0, 0.0))
    one, two = (
        mortise(rail, "face_side", "mortise", Vec(200.0, y, 0.0), 40, 10, 25) for y in (20, 23)
    )
    expected = {"length_mm": 40, "width_mm": 10, "depth_mm": 25, "from_face_edge_mm": 15}
    assert one.marks == pytest.approx(expected, abs=1e-9)
    assert two.marks == pytest.approx(expected | {"from_face_edge_mm": 18}, abs=1e-9)


def test_the_report_names_what_failed_and_says_why() -> None:
    report = report_on(Subject(BROKEN["fields"], wanted=1, anywhere=2), {})
    assert not report.passed
    assert report.failed == ("fields",)
    text = str(report)
    assert "1 of 23 fail" in text
    assert "failed   fields" in text
    assert "width_a_mm: help must be a line of 3 words or more, not 'Width'" in text


@pytest.mark.parametrize(
    ("exempt", "words"),
    [
        ({"no_such_check": "a reason"}, "is no check"),
        ({"fields": ""}, "needs a reason"),
        ({"fields": "  "}, "needs a reason"),
        ({"fields": None}, "needs a reason"),
    ],
)
def test_an_exemption_that_cannot_be_used_is_an_error(exempt: Any, words: str) -> None:
    with pytest.raises(InputError, match=words):
        check_joint_type(HalfLap, exempt=exempt)
    with pytest.raises(InputError, match=words):
        pytest_cases(HalfLap, exempt={HalfLap.name: exempt})


def test_an_exemption_from_a_type_that_is_not_tested_is_an_error() -> None:
    with pytest.raises(InputError, match="is not tested"):
        pytest_cases(HalfLap, exempt={"another": {"fields": "a reason"}})


def test_an_exempted_check_runs_and_is_listed() -> None:
    why = "the width speaks for itself"
    finding = run_check("fields", Subject(BROKEN["fields"]), why)
    assert finding.outcome == "exempted"
    assert finding.reason == why
    assert finding.faults
    report = report_on(Subject(BROKEN["fields"], wanted=1, anywhere=2), {"fields": why})
    assert report.passed
    assert report.exemptions == {"fields": why}
    assert f"exempted because {why}" in str(report)
    assert "conforms, 1 exempted" in str(report)


def test_an_exemption_that_is_no_longer_needed_fails() -> None:
    finding = run_check("fields", Subject(HalfLap), "it was broken once")
    assert finding.outcome == "failed"
    assert "take its exemption away" in finding.faults[0]


def test_the_twin_has_every_check_of_every_class() -> None:
    cases = pytest_cases(HalfLap, BROKEN["fields"])
    assert [(c.values[0].subject.cls, c.values[0].check) for c in cases] == [
        (cls, check) for cls in (HalfLap, BROKEN["fields"]) for check in CHECKS
    ]
    with pytest.raises(InputError, match="is empty"):
        pytest_cases()


def test_the_twin_fails_passes_and_expects_failure_as_the_report_does() -> None:
    Case("fields", Subject(HalfLap))()
    with pytest.raises(AssertionError, match="width_a_mm"):
        Case("fields", Subject(BROKEN["fields"]))()
    with pytest.raises(pytest.xfail.Exception, match="speaks for itself"):
        Case("fields", Subject(BROKEN["fields"]), "the width speaks for itself")()
    with pytest.raises(AssertionError, match="take its exemption away"):
        Case("fields", Subject(HalfLap), "it was broken once")()


def test_too_few_random_joints_fail_the_laws() -> None:
    """All random joints are refused, examples pass: a proof of two joints only is no proof."""

    class Choosy(HalfLap):
        def __attrs_post_init__(self) -> None:
            if self.width_a_mm != 60:
                raise InputError(Problem("width_a_mm", "is not to my liking"))

    finding = run_check("laws", Subject(attrs.frozen(Choosy)))
    assert finding.outcome == "failed"
    assert finding.faults == (
        "only 0 of 800 joints drawn near the examples are taken and feasible; 20 are wanted. At "
        "last: width_a_mm: is not to my liking",
    )


def test_too_few_joints_from_the_whole_ranges_fail_that_check() -> None:
    class Narrow(HalfLap):
        def __attrs_post_init__(self) -> None:
            if not 80 < self.corner_deg < 81:  # a hundredth of what its field says
                raise InputError(Problem("corner_deg", "is not to my liking"))

    finding = run_check("whole_range", Subject(attrs.frozen(Narrow), anywhere=10))
    assert finding.outcome == "failed"
    assert "of 400 sets of parameters are taken, and 10 are wanted" in finding.faults[0]


def test_a_type_that_raises_stops_no_other_check() -> None:
    class Careless(HalfLap):
        @classmethod
        def examples(cls) -> Any:
            raise ZeroDivisionError("by nothing")

    subject = Subject(attrs.frozen(Careless))
    outcomes = {name: run_check(name, subject) for name in CHECKS}
    assert "ZeroDivisionError: by nothing (test_kit.py" in outcomes["schema"].faults[0]
    assert outcomes["declaration"].outcome == "passed"
    assert outcomes["laws"].outcome == "not made"
    assert "what is told under schema stands in its way" in str(outcomes["laws"])
    told = [name for name, f in outcomes.items() if f.faults]
    assert told == ["schema"]  # once, and not under each check that needs an example
    alone = run_check("laws", Subject(attrs.frozen(Careless)))
    assert "by nothing" in alone.faults[0]


def test_what_is_not_made_skips_in_pytest_and_what_stands_in_its_way_fails() -> None:
    class Careless(HalfLap):
        @classmethod
        def examples(cls) -> Any:
            raise ZeroDivisionError("by nothing")

    subject = Subject(attrs.frozen(Careless))
    with pytest.raises(AssertionError, match="by nothing"):
        Case("examples", subject)()
    with pytest.raises(pytest.skip.Exception, match="told under examples"):
        Case("laws", subject)()


def test_a_class_that_no_other_process_can_find_is_told() -> None:
    class Hidden(HalfLap):
        pass

    finding = run_check("remembers_nothing", Subject(attrs.frozen(Hidden), wanted=1, anywhere=1))
    assert finding.outcome == "failed"
    assert "cannot be used in a process of its own" in finding.faults[0]


def test_the_same_draws_every_time() -> None:
    one, two = (Subject(HalfLap, wanted=5, anywhere=5) for _ in range(2))
    assert one.draws == two.draws
    assert [a.parameters for a in one.wild] == [a.parameters for a in two.wild]
    assert len({repr(p) for p in one.draws.parameters}) == 5


NO_KERNEL = """
import sys
sys.modules["manifold3d"] = None
from jointgeo import joint_types
from jointgeo.conformance.kit import run_check
from jointgeo.conformance.subject import Subject
subject = Subject(next(iter(joint_types().values())), wanted=1)
for name in ("fields", "dimensions", "laws"):
    finding = run_check(name, subject)
    print(finding.outcome, *finding.faults, finding.told_under)
"""


def test_without_the_kernel_what_needs_it_fails_and_says_what_to_install() -> None:
    """A check that cannot be made is no check passed."""
    done = subprocess.run(
        [sys.executable, "-c", NO_KERNEL], capture_output=True, text=True, check=True
    )
    fields, first, second = done.stdout.splitlines()
    assert fields == "passed "
    assert first.startswith("failed ")
    assert "python -m pip install '.[proof]'" in first
    assert second == "not made dimensions"


NO_PYTEST = """
import sys
sys.modules["pytest"] = None
import jointgeo
from jointgeo.conformance import check_joint_type, every_check
print(jointgeo.conformance.CHECKS["fields"])
try:
    every_check(*jointgeo.joint_types().values())
except jointgeo.JointgeoError as error:
    print(error)
"""


def test_without_pytest_only_the_twin_is_missing() -> None:
    done = subprocess.run(
        [sys.executable, "-c", NO_PYTEST], capture_output=True, text=True, check=True
    )
    first, second = done.stdout.splitlines()
    assert first == CHECKS["fields"]
    assert "pip install pytest" in second


def test_on_the_command_line_a_report_and_an_exit_code() -> None:
    run = [sys.executable, "-m", "jointgeo.conformance"]
    done = subprocess.run([*run, "no_such_joint"], capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "no_such_joint" in done.stderr
