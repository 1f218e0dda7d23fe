"""A fixture nobody measured, from observed limits: every split, and plain answers where there is
none."""

from __future__ import annotations

import json

import numpy as np
import pytest

from jointgeo.calibration.contacts import corner_limit_deg, edge_limit_deg
from jointgeo.calibration.limits import LimitEstimate, estimate_limits
from jointgeo.calibration.readings import LimitReadings
from jointgeo.errors import InputError
from jointgeo.schema.tables import read

CORNER, EDGE = "end_on_face", "face_on_edge"


def fit(
    *pairs: tuple[float, float],
    backing: float = 18.0,
    offset: float = 0.0,
    u_deg: float = 0.5,
    touched: str | tuple[str, ...] = "unknown",
    overhangs: tuple[float | None, ...] | None = None,
) -> LimitEstimate:
    """pairs: (thickness, angle). touched: one for all, or one each."""
    kinds = (touched,) * len(pairs) if isinstance(touched, str) else touched
    limits = [
        {"thickness_mm": t, "angle_deg": a, "u_deg": u_deg, "touched": k}
        for (t, a), k in zip(pairs, kinds, strict=True)
    ]
    for limit, overhang in zip(limits, overhangs or (), strict=False):
        if overhang is not None:
            limit["overhang_mm"] = overhang
    data = {"backing_mm": backing, "plate_offset_mm": offset, "limit": limits}
    return estimate_limits(read(LimitReadings, data))


def edge_pairs() -> list[tuple[float, float]]:
    """Exact limits of the demo fixture, G 152, v 210, T = 30 + stock, all of the beam's edge."""
    return [(t, float(edge_limit_deg(210, 152, 30 + t))) for t in (20.0, 35.0, 50.0, 80.0)]


def test_two_common_limits_whose_ends_met_the_face() -> None:
    """50 mm at 15° and 12 mm at 23°, 18 mm backing each (common practice, no published source):
    by hand L = (T₁cos15 - T₂cos23)/(sin23 - sin15) = 288.58 mm, G = 140.37 mm."""
    found = fit((50, 15), (12, 23), touched=CORNER)
    assert found.status == "no_residual"
    assert not found.good
    (split,) = found.splits
    assert split.drop_mm == pytest.approx(288.58, abs=0.01)  # half of the last digit, doubled
    assert split.distance_mm == pytest.approx(140.37, abs=0.01)
    assert split.edge_mm is None
    # L cos τ - T sin τ: 261.15 at 15°, 253.92 at 23°, and the greater of the two is the bound.
    assert split.edge_at_least_mm == pytest.approx(261.15, abs=0.01)
    assert "no residual" in found.says
    assert split.residual_deg == pytest.approx([0.0, 0.0], abs=1e-9)


def test_the_same_two_limits_if_the_fronts_met_the_edge() -> None:
    """By hand v = (T₁cos23 - T₂cos15)/sin 8 = 241.54 mm, G = (T₁ + v sin15)/cos15 = 135.12 mm;
    L is at least √(G² + v² - T²), 275.14 mm for the thinner, T 30."""
    (split,) = fit((50, 15), (12, 23), touched=EDGE).splits
    assert split.edge_mm == pytest.approx(241.54, abs=0.01)
    assert split.distance_mm == pytest.approx(135.12, abs=0.01)
    assert split.drop_mm is None
    assert split.drop_at_least_mm == pytest.approx(275.14, abs=0.01)


def test_two_limits_of_unknown_kind_leave_a_split_that_nothing_judges() -> None:
    found = fit((50, 15), (12, 23))
    assert found.status == "several"
    assert {s.kinds for s in found.splits} == {(CORNER, CORNER), (EDGE, EDGE)}
    assert any("12 mm by the end and 50 mm by the edge" in u for u in found.undetermined)
    assert "measure two lengths with a rule" in found.first


def test_angles_alone_do_not_tell_the_kinds_apart() -> None:
    """Exact limits of four edge contacts: fitted as corners they leave χ² 0.19 with 2 degrees of
    freedom (99 % point 9.21), G 158.84 instead of 152, and 6.30° for 100 mm stock where
    acos(130/√(152²+210²)) - atan2(210, 152) = 5.80° is true. All are reported; the least is
    trusted."""
    found = fit(*edge_pairs(), offset=12, u_deg=0.3)
    assert found.status == "several"
    by_kind = {s.kinds: s for s in found.splits}
    edge, corner = by_kind[(EDGE,) * 4], by_kind[(CORNER,) * 4]
    assert edge.distance_mm == pytest.approx(152.0, abs=1e-6)
    assert edge.edge_mm == pytest.approx(210.0, abs=1e-6)
    assert corner.chi2 == pytest.approx(0.19, abs=0.01)
    assert corner.freedom == 2
    assert corner.distance_mm == pytest.approx(158.84, abs=0.01)
    assert corner.limit_deg(130, 0)[0] == pytest.approx(6.299, abs=0.001)
    trusted = found.predict(100)
    assert trusted is not None
    assert trusted.limit_deg == pytest.approx(5.8000, abs=5e-5)
    assert trusted.safe_deg is not None
    assert trusted.safe_deg < 5.8 - 0.5
    # 40 mm lower, of 20 mm stock: asin(152.9/√(L²+50²)) - atan2(50, L) at L 255.2, less at 295.2.
    assert "hang the 20 mm stock 40 mm lower" in found.says
    assert any("more than one assignment" in u for u in found.undetermined)


