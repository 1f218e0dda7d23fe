"""One solution: each part worked out once, and only when it is asked for."""

from __future__ import annotations

import doctest
from typing import Any

import pytest

import jointgeo.planning.clampings
import jointgeo.planning.frame
import jointgeo.solution.end
import jointgeo.solution.setup
import jointgeo.solution.solution as module
from jointgeo import InputError, PluginError, joint_types, load_fixture, solve
from jointgeo.joints.check import Check
from jointgeo.solution.paths import value
from jointgeo.solution.setup import HANDS

FIXTURE = load_fixture("porch")
EXAMPLES = [cls.examples()[0] for cls in joint_types().values()]


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> dict[str, int]:
    """How often the dear parts are worked out."""
    counts: dict[str, int] = {}
    for where, name in (
        (jointgeo.solution.end, "plan_end"),
        (jointgeo.solution.end, "machine_checks"),
        (jointgeo.solution.setup, "setting_aids"),
        (jointgeo.solution.setup, "setup_budget"),
    ):
        real = getattr(where, name)

        def work(*given: Any, _real: Any = real, _name: str = name) -> Any:
            counts[_name] = counts.get(_name, 0) + 1
            return _real(*given)

        monkeypatch.setattr(where, name, work)
    return counts


def test_the_example_of_its_text() -> None:
    assert doctest.testmod(module).failed == 0


@pytest.mark.parametrize("joint", EXAMPLES, ids=lambda j: j.name)
def test_a_swivel_needs_a_plan_and_checks_where_there_is_a_choice(
    joint: Any, counted: dict[str, int]
) -> None:
    """Upright stock can be clamped either way round; nothing else on a one-way tilt can."""
    solution = solve(joint, FIXTURE)
    assert counted == {}
    assert isinstance(solution.setups[0].swivel_deg, float)
    choices = sum(all(c.in_range for c in s.candidates) for s in solution.setups)
    assert counted.pop("machine_checks", 0) == choices
    assert counted == {"plan_end": len(solution.drawing.bars)}


def test_an_angle_needs_neither_stock_that_stands_nor_passes_nor_the_next_setup(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Where ranges alone say how to clamp it, at an end that has two setups."""
    planned = [(j, end) for j in EXAMPLES for end in solve(j, FIXTURE).ends if len(end.setups) == 2]
    joint, part = next((j, end.part.name) for j, end in planned)
    counts = {"clamp_stock": 0, "passes": 0, "section": 0}
    for where, name in (
        (jointgeo.planning.clampings, "clamp_stock"),
        (jointgeo.planning.frame, "passes"),
        (jointgeo.planning.frame, "section"),  # once for each setup that is begun
    ):
        real = getattr(where, name)

        def work(*given: Any, _real: Any = real, _name: str = name, **named: Any) -> Any:
            counts[_name] += 1
            return _real(*given, **named)

        monkeypatch.setattr(where, name, work)
    solution = solve(joint, FIXTURE)
    assert value(solution, f"{part}.1.swivel_deg") == solution.end(part).setups[0].swivel_deg
    assert counts == {"clamp_stock": 0, "passes": 0, "section": 1}
    assert isinstance(value(solution, f"{part}.1.overhang_mm"), float)
    assert counts == {"clamp_stock": 1, "passes": 0, "section": 1}
    assert isinstance(value(solution, f"{part}.1.cuts.1.left_mm"), float)
    assert counts["passes"] == len(solution.end(part).setups[0].cuts)
    assert isinstance(value(solution, f"{part}.2.swivel_deg"), float)
    assert counts["section"] == len(solution.end(part).setups) == 2


@pytest.mark.parametrize("joint", EXAMPLES, ids=lambda j: j.name)
def test_settings_and_checks_share_one_plan(joint: Any, counted: dict[str, int]) -> None:
    solution = solve(joint, FIXTURE)
    for _ in range(2):
        solution.to_dict()
    setups = len(solution.setups)
    assert counted["plan_end"] == len(solution.drawing.bars)
    assert counted["setting_aids"] == counted["machine_checks"] == setups


@pytest.mark.parametrize("joint", EXAMPLES, ids=lambda j: j.name)
@pytest.mark.parametrize("hand", HANDS)
def test_the_tables_say_what_the_attributes_say(joint: Any, hand: Any) -> None:
    solution = solve(joint, FIXTURE, hand)
    data = solution.to_dict()
    assert (data["status"], data["feasible"]) == (solution.status, solution.feasible)
    assert [c["name"] for c in data["checks"]] == [c.name for c in solution.checks]
    tables = [s for part in data["parts"] for s in part["setups"]]
    assert len(tables) == len(solution.setups) > 0
    for table, setup in zip(tables, solution.setups, strict=True):
        for name in (
            *("against_plate", "against_fence", "exit_side", "cutter"),
            *("swivel_deg", "tilt_deg", "packing_deg", "scale_swivel_deg", "scale_tilt_deg"),
            *("overhang_mm", "overhang_trimmed_mm", "trim_mm", "kerf_mm"),
        ):
            assert table[name] == getattr(setup, name), name
        assert table["touch_off"]["nearest_edge"] == setup.touch_off.nearest_edge
        assert table["cutter_height_mm"]["trim"] == setup.heights.trim_mm
        assert [c["left_mm"] for c in table["cuts"]] == [c.left_mm for c in setup.cuts]
        assert [c["chosen"] for c in table["candidates"]].count(True) == 1
        assert [a["aid"] for a in table["aids"]] == [a.aid for a in setup.aids]
    assert {"part", "pose"} == set(data["assembly"][0])


@pytest.mark.parametrize("joint", EXAMPLES, ids=lambda j: j.name)
def test_aids_are_left_out_where_they_are_not_wanted(joint: Any, counted: dict[str, int]) -> None:
    data = solve(joint, FIXTURE).to_dict(aids=False)
    assert all("aids" not in s for part in data["parts"] for s in part["setups"])
    assert "setting_aids" not in counted


def test_an_unknown_hand_is_the_callers_fault() -> None:
    hand: Any = "left"
    with pytest.raises(InputError, match="as_drawn"):
        solve(EXAMPLES[0], FIXTURE, hand)


def test_checks_that_are_none_are_the_types_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(type(EXAMPLES[0]), "checks", lambda _: ["looks fine"])
    with pytest.raises(PluginError, match="tuple of Check"):
        _ = solve(EXAMPLES[0], FIXTURE).checks


def test_a_failing_check_of_the_type_makes_the_joint_infeasible(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    wrong = Check("knots", 3.0, 0.0, -3.0, "1", "fail", "three knots in the shoulder")
    monkeypatch.setattr(type(EXAMPLES[0]), "checks", lambda _: (wrong,))
    solution = solve(EXAMPLES[0], FIXTURE)
    assert solution.checks[-1] is wrong
    assert not solution.feasible
    assert solution.setups, "it has settings all the same"


def test_a_fixture_may_be_named_and_what_is_none_is_told_what_is_wanted() -> None:
    joint = EXAMPLES[0]
    assert solve(joint, "porch").to_dict() == solve(joint, FIXTURE).to_dict()
    with pytest.raises(InputError, match="is not the name of a known fixture; given 'veranda'"):
        solve(joint, "veranda")
    wrong: Any = {"name": "porch"}
    with pytest.raises(InputError, match="the name of one, or the path of its file"):
        solve(joint, wrong)
    wrong = "a joint"
    with pytest.raises(InputError, match="joint: is no joint; given 'a joint'"):
        solve(wrong, "porch")
