"""The kit that lets third parties add joints safely: every check, on every type, no choosing.

    report = jointgeo.conformance.check_joint_type(MyJoint)
    print(report)                       # report.passed, report.failed

or, in the plug-in's own tests, one test for each check:

    @jointgeo.conformance.every_check(MyJoint)
    def test_conforms(case):
        case()

or ``python -m jointgeo.conformance my_joint`` for an installed one. Piece types likewise, with
``check_piece_type`` and ``every_piece_check``; their kit stands in ``pieces/``.

Knows the whole library and the dry fit, and no joint type by name. The dry fit needs the
extra ``proof``, ``every_check`` and ``pytest_cases`` need pytest; importing needs neither.
"""

from jointgeo.conformance.kit import CHECKS, check_joint_type
from jointgeo.conformance.pieces.kit import PIECE_CHECKS, check_piece_type, every_piece_check
from jointgeo.conformance.pytest_twin import Case, every_check, pytest_cases
from jointgeo.conformance.report import Finding, Report

__all__ = [
    "CHECKS",
    "PIECE_CHECKS",
    "Case",
    "Finding",
    "Report",
    "check_joint_type",
    "check_piece_type",
    "every_check",
    "every_piece_check",
    "pytest_cases",
]
