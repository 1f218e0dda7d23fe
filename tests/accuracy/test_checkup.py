"""The check-up: order, turns of the screws, zeros, and what is written."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import attrs
import numpy as np
import pytest

import jointgeo
from jointgeo.calibration.changes import apply_changes, write_fixture
from jointgeo.calibration.checkup import CheckUp, check_up, turns_of_screw
from jointgeo.calibration.readingfiles import load_readings
from jointgeo.calibration.readings import CheckUpReadings
from jointgeo.errors import FixtureError
from jointgeo.fixtures.model import Fixture
from jointgeo.schema.tables import read
from jointgeo.setting_aids.aids import axis_aids

SQUARE: dict[str, Any] = {"gap_mm": 0.0, "open_at": "top", "height_mm": 300.0, "u_mm": 0.01}
GOOD_PLATE = [{"side": s} | SQUARE for s in ("left", "right")]


def plate(left_gap: float, right_gap: float, height: float = 200.0) -> list[dict[str, Any]]:
    """Square readings of both sides; positive gaps are at the top (lower edge towards you)."""
    return [
        {
            "side": side,
            "gap_mm": abs(gap),
            "open_at": "top" if gap >= 0 else "bottom",
            "height_mm": height,
            "u_mm": 0.01,
        }
        for side, gap in (("left", left_gap), ("right", right_gap))
    ]


def cut(axis: str, name: str, angle: float, place: str = "middle") -> dict[str, Any]:
    sides = ("right", "left") if axis == "swivel" else ("plate", "you")
    gap = 2 * 90 * np.tan(np.radians(abs(angle)))
    return {
        "axis": axis,
        "cut": name,
        "place": place,
        "gap_mm": float(gap),
        "open_at": sides[angle < 0],
        "length_mm": 90.0,
        "scale_deg": 0.0,
    }


def at_stop(left_gap: float, right_gap: float) -> list[dict[str, Any]]:
    return [side | {"scale_deg": 0.0} for side in plate(left_gap, right_gap)]


def found(fixture: Fixture, **tables: Any) -> CheckUp:
    data = {"date": "today", "fixture": "porch", **tables}
    return check_up(read(CheckUpReadings, data), fixture)


CUTS = (("A", 0.1), ("B", 0.12), ("C", 0.08))


def step(result: CheckUp, name: str) -> Any:
    return next(s for s in result.steps if s.name == name)


def test_steps_come_in_the_order_in_which_each_rests_on_the_one_before(porch: Fixture) -> None:
    result = check_up(load_readings(CheckUpReadings, "porch-check-up"), porch)
    names = [s.name for s in result.steps]
    order = ["fixed_plate_left", "fixed_plate_right", "fixed_plate_twist", "tilt_at_stop_twist"]
    order += ["tilt_spacers", "hinge_play", "tilt_zero", "rails", "swivel_play", "swivel_zero"]
    assert names == order
    json.dumps(result.to_dict(), allow_nan=False)


def test_turns_of_a_screw_by_hand(porch: Fixture) -> None:
    """0.2 mm over 200 mm at an arm of 230 mm is 0.23 mm: 0.23 turns of 1 mm. A plate whose lower
    edge is towards you wants its screw out."""
    assert turns_of_screw(np.degrees(np.arctan(0.001)), 230.0, 1.0) == pytest.approx(0.23)
    result = found(porch, fixed_plate=plate(0.2, -0.2))
    left, right = step(result, "fixed_plate_left"), step(result, "fixed_plate_right")
    assert left.numbers["turns"] == pytest.approx(-0.23, abs=1e-9)
    assert right.numbers["turns"] == pytest.approx(0.23, abs=1e-9)
    assert "0.23 turns out" in left.says
    assert "0.23 turns in" in right.says
    coarse = attrs.evolve(porch, aids=attrs.evolve(porch.aids, stop_screw_pitch_mm=1.25))
    again = step(found(coarse, fixed_plate=plate(0.2, -0.2)), "fixed_plate_left")
    assert again.numbers["turns"] == pytest.approx(-0.184, abs=1e-9)


def test_a_plate_that_is_out_makes_what_follows_provisional(porch: Fixture) -> None:
    bad = found(
        porch,
        fixed_plate=plate(0.4, 0.4),
        tilt_at_stop=at_stop(0.4, 0.4),
        turned_over=[cut("swivel", "A", 0.1)],
    )
    assert bad.status == "fail"
    assert step(bad, "tilt_zero").provisional
    assert step(bad, "swivel_zero").provisional
    assert "provisional" in step(bad, "swivel_zero").says
    assert not any(k.startswith("correction") for k in bad.changed)
    unread = found(porch, turned_over=[cut("swivel", "A", 0.1)])
    assert step(unread, "fixed_plate_left").status == "caution"
    assert step(unread, "swivel_zero").provisional


def test_a_twisted_closed_plate_makes_only_the_rest_provisional(porch: Fixture) -> None:
    """0.6 mm over 200 mm of difference: 0.172° of lean, which 230/380 turns into 0.104° of twist;
    0.061° are allowed (atan(0.15/100)/√2)."""
    bad = found(
        porch,
        fixed_plate=GOOD_PLATE,
        tilt_at_stop=at_stop(0.3, -0.3),
        turned_over=[cut("swivel", "A", 0.0)],
    )
    twist = step(bad, "tilt_at_stop_twist")
    assert twist.status == "fail"
    assert twist.numbers["twist_deg"] == pytest.approx(0.1040, abs=0.0005)
    assert bad.allowed_deg == pytest.approx(0.0608, abs=0.0001)
    assert not twist.provisional
    assert step(bad, "tilt_zero").provisional


def test_zeros_become_corrections_of_the_opposite_sign(porch: Fixture) -> None:
    """Tilt at its stop +0.1 mm / 200 mm = +0.02865° on both sides, once; a swivel cut 0.05°
    anticlockwise, twice. Each is drawn towards the file's 0 by its prior: of one setting
    .0009/(.0009 + .02223² + .0020²) = .64, of two .0009/(.0009 + (.02² + .0064²)/2) = .80."""
    good = found(
        porch,
        fixed_plate=GOOD_PLATE,
        tilt_at_stop=at_stop(0.1, 0.1),
        turned_over=[cut("swivel", "A", -0.05), cut("swivel", "B", -0.05)],
    )
    values = good.changed
    assert values["correction.tilt_zero_deg"] == pytest.approx(-0.64 * 0.02865, abs=3e-4)
    assert values["correction.swivel_zero_deg"] == pytest.approx(0.80 * 0.05, abs=1e-3)
    # What the row holds is what was read.
    assert good.fixture.test_cut[0].off_deg == pytest.approx(0.02865, abs=1e-5)


def test_places_of_one_cut_do_not_count_as_cuts(porch: Fixture) -> None:
    places = [cut("swivel", "A", 0.05, p) for p in ("near", "middle", "far")]
    one = found(porch, fixed_plate=GOOD_PLATE, turned_over=places)
    own = np.degrees(0.02 / 180)
    (row,) = one.fixture.test_cut
    assert row.u_deg == pytest.approx(own / np.sqrt(3), abs=1e-9)
    assert "by 1 setting" in step(one, "swivel_zero").says


def test_a_twist_of_the_closed_plate_is_not_taken_for_a_tilt(porch: Fixture) -> None:
    """+.1 mm / 200 mm at the left and -.06 at the right: the mean, .02 / 200 = .00573°."""
    result = found(porch, fixed_plate=GOOD_PLATE, tilt_at_stop=at_stop(0.1, -0.06))
    (row,) = result.fixture.test_cut
    assert row.off_deg == pytest.approx(0.00573, abs=1e-5)
    own = np.degrees(0.01 / 200)
    assert row.u_deg == pytest.approx(own / np.sqrt(2), abs=1e-9)


def test_spacers_are_allowed_a_difference_and_twist_the_plate(porch: Fixture) -> None:
    """Allowed: 0.15 / (100·(1/380 + 1/460)) = 0.3122 mm; 0.4 mm over 380 mm twist by 0.0603°."""
    bad = step(
        found(porch, fixed_plate=GOOD_PLATE, spacers={"left_mm": 48.0, "right_mm": 48.4}),
        "tilt_spacers",
    )
    assert bad.status == "fail"
    assert bad.numbers["allowed_mm"] == pytest.approx(0.3122, abs=1e-4)
    assert bad.numbers["twist_deg"] == pytest.approx(0.0603, abs=1e-4)
    good = found(porch, fixed_plate=GOOD_PLATE, spacers={"left_mm": 48.0, "right_mm": 48.05})
    assert step(good, "tilt_spacers").status == "pass"
    kept = good.changes.values["uncertainty.tilt_lock_difference_mm"]
    assert kept == pytest.approx(np.sqrt(0.05**2 + 2 * 0.01**2), abs=1e-12)


def test_play_counts_as_a_rectangle(porch: Fixture) -> None:
    """0.12 mm of movement at 115 mm is 0.24 mm at the locks' 230 mm: u = 0.24/(2√3) = 0.0693 mm."""
    play = [{"axis": "tilt", "movement_mm": 0.12, "arm_mm": 115.0}]
    values = found(porch, fixed_plate=GOOD_PLATE, play=play).changes.values
    assert values["uncertainty.hinge_play_mm"] == pytest.approx(0.0693, abs=5e-5)


