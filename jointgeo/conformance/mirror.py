"""The mirrored joint's settings are the mirror image of the joint as drawn.

Knows the JSON contract's settings and the rotation they stand for; shares no code with
the solver's own mirroring.

Theory. Reflected in x, stock of width w has x' = w - x, and the face edge changes sides,
so ``x_from`` does too. A clamping turns the stock by R; that of the mirror image turns it
by M·R·M with M = diag(-1, 1, 1), and that is: the *same marked side* on the plate, the
same tilt, swivel and packing opposite, the opposite marked side on the fence. A channel's
cheeks are planes of machine X, so in the stock they are a ≤ u·p ≤ b with u the first row
of R; in the mirror image u' = ±M·u and a, b move by w·u_x.

The trap. Of two clampings the solver takes the one that suits the fixture, and a fixture
has a left and a right: the mirror image may well be cut with the other one, whose tilt is
opposite and whose cuts run the same way round. So clampings are compared candidate by
candidate, and cuts as planes in the stock, never as numbers on the traverse.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from jointgeo.conformance.mirror_drawn import (
    SAME_MM,
    Array,
    M,
    drawing_faults,
    near,
    pose_of_image,
)
from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject
from jointgeo.planning.orientation import machine_from_stock
from jointgeo.schema.fields import plain
from jointgeo.solution.setup import HANDS
from jointgeo.solution.solution import solve

__all__ = ["mirrored"]

SAME_DEG = 1e-7
_OTHER = {
    "face_edge": "back_edge",
    "back_edge": "face_edge",
    "face_side": "back",
    "back": "face_side",
}


def mirrored(subject: Subject, notes: Notes) -> None:
    """with hand = "mirrored" settings and checks are those of the mirror image"""
    setups = 0
    for joint, fixture in subject.benches:
        both = [solve(joint, fixture, hand) for hand in HANDS]
        drawn, image = (answer.settings_dict(aids=False) for answer in both)
        faults: list[str] = []
        setups += _compare(drawn, image, faults)
        judged, judged_image = (
            sorted((c.part, c.setup or 0, c.name) for c in answer.checks) for answer in both
        )
        if judged != judged_image:
            faults.append("the mirrored joint is judged by other checks")
        for fault in faults:
            notes.fault(f"{fault} ({plain(joint)})")
    notes.did(f"{setups} setups of {len(subject.cases)} joints")


def _compare(drawn: dict[str, Any], image: dict[str, Any], faults: list[str]) -> int:
    """Adds what is not mirrored to ``faults``; the number of setups compared."""
    names = [[p["part"] for p in s["parts"]] for s in (drawn, image)]
    if names[0] != names[1]:
        faults.append(f"other parts: {names[1]} and not {names[0]}")
        return 0
    widths = {}
    for a, b in zip(drawn["parts"], image["parts"], strict=True):
        widths[a["part"]] = a["stock"]["width_mm"]
        _part(a, b, faults)
    for a, b in zip(drawn["assembly"], image["assembly"], strict=True):
        if not near(pose_of_image(a["pose"], widths[a["part"]]), b["pose"]):
            faults.append(f"part {a['part']} does not stand where its mirror image does")
    faults += drawing_faults(drawn["drawing"], image["drawing"])
    return sum(len(p["setups"]) for p in drawn["parts"])


def _part(a: dict[str, Any], b: dict[str, Any], faults: list[str]) -> None:
    name, width = a["part"], a["stock"]["width_mm"]
    wanted = a["stock"] | {"x_from": _OTHER[a["stock"]["x_from"]]}
    for key, value in wanted.items():
        other = b["stock"][key]
        if value != other if isinstance(value, str) else abs(value - other) > SAME_MM:
            faults.append(f"part {name}: the stock's {key} is {other}, not {value}")
    for box, other in zip(a["layout"], b["layout"], strict=True):
        frame = np.array(box["frame"])
        frame[:3, :3] = M @ frame[:3, :3] @ M
        frame[0, 3] = width - frame[0, 3]
        if box["name"] != other["name"] or not near(frame, other["frame"]):
            faults.append(f"part {name}: the layout {box['name']} is not mirrored")
    faults += [  # lines are given on edges named by the marks, and the marks are mirrored too
        f"part {name}: the {mark['line']} line is not mirrored"
        for mark in a["marks"]
        if not any(_same_line(mark, other) for other in b["marks"])
    ]
    if len(a["setups"]) != len(b["setups"]):
        faults.append(f"part {name}: {len(b['setups'])} setups and not {len(a['setups'])}")
        return
    for number, (one, two) in enumerate(zip(a["setups"], b["setups"], strict=True), 1):
        where = f"part {name}, clamping {number}"
        _clampings(where, one, two, faults)
        _cuts(where, (one, a["stock"]), (two, b["stock"]), faults)


def _same_line(a: dict[str, Any], b: dict[str, Any]) -> bool:
    edges = sorted(a["at_mm"])
    return (
        a["line"] == b["line"]
        and edges == sorted(b["at_mm"])
        and near([a["at_mm"][e] for e in edges], [b["at_mm"][e] for e in edges])
    )


def _clampings(where: str, a: dict[str, Any], b: dict[str, Any], faults: list[str]) -> None:
    if abs(abs(a["tilt_deg"]) - abs(b["tilt_deg"])) > SAME_DEG:
        faults.append(f"{where}: tilt {b['tilt_deg']:.6f}° and not ±{a['tilt_deg']:.6f}°")
    if abs(a["trim_mm"] - b["trim_mm"]) > SAME_MM:
        faults.append(f"{where}: the trim is {b['trim_mm']} mm and not {a['trim_mm']} mm")
    by_side = {c["against_plate"]: c for c in b["candidates"]}
    for c in a["candidates"]:
        if c["degenerate"]:
            continue  # tilt and packing are one turn there; the cuts below still decide
        other = by_side.get(c["against_plate"])
        if other is None:
            faults.append(f"{where}: no clamping with {c['against_plate']} on the plate")
            continue
        for key, sign in (("swivel_deg", -1.0), ("tilt_deg", 1.0), ("packing_deg", -1.0)):
            if abs(other[key] - sign * c[key]) > SAME_DEG:
                faults.append(
                    f"{where}, {c['against_plate']} on the plate: {key} is {other[key]:.6f} "
                    f"where its mirror image has {sign * c[key]:.6f}"
                )
        if other["against_fence"] != _OTHER[c["against_fence"]]:
            faults.append(
                f"{where}, {c['against_plate']} on the plate: {other['against_fence']} lies on "
                f"the fence and not {_OTHER[c['against_fence']]}"
            )


def _cuts(
    where: str,
    a: tuple[dict[str, Any], dict[str, Any]],
    b: tuple[dict[str, Any], dict[str, Any]],
    faults: list[str],
) -> None:
    (across, inward, height, cuts), (across_b, inward_b, height_b, cuts_b) = (
        _planes(*setup) for setup in (a, b)
    )
    width = a[1]["width_mm"]
    if not near(M @ inward, inward_b, 1e-9) or (
        abs(height - width * inward[0] - height_b) > SAME_MM
    ):
        faults.append(f"{where}: the trim plane is not mirrored")
    sign = 1.0 if float(across_b @ (M @ across)) > 0 else -1.0
    if not near(sign * (M @ across), across_b, 1e-9):
        faults.append(f"{where}: the cheeks do not lie in the mirrored planes")
        return
    moved = cuts - [width * across[0], width * across[0], 0.0]
    if sign < 0:
        moved = moved[:, [1, 0, 2]] * [-1.0, -1.0, 1.0]
    wanted = moved[np.lexsort(moved.T[::-1])]
    found = cuts_b[np.lexsort(cuts_b.T[::-1])]
    if wanted.shape != found.shape or not near(wanted, found):
        faults.append(
            f"{where}: cuts (low, high, depth in the stock) {found.round(4).tolist()} are not the "
            f"mirror image {wanted.round(4).tolist()}"
        )


def _planes(setup: dict[str, Any], stock: dict[str, Any]) -> tuple[Array, Array, float, Array]:
    """What one setup cuts, in the stock: across and inward (3,), the trim plane's
    inward·p in mm, and (n, 3) low, high along ``across`` and depth of each cut in mm."""
    plate, x_from = setup["against_plate"], stock["x_from"]
    side = {"back": 0, "face_side": 2}.get(plate, 3 if plate == x_from else 1)
    turned = machine_from_stock(setup["swivel_deg"], setup["tilt_deg"], setup["packing_deg"], side)
    across, _, inward = (np.array(row) for row in turned)
    w, t = stock["width_mm"], stock["thickness_mm"]
    square = np.array([[x, y, 0.0] for x in (0.0, w) for y in (0.0, t)])
    height = float((square @ inward).min()) + setup["trim_mm"]
    edge = setup["touch_off"]["nearest_edge"]
    # "face_side_back_edge": which of y = 0 and t, and which of x = 0 and w.
    x = 0.0 if edge.endswith(x_from) else w
    y = 0.0 if edge.startswith("face_side") else t
    corner = np.array([x, y, (height - inward[0] * x - inward[1] * y) / inward[2]])
    start = float(across @ corner) + setup["touch_off"]["cut_away_mm"]
    cuts = [[start + c["left_mm"], start + c["right_mm"], c["depth_mm"]] for c in setup["cuts"]]
    return across, inward, height, np.array(cuts).reshape(-1, 3)
