"""``python -m jointgeo.conformance [NAME …]``: the kits on installed joint types and piece types.

Knows the kits and the registries. Exit codes: 0 all conform, 1 one does not or cannot be
used, 2 unknown name, 4 the report cannot be written.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import partial

import attrs

from jointgeo.conformance.kit import check_joint_type
from jointgeo.conformance.pieces.kit import check_piece_type
from jointgeo.conformance.report import Report
from jointgeo.errors import JointgeoError, UnknownNameError
from jointgeo.joints.registry import failures, joint_type, joint_types
from jointgeo.output import ready
from jointgeo.pieces.registry import piece_failures, piece_type, piece_types


def _runs(names: list[str]) -> list[Callable[[], Report]]:
    """The kit of every type named, or of every one there is; UnknownNameError for no type."""
    if not names:
        joints = [partial(check_joint_type, cls) for cls in joint_types().values()]
        return [*joints, *(partial(check_piece_type, cls) for cls in piece_types().values())]
    out: list[Callable[[], Report]] = []
    for name in names:
        try:
            out.append(partial(check_joint_type, joint_type(name)))
        except UnknownNameError as error:
            if name not in {*piece_types(), *(f.name for f in piece_failures())}:
                known = ", ".join([*joint_types(), *piece_types()])
                problems = (attrs.evolve(p, allowed=f"one of {known}") for p in error.problems)
                raise UnknownNameError(*problems) from None
            out.append(partial(check_piece_type, piece_type(name)))
    return out


def main(names: list[str]) -> int:
    """Print a report for each name, or for every type there is."""
    writing = ready()
    try:
        runs = _runs(names)
    except JointgeoError as error:
        print(error, file=sys.stderr)
        return 2
    conform = True
    try:
        for run in runs:
            report = run()
            conform = conform and report.passed
            print(report, flush=True)
        for failure in () if names else (*failures(), *piece_failures()):
            conform = False
            print(f"refused: {failure}", flush=True)
    except BrokenPipeError:
        # The reader (a pager, `head`) has gone; what is left to write has nowhere to go.
        writing.give_up()
    except OSError as error:
        return writing.lost(error)
    return writing.finish(0 if conform else 1)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
