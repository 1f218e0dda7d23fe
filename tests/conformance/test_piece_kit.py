"""The kit for piece types: each check finds what it is for, tells what to do, finds nothing else.

What a check must find is in no book: each is held against a type that is broken in that one way
(``broken_pieces``) and against types that are sound.
"""

from __future__ import annotations

import subprocess
import sys

import pytest

from jointgeo.conformance import PIECE_CHECKS, check_piece_type, every_piece_check
from jointgeo.conformance.pieces.kit import PieceCase, run_piece_check
from jointgeo.conformance.pieces.subject import PieceSubject
from jointgeo.errors import InputError
from jointgeo.pieces.registry import piece_types

from .broken_pieces import BROKEN, MORE, Footstool, Stool

#: Faults that the checks of a piece may see as well as the one that is for them.
SEEN_TWICE = {"goes_together": {"examples"}, "stands": {"examples"}}

#: Faults that an example of round sizes does not show.
NEAR = {"examples", "json_round_trip"}

SHIPPED = {cls: PieceSubject(cls, wanted=1) for cls in piece_types().values()}


@pytest.mark.parametrize("check", PIECE_CHECKS)
@pytest.mark.parametrize("cls", SHIPPED, ids=lambda cls: cls.name)
def test_every_installed_piece_type_conforms(cls: type, check: str) -> None:
    PieceCase(check, SHIPPED[cls])()


def test_the_sound_type_conforms() -> None:
    report = check_piece_type(Stool)
    assert report.passed, str(report)
    assert [f.check for f in report.findings] == list(PIECE_CHECKS)
    assert all(f.outcome == "passed" and f.tried for f in report.findings)
    assert str(report).startswith("footstool: conforms")


def test_there_is_one_broken_type_for_each_check() -> None:
    assert set(BROKEN) == set(PIECE_CHECKS)


@pytest.mark.parametrize("check", PIECE_CHECKS)
def test_a_broken_type_fails_its_check_and_no_other(check: str) -> None:
    cls, tells = BROKEN[check]
    subject = PieceSubject(cls, wanted=int(check in NEAR))
    # At the limits of all fields a piece is solved forty times over: once is enough.
    names = [name for name in PIECE_CHECKS if name != "limits" or check == name]
    findings = {name: run_piece_check(name, subject) for name in names}
    failed = {name: str(f) for name, f in findings.items() if f.outcome == "failed"}
    assert check in failed
    assert set(failed) <= {check} | SEEN_TWICE.get(check, set()), failed
    assert any(tells in fault for fault in findings[check].faults), findings[check].faults


@pytest.mark.parametrize("what", MORE)
def test_a_further_fault_is_told(what: str) -> None:
    check, cls, tells = MORE[what]
    finding = run_piece_check(check, PieceSubject(cls, wanted=0))
    assert finding.outcome == "failed"
    assert any(tells in fault for fault in finding.faults), finding.faults


def test_exemptions_are_those_of_the_other_kit() -> None:
    cls, _ = BROKEN["fields"]
    why = "the legs speak for themselves"
    finding = run_piece_check("fields", PieceSubject(cls), why)
    assert (finding.outcome, finding.reason) == ("exempted", why)
    assert run_piece_check("fields", PieceSubject(Stool), why).outcome == "failed"
    with pytest.raises(pytest.xfail.Exception, match="speak for themselves"):
        PieceCase("fields", PieceSubject(cls), why)()
    with pytest.raises(AssertionError, match="leg_mm: help must be"):
        PieceCase("fields", PieceSubject(cls))()
    for exempt, words in (({"no_such": why}, "is no check"), ({"fields": " "}, "needs a reason")):
        with pytest.raises(InputError, match=words):
            check_piece_type(Stool, exempt=exempt)
        with pytest.raises(InputError, match=words):
            every_piece_check(Stool, exempt={Stool.name: exempt})
    with pytest.raises(InputError, match="is not tested"):
        every_piece_check(Stool, exempt={"another": {"fields": why}})
    with pytest.raises(InputError, match="is empty"):
        every_piece_check()


def test_the_twin_has_every_check_of_every_class() -> None:
    cases = every_piece_check(Stool, Footstool).args[1]
    assert [c.id for c in cases] == [f"footstool-{check}" for check in PIECE_CHECKS] * 2


def test_on_the_command_line() -> None:
    def run(*names: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "jointgeo.conformance", *names]
        return subprocess.run(command, capture_output=True, text=True, check=False)

    done = run("splayed_table")
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("splayed_table: conforms")
    unknown = run("no_such_type")
    assert unknown.returncode == 2
    assert "angled_tenon" in unknown.stderr
    assert "splayed_table" in unknown.stderr
