"""Settings that cannot be read: an InputError that names each path, and never anything else."""

from __future__ import annotations

import copy
import json
from typing import Any

import numpy as np
import pytest

import jointgeo
from jointgeo.errors import InputError
from jointgeo.proof import dry_fit

from .handmade import altered, keys, square_tenon
from .samples import solved

TENON = square_tenon()
NUMBERS_OF_SETUP = ("swivel_deg", "tilt_deg", "packing_deg", "trim_mm", "kerf_mm")


def paths(settings: object, errors: object = None) -> list[str]:
    with pytest.raises(InputError) as raised:
        dry_fit(settings, errors)
    return [p.field for p in raised.value.problems]


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("parts", None),
        ("parts", {"rail": {}}),
        ("parts[0]", "rail"),
        ("parts[0].part", ""),
        ("parts[0].part", 7),
        ("parts[0].stock", []),
        ("parts[0].stock.width_mm", 0),
        ("parts[0].stock.thickness_mm", True),
        ("parts[0].stock.length_mm", "200"),
        ("parts[0].stock.x_from", "left"),
        ("parts[0].setups", {}),
        ("parts[0].setups[1].against_plate", "bottom"),
        *((f"parts[0].setups[0].{name}", None) for name in NUMBERS_OF_SETUP),
        *((f"parts[0].setups[0].{name}", float("nan")) for name in NUMBERS_OF_SETUP),
        ("parts[0].setups[0].swivel_deg", 361),
        ("parts[0].setups[0].kerf_mm", 0),
        ("parts[0].setups[0].cuts[1].left_mm", "50"),
        ("parts[0].setups[0].cuts[1].right_mm", 50),
        ("parts[0].setups[0].cuts[1].depth_mm", 0),
        ("parts[0].setups[0].cuts[1].passes", 3),
        ("parts[0].setups[0].cuts[1].passes[0].travel_mm", float("inf")),
        ("parts[0].setups[0].cuts[1].passes[0].travel_mm", 10**400),
        ("parts[1].layout", None),
        ("parts[1].layout[0].frame", [[1, 0, 0, 0]] * 3),
        ("parts[1].layout[0].frame", [[1, 0, 0, "0"]] * 4),
        ("parts[1].layout[0].size_mm", [1, 2, 0]),
        ("parts[1].layout[0].size_mm", [1, 2]),
        ("parts[1].part", "rail"),
        ("assembly", "here"),
        ("assembly[0].pose", np.eye(3).tolist()),
        ("assembly[0].pose", None),
        ("drawing", None),
        ("drawing.bars", {}),
        ("drawing.bars[0].size_mm", [60, 20, 0]),
        ("drawing.bars[0].pose", None),
        ("drawing.notches", None),
        ("drawing.notches[0].name", ""),
        ("drawing.notches[0].bar", "leg"),
        ("drawing.notches[0].end", []),
        ("drawing.notches[0].end.normal", [0, 0, -2]),
        ("drawing.notches[0].end.at_mm", None),
        ("drawing.notches[0].across", [0.6, 0, -0.8]),
        ("drawing.notches[0].channels[0].low_mm", "0"),
        ("drawing.notches[0].channels[0].low_mm", float("inf")),
        ("drawing.notches[0].channels[1].depth_mm", 0),
        ("drawing.notches[0].channels[1].gap_mm", None),
        ("drawing.pockets[0].bar", None),
        ("drawing.pockets[0].size_mm", [40, -10, 27]),
        ("drawing.empty[0].frame", [[1, 0, 0, 0]] * 3),
        ("drawing.slides", [0, 0, 1]),
        ("drawing.slides.rail", [0, 0]),
        ("drawing.slides.rail", [0, 0, 0]),
    ],
)
def test_each_value_at_fault_is_named(path: str, value: Any) -> None:
    assert paths(altered(TENON, path, value)) == [path]


def test_what_is_missing_is_named() -> None:
    settings = copy.deepcopy(TENON)
    del settings["parts"][0]["setups"][1]["trim_mm"]
    del settings["assembly"][1]["pose"]
    assert paths(settings) == ["parts[0].setups[1].trim_mm", "assembly[1].pose"]


