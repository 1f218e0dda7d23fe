"""A third-party piece type beside jointgeo, from its wheel: in every list, in piece files, cut and
put up, with nothing else changed.

Expected lengths by hand: legs that lean 8° both ways, 300 high, are 300·√(1 + 2 tan² 8°) long.
"""

from __future__ import annotations

import json
import shutil
from math import radians, sqrt, tan
from pathlib import Path

import pytest

from jointgeo.conformance import PIECE_CHECKS

from .shop import PIECE_PLUGIN, Shop, built_wheel

PIECE = """
piece = 1
title = "Porch footstool"
fixture = "porch"
type = "footstool"

[parameters]
height_mm = 300
length_mm = 340
depth_in = "9 1/2"
splay_deg = 8
leg_mm = 36
rail_width_mm = 50
rail_thickness_mm = 18
rails_below_mm = 12
"""


@pytest.fixture(scope="module")
def stocked(shop: Shop, tmp_path_factory: pytest.TempPathFactory) -> Shop:
    wheel = built_wheel(PIECE_PLUGIN, tmp_path_factory.mktemp("source"))
    return shop.with_wheels(tmp_path_factory.mktemp("footstool"), wheel)


def test_its_own_tests_pass(stocked: Shop, tmp_path: Path) -> None:
    shutil.copytree(PIECE_PLUGIN / "tests", tmp_path / "tests")
    done = stocked.run("python", "-m", "pytest", "-q", "-p", "no:cacheprovider", cwd=tmp_path)
    assert done.returncode == 0, done.stdout
    assert f"{len(PIECE_CHECKS)} passed" in done.stdout


def test_in_the_library(stocked: Shop) -> None:
    names, failures, length = stocked.tell(
        "import json\n"
        "from jointgeo.pieces import piece_failures, piece_type, piece_types\n"
        "stool = piece_type('footstool').examples()[0]\n"
        "print(json.dumps([list(piece_types()), list(piece_failures()),\n"
        "    stool.measured()['leg, length']]))"
    )
    assert {"footstool", "splayed_bench"} <= {*names}
    assert failures == []
    assert length == pytest.approx(300 * sqrt(1 + 2 * tan(radians(8)) ** 2), abs=1e-9)


def test_on_the_command_line(stocked: Shop, tmp_path: Path) -> None:
    listing = stocked.run("jointgeo", "pieces")
    assert listing.returncode == 0, listing.stderr
    assert "A footstool on four splayed legs with rails" in listing.stdout
    one = stocked.run("jointgeo", "pieces", "footstool")
    assert "splay_deg: a number at least 0 deg and at most 30 deg" in one.stdout
    file = tmp_path / "footstool.toml"
    file.write_text(PIECE, "utf-8")
    solved = stocked.run("jointgeo", "solve", "--json", str(file))
    assert solved.returncode == 0, solved.stderr
    (answer,) = json.loads(solved.stdout)
    assert {m["name"]: m["count"] for m in answer["members"]} == {
        "leg": 4,
        "long rail": 2,
        "short rail": 2,
    }
    fit = stocked.run("jointgeo", "dry-fit", str(file))
    assert fit.returncode == 0, fit.stdout
    assert "8 bars, each cut by the settings of its two ends alone: goes together" in fit.stdout


def test_what_cannot_be_is_told_by_its_field(stocked: Shop, tmp_path: Path) -> None:
    file = tmp_path / "footstool.toml"
    file.write_text(PIECE.replace("rails_below_mm = 12", "rails_below_mm = 260"), "utf-8")
    told = stocked.run("jointgeo", "solve", str(file))
    assert told.returncode == 2
    assert "parameters.rails_below_mm: is too large; given 260" in told.stderr
