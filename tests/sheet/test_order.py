"""The order of work: each axis once, first setups before second ones, nobody forgotten."""

from __future__ import annotations

import itertools

import pytest

from jointgeo.sheet.order import steps, trim_words

from .samples import JOBS, sheet_of


@pytest.mark.parametrize("job", JOBS)
def test_every_setup_comes_once_and_a_second_one_after_its_first(job: str) -> None:
    sheet = sheet_of(job)
    done = [(e.number, s.number) for step in steps(sheet) for e, s in step.work]
    assert sorted(done) == [(e.number, s.number) for e in sheet.ends for s in e.setups]
    for end, setup in done:
        assert setup == 1 or done.index((end, setup - 1)) < done.index((end, setup))


@pytest.mark.parametrize("job", JOBS)
def test_each_axis_is_set_once(job: str) -> None:
    """No position of both axes comes back, and within a round a tilt that is left never does."""
    found = steps(sheet_of(job))
    positions = [(round(s.tilt_deg, 6), round(s.swivel_deg, 6), s.work[0][1].number) for s in found]
    assert len(set(positions)) == len(positions)
    for _, group in itertools.groupby(found, key=lambda s: s.work[0][1].number):
        tilts = [round(s.tilt_deg, 6) for s in group]
        assert tilts == sorted(tilts)
    for before, after in itertools.pairwise(found):
        assert after.new_tilt == (abs(after.tilt_deg - before.tilt_deg) > 1e-6)
        assert after.new_swivel == (abs(after.swivel_deg - before.swivel_deg) > 1e-6)


def test_the_bench_takes_two_positions_for_four_settings() -> None:
    """A leg's ends share a tilt of 12° and a swivel of 7.8274°, mirrored legs its opposite."""
    first, second = steps(sheet_of("bench"))
    assert [len(s.work) for s in (first, second)] == [2, 2]
    assert first.tilt_deg == second.tilt_deg == pytest.approx(12.0)
    assert (first.swivel_deg, second.swivel_deg) == pytest.approx((-7.8274, 7.8274), abs=1e-4)
    assert not second.new_tilt


def test_the_trim_is_part_of_the_work_once_for_each_end() -> None:
    """A rail of 60 × 22 mm at swivel s = 3° and tilt t = 4.993°, trimmed by h = 6.04 mm, is
    60 / cos s + (22 tan t + h / cos t) tan s = 60.50 mm wide, 62.50 mm with 1 mm past either side;
    (62.50 - 6) / (6 - 0.5) = 10.3, so 11 steps and 12 passes. Where it is trimmed less, 62.00."""
    work = [(s.number, trim_words(s)) for step in steps(sheet_of("chair")) for _, s in step.work]
    first = {said for number, said in work if number == 1}
    assert {said.partition(":")[0] for said in first} == {
        f"Trim in 12 passes over the whole width, {over} mm" for over in ("62.00", "62.50")
    }
    assert {said for number, said in work if number == 2} == {
        "Already trimmed in clamping 1: do not trim again."
    }