def test_a_part_placed_twice_is_named() -> None:
    settings = copy.deepcopy(TENON)
    settings["assembly"].append(settings["assembly"][0])
    assert paths(settings) == ["assembly[2].part"]


def test_a_bar_drawn_twice_is_named() -> None:
    """And the mortise, which is then no bar's."""
    spoilt = altered(TENON, "drawing.bars[1].name", "rail")
    assert paths(spoilt) == ["drawing.bars[1].name", "drawing.pockets[0].bar"]


def test_a_slide_of_no_bar_is_named() -> None:
    settings = copy.deepcopy(TENON)
    settings["drawing"]["slides"]["leg"] = [0, 0, 1]
    assert paths(settings) == ["drawing.slides.leg"]


def test_a_channel_upside_down_is_named() -> None:
    spoilt = altered(TENON, "drawing.notches[0].channels[0]", {"low_mm": 3, "high_mm": 3})
    spoilt["drawing"]["notches"][0]["channels"][0] |= {"depth_mm": 1, "gap_mm": 0}
    assert paths(spoilt) == ["drawing.notches[0].channels[0].high_mm"]


def test_the_message_says_what_is_allowed() -> None:
    with pytest.raises(InputError) as raised:
        dry_fit(altered(TENON, "parts[0].stock.width_mm", -60))
    (problem,) = raised.value.problems
    assert problem.given == "-60"
    assert problem.unit == "mm"
    assert "above 0" in problem.allowed


@pytest.mark.parametrize("settings", [None, [], "settings", 3])
def test_no_table_at_all(settings: object) -> None:
    assert paths(settings) == ["settings"]


@pytest.mark.parametrize(
    ("errors", "field"),
    [
        ({"tilt": 0.1}, "errors.tilt"),
        ({"tilt_deg": "0.1"}, "errors.tilt_deg"),
        ({"kerf_mm": float("inf")}, "errors.kerf_mm"),
        ({"travel_mm": True}, "errors.travel_mm"),
        ([], "errors"),
    ],
)
def test_errors_at_fault_are_named(errors: object, field: str) -> None:
    assert paths(TENON, errors) == [field]


def test_any_spoilt_value_is_an_answer_or_an_input_error(rng: np.random.Generator) -> None:
    """300 settings of a solved joint with one value anywhere replaced by something odd."""
    joint = jointgeo.joint_type("splayed_bridle").examples()[0]
    settings = solved(joint)
    places = list(_leaves(settings))
    odd = [None, True, -1, 0, 1e-9, -1e5, 1e6, float("nan"), "x", "", [], {}, [[]], 10**30]
    refused = answered = 0
    for _ in range(300):
        path = places[int(rng.integers(len(places)))]
        value = odd[int(rng.integers(len(odd)))]
        spoilt = altered(settings, path, value)
        try:
            answer = dry_fit(spoilt).to_dict()
        except InputError as error:
            found = error.problems
            refused += 1
        else:
            found = ()
            json.dumps(answer, allow_nan=False)
            answered += 1
        assert all(p.field and p.message for p in found)
    assert refused > 50
    assert answered > 50


def _leaves(value: Any, path: str = "") -> Any:
    items = value.items() if isinstance(value, dict) else enumerate(value)
    for key, inner in items:
        where = f"{path}[{key}]" if isinstance(value, list) else f"{path}.{key}".lstrip(".")
        if isinstance(inner, (dict, list)) and inner:
            yield from _leaves(inner, where)
        elif list(keys(where)):
            yield where


def test_only_the_json_counts() -> None:
    """Through JSON text and back, and with every key it does not need taken out, all the same."""
    joint = jointgeo.joint_type("angled_tenon").examples()[1]
    settings = solved(joint)
    untouched = copy.deepcopy(settings)
    lean = json.loads(json.dumps(settings))
    for part in lean["parts"]:
        for key in set(part) - {"part", "stock", "layout", "setups"}:
            del part[key]
        for setup in part["setups"]:
            for key in set(setup) - {*NUMBERS_OF_SETUP, "against_plate", "cuts"}:
                del setup[key]
    for key in set(lean) - {"parts", "assembly", "drawing", "joint_type", "fixture"}:
        del lean[key]
    assert dry_fit(lean).to_dict() == dry_fit(settings).to_dict()
    assert settings == untouched
