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
        ("assembly[0].instance", 0.5),
        ("assembly[0].instance", -1),
        ("expect", 1),
        ("expect[0]", {"touch": []}),
        ("expect[0].contact", []),
        ("expect[0].gap_mm", None),
        ("expect[0].contact[0].normal", [0, 0, 2]),
        ("expect[0].contact[0].point_mm", [0, 0]),
        ("expect[0].contact[1].part", None),
    ],
)
def test_each_value_at_fault_is_named(path: str, value: Any) -> None:
    assert paths(altered(TENON, path, value)) == [path]


def test_what_is_missing_is_named() -> None:
    settings = copy.deepcopy(TENON)
    del settings["parts"][0]["setups"][1]["trim_mm"]
    del settings["assembly"][1]["pose"]
    assert paths(settings) == ["parts[0].setups[1].trim_mm", "assembly[1].pose"]


def test_an_instance_placed_twice_is_named() -> None:
    settings = copy.deepcopy(TENON)
    settings["assembly"].append(settings["assembly"][0])
    assert paths(settings) == ["assembly[2].instance"]


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
    settings = jointgeo.solve_settings(joint, jointgeo.load_fixture("porch")).to_dict()
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
    settings = jointgeo.solve_settings(joint, jointgeo.load_fixture("porch")).to_dict()
    untouched = copy.deepcopy(settings)
    lean = json.loads(json.dumps(settings))
    for part in lean["parts"]:
        for key in set(part) - {"part", "stock", "layout", "setups"}:
            del part[key]
        for setup in part["setups"]:
            for key in set(setup) - {*NUMBERS_OF_SETUP, "against_plate", "cuts"}:
                del setup[key]
    for key in set(lean) - {"parts", "assembly", "expect", "joint_type", "fixture"}:
        del lean[key]
    assert dry_fit(lean).to_dict() == dry_fit(settings).to_dict()
    assert settings == untouched
