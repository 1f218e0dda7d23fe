"""The Apps Script under Node, its fetch replaced by a real request to the real service.

What this cannot show: Google's own machines and their way of handing over cells. Ranges
are given as lists of rows and empty cells as "", as their documentation says.
"""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any

import pytest

import jointgeo

from .support import Service, answers, need, start_service

SCRIPT = Path(__file__).parents[2] / "clients" / "google_sheets" / "jointgeo.gs"
HOST = Path(__file__).with_name("apps_script_host.js")
LEG = jointgeo.joint_type("splayed_bridle").examples()[0].to_dict()
RANGE = [["fixture", "porch"], ["hand", ""], ["", ""], *([k, v] for k, v in LEG.items())]
SWIVEL = "parts.leg.setups.0.swivel_deg"


def run(*calls: tuple[str, list[Any]], **properties: str) -> tuple[list[Any], list[Any]]:
    """Results of the calls, and the requests that were made."""
    node = need("node", "nodejs")
    need("curl", "curl")
    job = {
        "script": str(SCRIPT),
        "properties": properties,
        "calls": [{"name": name, "args": args} for name, args in calls],
    }
    told = subprocess.run(
        [node, str(HOST)], input=json.dumps(job), capture_output=True, text=True, timeout=60,
        check=False,
    )  # fmt: skip
    assert told.returncode == 0, told.stderr
    out = json.loads(told.stdout)
    return out["results"], out["asked"]


def value(url: str, pick: str, *pairs: Any, want: str = "settings") -> tuple[str, list[Any]]:
    return "JG_VALUE", [url, "splayed_bridle", want, pick, *pairs]


def test_values_are_the_librarys(service: Service) -> None:
    expected = answers("splayed_bridle", LEG)
    setup = expected["settings"]["parts"][0]["setups"][0]
    flat = [x for pair in LEG.items() for x in pair]
    other = answers("splayed_bridle", {**LEG, "splay_across_deg": 0.5, "fit_mm": -0.25})
    odd = [row if row[0] not in ("splay_across_deg", "fit_mm") else ["", ""] for row in RANGE]
    results, _ = run(
        value(service.url, SWIVEL, RANGE),
        value(service.url + "/", SWIVEL, *flat, "fixture", "porch"),
        value(service.url, "parts.leg.setups.0.against_plate", RANGE),
        value(service.url, "feasible", RANGE, want="feasibility"),
        value(service.url, SWIVEL, "fit_mm", -0.25, odd, "splay_across_deg", 0.5),
        value(service.url, "parts.leg.setups.0.cuts.0.right_mm", "fit_in", "-1/64", odd,
              "splay_across_deg", 0.5),
    )  # fmt: skip
    assert results[:2] == [setup["swivel_deg"]] * 2
    # atan(cos 12° · tan 8°) by hand, to half the last of four places of a degree.
    assert results[0] == pytest.approx(7.8274, abs=5e-5)
    assert results[2:4] == [setup["against_plate"], "true"]
    changed = other["settings"]["parts"][0]["setups"][0]
    assert results[4] == changed["swivel_deg"] != setup["swivel_deg"]
    inches = answers("splayed_bridle", {**LEG, "splay_across_deg": 0.5, "fit_mm": -25.4 / 64})
    cut = inches["settings"]["parts"][0]["setups"][0]["cuts"][0]
    assert results[5] == cut["right_mm"]


def test_tables_are_the_librarys(service: Service) -> None:
    expected = answers("splayed_bridle", LEG)
    checks = [
        [c["part"], c.get("setup", ""), c["name"], c["value"], c["limit"], c["margin"], c["unit"]]
        for c in expected["feasibility"]["checks"]
    ]

    def table(want: str, rows: Any) -> tuple[str, list[Any]]:
        return "JG_TABLE", [service.url, "splayed_bridle", want, rows, RANGE]

    (all_checks, cuts, few, many), _ = run(
        table("feasibility", 0), table("settings", 0), table("settings", 3), table("settings", 9)
    )
    assert [row[:7] for row in all_checks[1:]] == checks
    assert all_checks[0][:3] == ["part", "setup", "check"]
    # Four passes: 22.1 mm of slot at 6 mm a cut.
    assert [row[11] for row in cuts] == ["pass", 1, 2, 3, 4]
    assert few == [*cuts[:2], ["# 3 more rows", *[""] * 14]]
    assert many == [*cuts, *[[""] * 15] * 4]


def test_whatever_goes_wrong_says_why(service: Service, mortal: Service) -> None:
    steep = [row if row[0] != "splay_along_deg" else [row[0], 75] for row in RANGE]
    mortal.kill()
    results, asked = run(
        value(service.url, SWIVEL, steep),
        ("JG_TABLE", [service.url, "splayed_bridle", "settings", 0, steep]),
        value(mortal.url, SWIVEL, RANGE),
        value(service.url + "/elsewhere", SWIVEL, RANGE),
        value(service.url, SWIVEL, RANGE, "näme", "a&b #½"),
        value("file:///etc/hosts", SWIVEL, RANGE),
        value(service.url, SWIVEL, "fixture"),
        value(service.url, SWIVEL, [["a", 1, 2]]),
        value(service.url, SWIVEL, RANGE, "x", "y" * 2082),
    )
    bad, bad_table, gone, elsewhere, unknown, scheme, odd, wide, long = results
    for text in (bad, bad_table):
        assert text.startswith("#")
        assert all(word in text for word in ("splay_along_deg", "75", "60"))
    assert gone.startswith(f"# no answer from {mortal.url}: ")
    assert elsewhere == "# the service answered with status 404"
    assert unknown.startswith("#")
    assert "näme" in unknown
    assert scheme == "# the address of the service must begin with http:// or https://"
    assert odd == "# names and values must come in pairs; the last name has no value"
    assert wide == "# names and values must come in pairs; a range needs two columns"
    assert "at most 2082" in long
    # The last four were refused before anything was sent.
    assert len(asked) == 5


def test_the_token_goes_to_the_address_it_is_meant_for_and_nowhere_else(service: Service) -> None:
    guarded = start_service("porch-swing")
    try:
        results, asked = run(
            value(guarded.url, SWIVEL, RANGE),
            value(service.url, SWIVEL, RANGE),
            JG_SERVICE=guarded.url,
            JG_TOKEN="porch-swing",  # noqa: S106 # a test's own
        )
        assert results[0] == results[1] == pytest.approx(7.8274, abs=5e-5)
        assert [one["headers"] for one in asked] == [{"Authorization": "Bearer porch-swing"}, {}]
        (refused,), _ = run(value(guarded.url, SWIVEL, RANGE))
        assert refused.startswith("#")
    finally:
        guarded.kill()


def test_fetch_is_called_in_one_routine_only() -> None:
    assert SCRIPT.read_text("utf-8").count("UrlFetchApp.") == 1