def test_a_wild_reading_is_named(porch: Fixture) -> None:
    cuts = [cut("swivel", n, a) for n, a in (("A", 0.02), ("B", 0.03), ("C", 0.9), ("D", 0.01))]
    result = found(porch, fixed_plate=GOOD_PLATE, turned_over=cuts)
    assert any("swivel C is 0.880° off" in n and "Measure it again" in n for n in result.notes)
    assert step(result, "swivel_zero").status == "caution"
    assert len(result.fixture.test_cut) == 4  # nothing is left out by itself


def test_what_is_written_is_what_the_aids_then_set(porch: Fixture, tmp_path: Path) -> None:
    """A tilt that stands 0.1° too far on, by three cuts at 0, is set 0.1° less there, from the file
    that was written; to 0.003°, since the file's own claim of 0 weighs a thirtieth. At 12° it is
    less: part of the 0.1° may be the scale's unevenness at 0, D²/(D² + w²) = 0.096 of it stays
    with D = 0.1° and w = 0.03°/√2, and the cuts' own noise takes some more."""
    result = found(porch, fixed_plate=GOOD_PLATE, turned_over=[cut("tilt", n, a) for n, a in CUTS])
    path = tmp_path / "mended.toml"
    assert write_fixture(apply_changes(porch, result.changes), path) is None
    again = jointgeo.load_fixture(path)
    for wanted, shown in ((1.0, 0.90), (12.0, 11.91)):
        scale = next(a for a in axis_aids(again, "tilt", wanted, 0.1) if a.aid == "scale")
        assert scale.numbers["scale_deg"] == pytest.approx(shown, abs=0.006)
    assert [h.name for h in again.history] == [
        "correction.tilt_zero_deg",
        "correction.tilt_zero_u_deg",
    ]
    assert again.history[0].was == 0.0
    assert again.correction.date == "today"


