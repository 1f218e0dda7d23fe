"""``python -m jointgeo.conformance [NAME …]``: the kit on installed joint types.

Knows the kit and the registry. Exit codes: 0 all conform, 1 one does not or cannot be
used, 2 unknown name.
"""

from __future__ import annotations

import os
import sys

from jointgeo.conformance.kit import check_joint_type
from jointgeo.errors import JointgeoError
from jointgeo.joints.registry import failures, joint_type, joint_types


def main(names: list[str]) -> int:
    """Print a report for each name, or for every joint type there is."""
    try:
        classes = [joint_type(n) for n in names] if names else list(joint_types().values())
    except JointgeoError as error:
        print(error, file=sys.stderr)
        return 2
    conform = True
    try:
        for cls in classes:
            report = check_joint_type(cls)
            conform = conform and report.passed
            print(report, flush=True)
        for failure in () if names else failures():
            conform = False
            print(f"refused: {failure}", flush=True)
    except BrokenPipeError:
        # The reader (a pager, `head`) has gone; what is left to write has nowhere to go.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return 0 if conform else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
