"""Job files as a person writes them, for the tests of jobs to change a line of."""

from __future__ import annotations

import tomllib
from pathlib import Path

from jointgeo.jobs.file import load_job
from jointgeo.jobs.solve import JobAnswer, solve_job

BENCH = """
title = "Trial bench"
fixture = "porch"
[[joint]]
name = "leg"
type = "splayed_bridle"
[joint.parameters]
leg_width_mm = 66
leg_thickness_mm = 44
leg_length_mm = 430
rail_thickness_mm = 30
tongue_thickness_mm = 22
rail_depth_mm = 60
rail_length_mm = 900
splay_along_deg = 12
splay_across_deg = 8
"""


LEG = tomllib.loads(BENCH)["joint"][0]["parameters"]


MEMBER = """
[[member]]
name = "leg"
near = { cut = "joint", joint = "leg", part = "leg" }
"""


def job_from(tmp_path: Path, text: str) -> JobAnswer:
    path = tmp_path / "trial.toml"
    path.write_text(text, "utf-8")
    return solve_job(load_job(path))


PLANTER = """
title = "Trial box"
fixture = "porch"
[[joint]]
name = "corner"
type = "angled_box_joint"
[joint.parameters]
board_width_mm = 150
thickness_a_mm = 18
thickness_b_mm = 18
length_a_mm = 320
length_b_mm = 300
plan_corner_deg = 90
slope_deg = 10
[[member]]
name = "side"
near = { cut = "joint", joint = "corner", part = "a" }
"""
