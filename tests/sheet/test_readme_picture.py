"""The picture that the README shows is the one that the library draws today.

After a change that is meant, draw it again:

    .venv-test/bin/python -m tests.sheet.test_readme_picture
"""

from __future__ import annotations

from pathlib import Path

from jointgeo.jobs.file import load_job
from jointgeo.jobs.solve import solve_job
from jointgeo.sheet import sheet_of_job
from jointgeo.sheet.aside import from_the_side

PICTURE = Path(__file__).parents[2] / ".readme" / "bench-from-the-side.svg"


def drawn() -> str:
    """The bench's leg, as drawn, on the demo fixture from the side."""
    sheet = sheet_of_job(solve_job(load_job("bench")))
    near = [e for e in sheet.ends if e.setups[0].plan.cuts]
    end = next(e for e in near if e.solution.uses[0].hand == "as_drawn")
    return from_the_side(end.setups[0].scene).svg("bench") + "\n"


def test_the_readmes_picture_is_current() -> None:
    assert PICTURE.read_text("utf-8") == drawn(), __doc__


if __name__ == "__main__":
    PICTURE.parent.mkdir(exist_ok=True)
    PICTURE.write_text(drawn(), "utf-8")
