"""The soak, for a few seconds: a slow, a lying and a dying joint type cost nobody an answer."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="memory is read from /proc")
def test_nothing_is_lost_or_wrong_beside_three_bad_types() -> None:
    script = Path(__file__).with_name("soak.py")
    done = subprocess.run(
        [sys.executable, str(script), "--seconds", "4"], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "lost or wrong: 0\n" in done.stdout
    for what in ("settings: 200", "fault injected", "clumsy client", "health: 200"):
        assert int(re.findall(rf"^{what}: (\d+)$", done.stdout, re.MULTILINE)[0]) > 0