def test_nothing_is_overwritten_unasked_and_the_old_file_is_kept(
    porch: Fixture, tmp_path: Path
) -> None:
    path = tmp_path / "porch.toml"
    path.write_text("# mine\n")
    with pytest.raises(FixtureError, match="exists"):
        write_fixture(porch, path)
    assert path.read_text() == "# mine\n"
    kept = write_fixture(porch, path, overwrite=True)
    assert kept == tmp_path / "porch.toml.1"
    assert kept.read_text() == "# mine\n"
    assert write_fixture(porch, path, overwrite=True) is None  # it holds this very text
    changed = attrs.evolve(porch, title="Another")
    assert write_fixture(changed, path, overwrite=True) == tmp_path / "porch.toml.2"
    assert write_fixture(porch, path, overwrite=True) == tmp_path / "porch.toml.3"
    assert jointgeo.load_fixture(path) == porch
    assert sorted(p.name for p in tmp_path.iterdir()) == [
        "porch.toml",
        "porch.toml.1",
        "porch.toml.2",
        "porch.toml.3",
    ]


def test_a_place_that_cannot_be_written_is_the_callers_error(
    porch: Fixture, tmp_path: Path
) -> None:
    with pytest.raises(jointgeo.InputError, match="cannot be written"):
        write_fixture(porch, tmp_path / "no such folder" / "porch.toml")


