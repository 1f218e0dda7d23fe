"""Words that were given up do not come back: each had two meanings, or was nobody's but ours.

Source: our choice. The trade's word, or the field's, stands beside each.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
#: What was said, as a pattern, and what is said in its place.
GIVEN_UP = {
    r"does not fit\b": "not feasible, of a fixture; does not go together, of parts",
    r"fits, with c": "feasible with cautions",
    r"\blearn(t|ed|ing)\b": "calibrated, found",
    r"\bfit-fixture\b": "estimate-fixture",
    r"--(write|replace|out)\b(?!-)": "--output, --overwrite",
    r"\b(setting|setup) \{": "operation, clamping",
    r"\blow beam\b|\bcranked\b": "straight beam, set-back beam",
    r"\binner plate\b|\bouter plate\b": "fixed plate, tilting plate",
    r"\bclosed (tilt|stop)\b": "tilt at its stop",
    r"\btilt.bracket\b": "quadrant",
    r"\bstrangers?\b": "third party, plug-in; unknown",
    r"\bfloor line": "bottom of the cuts",
    r"\b(sheaf|sheaves|upkeep)\b": "a plain word",
}
READ = sorted(
    path
    for folder in ("jointgeo", "service", "clients")
    for path in (ROOT / folder).rglob("*")
    if path.suffix in {".py", ".toml", ".bas", ".gs"}
)


@pytest.mark.parametrize("pattern", GIVEN_UP)
def test_a_word_that_was_given_up_is_not_used(pattern: str) -> None:
    assert len(READ) > 300, "or the files are elsewhere"
    old = re.compile(pattern, re.IGNORECASE)
    found = [
        f"{path.relative_to(ROOT)}:{n}: {line.strip()}"
        for path in READ
        for n, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if old.search(line)
    ]
    assert not found, f"say {GIVEN_UP[pattern]}: {found}"
