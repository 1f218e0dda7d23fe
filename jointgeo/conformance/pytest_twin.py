"""The kit as pytest tests: one test for each check of each type.

Knows the kit; pytest is imported only when it is asked for, so that the kit works without.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import attrs

from jointgeo.conformance.kit import CHECKS, checked_exemptions, run_check
from jointgeo.conformance.subject import Subject
from jointgeo.errors import InputError, MissingExtraError, Problem, shown
from jointgeo.joints.joint_type import JointType

if TYPE_CHECKING:
    import pytest

__all__ = ["Case", "every_check", "pytest_cases"]


@attrs.frozen
class Case:
    """One check of one type; call it to run it. AssertionError with the finding if it fails."""

    check: str
    subject: Subject = attrs.field(repr=False)
    reason: str = ""

    def __call__(self) -> None:
        finding = run_check(self.check, self.subject, self.reason)
        if finding.outcome == "exempted":
            _pytest().xfail(str(finding))
        if finding.outcome == "not made":  # what is in its way has failed the run already
            _pytest().skip(str(finding))
        if finding.outcome == "failed":
            raise AssertionError(str(finding))


def pytest_cases(
    *classes: type[JointType], exempt: Mapping[str, Mapping[str, str]] | None = None
) -> list[Any]:
    """Parameters for ``pytest.mark.parametrize``: every check of every class.

    exempt: {joint type: {check: reason}}. A check that is exempted still runs, and is
    reported as an expected failure with its reason; if it passes, that is a failure.
    Raises InputError for no class at all, and for an exemption from what is not there.
    """
    if not classes:
        raise InputError(Problem("classes", "is empty", None, "at least one joint type"))
    subjects = [Subject(cls) for cls in classes]
    reasons = {name: checked_exemptions(given) for name, given in (exempt or {}).items()}
    names = [s.name for s in subjects]
    if unknown := [name for name in reasons if name not in names]:
        allowed = "one of " + ", ".join(names)
        raise InputError(*(Problem("exempt", "is not tested", shown(n), allowed) for n in unknown))
    param = _pytest().param
    return [
        param(Case(check, s, reasons.get(s.name, {}).get(check, "")), id=f"{s.name}-{check}")
        for s in subjects
        for check in CHECKS
    ]


def every_check(
    *classes: type[JointType], exempt: Mapping[str, Mapping[str, str]] | None = None
) -> pytest.MarkDecorator:
    """Decorates a test that takes ``case`` and calls it; see ``pytest_cases``."""
    mark: pytest.MarkDecorator = _pytest().mark.parametrize(
        "case", pytest_cases(*classes, exempt=exempt)
    )
    return mark


def _pytest() -> Any:
    try:
        import pytest
    except ImportError as error:
        raise MissingExtraError(
            "the kit's tests need pytest: pip install pytest; check_joint_type does without"
        ) from error
    return pytest