def test_applying_the_same_twice_leaves_one_record(porch: Fixture) -> None:
    result = found(porch, fixed_plate=GOOD_PLATE, turned_over=[cut("tilt", "A", 0.1)])
    once = apply_changes(porch, result.changes)
    assert apply_changes(once, result.changes) == once


def test_one_side_of_the_tilt_at_stop_alone_fixes_no_zero(porch: Fixture) -> None:
    """A lean at the left may be tilt or twist: asked for, not guessed."""
    result = found(porch, fixed_plate=GOOD_PLATE, tilt_at_stop=at_stop(0.1, 0.1)[:1])
    assert (
        "no reading of the tilt at its stop on the right" in step(result, "tilt_at_stop_twist").says
    )
    assert "nothing measured" in step(result, "tilt_zero").says
    assert "correction.tilt_zero_deg" not in result.changed


def test_two_cuts_at_odds_are_both_named(porch: Fixture) -> None:
    cuts = [cut("swivel", "A", 0.5), cut("swivel", "B", -0.5)]
    result = found(porch, fixed_plate=GOOD_PLATE, turned_over=cuts)
    assert any("swivel A and swivel B are 1.000° apart" in n for n in result.notes)
    zero = step(result, "swivel_zero")
    assert zero.status == "caution"
    assert zero.numbers["u95_deg"] > 0.5  # both readings lie within it


def test_screws_or_a_correction_and_never_both(porch: Fixture) -> None:
    """0.1 mm of stop at 230 mm for each .0249°: a tilt .1° off is .40 turns of 1 mm out."""
    data = {"date": "today", "fixture": "porch", "fixed_plate": GOOD_PLATE}
    data["turned_over"] = [cut("tilt", n, a) for n, a in CUTS]
    readings = read(CheckUpReadings, data)
    by_scale, by_screws = (check_up(readings, porch, mend) for mend in ("correction", "screws"))
    assert "leave the stop screws and add -0.09" in step(by_scale, "tilt_zero").says
    assert by_scale.changed["correction.tilt_zero_deg"] == pytest.approx(-0.097, abs=0.003)
    says = step(by_screws, "tilt_zero").says
    assert "0.39 turns out and check up again; nothing is added to the scale" in says
    # The screws make a new zero: of it nothing is known but what the file says.
    after = by_screws.fixture
    assert after.correction.tilt_zero == 2
    assert abs(after.correction.tilt_zero_deg) < 1e-3
    assert len(after.test_cut) == 3
    assert check_up(readings, after, "screws").fixture == after


def test_the_scale_of_a_reading_is_asked_for(porch: Fixture) -> None:
    asked = {k: v for k, v in cut("tilt", "A", 0.1).items() if k != "scale_deg"}
    with pytest.raises(jointgeo.InputError, match=r"turned_over\[0\].scale_deg: is missing"):
        found(porch, turned_over=[asked])
    with pytest.raises(jointgeo.InputError, match=r"tilt_at_stop\[0\].scale_deg: is missing"):
        found(porch, tilt_at_stop=plate(0.1, 0.1)[:1])
    # A scale that shows .1° where the plate stands at .1° is right.
    right = [side | {"scale_deg": 0.0286} for side in plate(0.1, 0.1)]
    result = found(porch, fixed_plate=GOOD_PLATE, tilt_at_stop=right)
    assert step(result, "tilt_zero").numbers["zero_deg"] == pytest.approx(0.0, abs=1e-4)
    with pytest.raises(jointgeo.InputError, match=r"scale_deg.*the tilt's range"):
        found(porch, turned_over=[cut("tilt", "A", 0.1) | {"scale_deg": -1.0}])


def test_a_correction_that_the_scale_cannot_show_is_said(porch: Fixture) -> None:
    """At its stop a one-way tilt shows 0 and no less."""
    cuts = [cut("tilt", n, a) for n, a in CUTS]
    zero = step(found(porch, fixed_plate=GOOD_PLATE, turned_over=cuts), "tilt_zero")
    assert "at 0° it cannot show -0.09" in zero.says
