"""The README's picture is what the library draws today: what the six-sided planter asks for.

The smallest change is looked for, made, and the quadrant and the fence's slots drawn for it. After
a change that is meant, draw it again:

    .venv-test/bin/python -m tests.fixture_parts.test_readme_picture
"""

from __future__ import annotations

import re
from pathlib import Path

import attrs

from jointgeo.fixture_changes import what_would_do
from jointgeo.fixture_parts import fixture_part
from jointgeo.fixture_parts.drawing import draw
from jointgeo.pieces.answerfile import solve_piece_file
from jointgeo.pieces.file import load_piece
from jointgeo.proof import fit_piece

PICTURE = Path(__file__).parents[2] / ".readme" / "quadrant-and-slots.svg"
SCALE, APART_MM = 0.25, 12.0


def changed():
    """The planter, and the porch fixture as changed for it."""
    planter = load_piece("porch-planter-six")
    found = what_would_do([solve_piece_file(planter).answer], planter.fixture)
    assert found.best is not None
    return planter, found.best.fixture


def drawn() -> str:
    """Quadrant and slots beside each other, millimetres."""
    _, fixture = changed()
    inner, right, high = [], 0.0, 0.0
    for name in ("tilt_quadrant", "swivel_slots"):
        text = draw(fixture_part(fixture, name), SCALE).svg(name)
        size = re.search(r'width="([\d.]+)mm" height="([\d.]+)mm"', text)
        assert size is not None
        wide, tall = map(float, size.groups())
        at = f'x="{right:.3f}" y="0" width="{wide}" height="{tall}"'
        inner.append(text.replace(size.group(0), at, 1))
        right, high = right + wide + APART_MM, max(high, tall)
    wide = right - APART_MM
    head = f'width="{wide:.3f}mm" height="{high:.3f}mm" viewBox="0 0 {wide:.3f} {high:.3f}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{"".join(inner)}</svg>\n'


def test_the_readmes_picture_is_current() -> None:
    assert PICTURE.read_text("utf-8") == drawn(), __doc__


def test_what_it_is_drawn_for_is_feasible_and_goes_together() -> None:
    planter, fixture = changed()
    answer = solve_piece_file(attrs.evolve(planter, fixture=fixture)).answer
    assert answer.feasible
    assert fit_piece(answer.bars_dict()).goes_together


if __name__ == "__main__":
    PICTURE.parent.mkdir(exist_ok=True)
    PICTURE.write_text(drawn(), "utf-8")