def test_told_what_touched_there_is_one_fit() -> None:
    """G ± 4.7 and v ± 13.5 (k = 2) by numpy's lstsq with the weights
    1/hypot((G·sin τ + v·cos τ)·u, 0.2) worked out here."""
    pairs = edge_pairs()
    found = fit(*pairs, offset=12, u_deg=0.3, touched=EDGE)
    assert found.status == "estimated"
    (split,) = found.splits
    thick, tau = np.array(pairs).T
    tau = np.radians(tau)
    weight = 1 / np.hypot((152 * np.sin(tau) + 210 * np.cos(tau)) * np.radians(0.3), 0.2)
    a = np.stack([np.cos(tau), -np.sin(tau)], -1) * weight[:, None]
    expected, *_ = np.linalg.lstsq(a, (30 + thick) * weight, rcond=None)
    assert [split.distance_mm, split.edge_mm] == pytest.approx(expected, abs=1e-6)
    u = np.sqrt(np.diag(np.linalg.inv(a.T @ a)))
    assert [split.distance_u_mm, split.edge_u_mm] == pytest.approx(u, abs=1e-6)
    assert 2 * u == pytest.approx([4.7, 13.5], abs=0.05)
    assert fit(*pairs, offset=12, u_deg=2.0, touched=EDGE).status == "loose"


def test_the_limit_states_how_far_it_may_be_off() -> None:
    """u of a limit beyond the readings against a central difference: each angle moved by 0.01°,
    the effects times 30 (0.3°) added in quadrature. Thickness errors are set so small that only
    angles count."""
    pairs = edge_pairs()

    def limit(moved: int, by: float) -> tuple[float, float]:
        changed = [(t, a + by * (i == moved)) for i, (t, a) in enumerate(pairs)]
        data = {
            "backing_mm": 18,
            "plate_offset_mm": 12,
            "u_thickness_mm": 1e-6,
            "limit": [
                {"thickness_mm": t, "angle_deg": a, "u_deg": 0.3, "touched": EDGE}
                for t, a in changed
            ],
        }
        found = estimate_limits(read(LimitReadings, data)).predict(100)
        assert found is not None
        assert found.limit_deg is not None
        assert found.u_deg is not None
        return found.limit_deg, found.u_deg

    moved = [15 * (limit(i, 0.01)[0] - limit(i, -0.01)[0]) for i in range(4)]
    # The weights move with the angles, which the stated u leaves out: a second-order effect.
    assert limit(0, 0.0)[1] == pytest.approx(float(np.linalg.norm(moved)), rel=0.01)


def test_a_stock_hung_at_two_heights_tells_the_kinds_apart() -> None:
    """Ends on the face, h 180, G 152: T = 30 + 40, overhangs 10 and 90; and 12 mm stock."""
    at = [(12.0, 10.0), (40.0, 10.0), (40.0, 90.0), (60.0, 10.0)]
    pairs = [(t, float(corner_limit_deg(180 + o, 152, 30 + t))) for t, o in at]
    found = fit(*pairs, offset=12, u_deg=0.2, overhangs=tuple(o for _, o in at))
    assert (EDGE,) * 4 not in {s.kinds for s in found.splits}
    by_kind = {s.kinds: s for s in found.splits}
    split = by_kind[(CORNER,) * 4]
    assert split.drop_mm == pytest.approx(180.0, abs=1e-6)
    assert split.distance_mm == pytest.approx(152.0, abs=1e-6)
    assert found.predict(40) is None  # an overhang is needed now
    trusted = found.predict(40, 90)
    assert trusted is not None
    assert trusted.limit_deg == pytest.approx(pairs[2][1], abs=0.3)  # within the readings' noise


def test_both_kinds_told_share_one_distance() -> None:
    """T* = √(G²+v²-L²) parts the kinds: with G 152, v 210, L 245 it is 84.7, stock of 54.7 mm."""
    stocks, kinds = (12.0, 40.0, 70.0, 90.0), (CORNER, CORNER, EDGE, EDGE)
    pairs = [
        (t, float(max(corner_limit_deg(245, 152, 30 + t), edge_limit_deg(210, 152, 30 + t))))
        for t in stocks
    ]
    (split,) = fit(*pairs, offset=12, u_deg=0.2, touched=kinds).splits
    found = (split.distance_mm, split.drop_mm, split.edge_mm)
    assert found == pytest.approx((152.0, 245.0, 210.0), abs=1e-6)
    turned = fit(*pairs, offset=12, u_deg=0.2, touched=kinds[::-1])
    assert turned.status == "contradictory"
    assert "of the kind that its radius" in turned.says or "off the rest" in turned.says


@pytest.mark.parametrize(
    ("pairs", "status", "word"),
    [
        ((), "too_few", "0 limits"),
        (((50, 15),), "too_few", "1 limits"),
        (((50, 15), (50, 15.5)), "too_few", "one thickness"),
        (((50, 15), (40, 15)), "too_few", "one angle"),
        (((12, 15), (50, 23)), "contradictory", "thicker stock must foul at a smaller angle"),
        (((10, 24), (25, 21), (30, 15), (50, 14.5), (65, 14), (80, 8)), "contradictory", "off the"),
    ],
)
def test_too_few_and_contradictory_limits_are_answers(
    pairs: tuple[tuple[float, float], ...], status: str, word: str
) -> None:
    found = fit(*pairs)
    assert found.status == status
    assert word in found.says
    assert found.predict(100) is None
    json.dumps(found.to_dict(), allow_nan=False)


def test_what_was_told_may_contradict_the_radii() -> None:
    """The thicker of two stocks that hang alike has the greater radius and cannot be the corner."""
    found = fit((20, 24), (35, 21), (50, 18), touched=(EDGE, "unknown", CORNER))
    assert found.status == "contradictory"
    assert "what is told to have touched" in found.says


def test_overhangs_are_for_all_or_for_none() -> None:
    with pytest.raises(InputError, match=r"limit\[1\]\.overhang_mm.*some limits only"):
        fit((50, 15), (12, 23), overhangs=(40.0, None))
