"""What a person types into a form, and what the library gets of it.

An inch is 25.4 mm exactly (international yard of 1959, from memory). Forms of numbers are common
practice in shops on both sides of the sea; no published source.
"""

from __future__ import annotations

from typing import Any

import pytest

from jointgeo.schema.fields import FieldInfo
from jointgeo_service.typed import read_typed

LENGTH = FieldInfo("rail_mm", "number", "mm", "Width of the rail", low=0.1, high=500)
LEAN = FieldInfo("lean_deg", "number", "deg", "Lean", low=-60, high=60)
COUNT = FieldInfo("fingers", "integer", "1", "Fingers", low=1, high=50)
FLAG = FieldInfo("through", "flag", "", "Whether it goes through")
INFOS = (LENGTH, LEAN, COUNT, FLAG)


def read(**given: str) -> Any:
    return read_typed(INFOS, given.items())


@pytest.mark.parametrize(
    ("text", "table"),
    [
        ("12.5", {"rail_mm": 12.5}),
        ("12,5", {"rail_mm": 12.5}),
        (" 12,5 mm ", {"rail_mm": 12.5}),
        ("12 1/2", {"rail_mm": 12.5}),
        ("0,125", {"rail_mm": 0.125}),
        ("2 1/2 in", {"rail_in": "2 1/2"}),
        ('2-1/2"', {"rail_in": "2-1/2"}),
        ("2,5in", {"rail_in": "2.5"}),
    ],
)
def test_lengths_in_a_form_that_is_in_millimetres(text: str, table: dict[str, Any]) -> None:
    typed = read(rail_mm=text)
    assert typed.problems == ()
    assert typed.table == table


@pytest.mark.parametrize(
    ("text", "table"),
    [
        ("2 1/2", {"rail_in": "2 1/2"}),
        ("2,5", {"rail_in": "2.5"}),
        ("66 mm", {"rail_mm": 66.0}),
    ],
)
def test_lengths_in_a_form_that_is_in_inches(text: str, table: dict[str, Any]) -> None:
    assert read(rail_mm=text, unit="in").table == table


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("lean_deg", "−7,5°", -7.5),
        ("lean_deg", "7.5 deg", 7.5),
        ("fingers", "7", 7),
        ("through", "false", False),
    ],
)
def test_all_else(name: str, text: str, value: Any) -> None:
    typed = read(**{name: text}, unit="in")
    assert typed.table == {name: value}
    assert type(typed.table[name]) is type(value)


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("rail_mm", "1,500", "may be 1500 or 1.500"),
        ("rail_mm", "1.234,5", "is not a number"),
        ("rail_mm", "1_0", "is not a number"),
        ("rail_mm", "１２", "is not a number"),
        ("rail_mm", "nan", "is not a number"),
        ("rail_mm", "1e3", "is not a number"),
        ("rail_mm", "2 1/0 in", "is not a number"),
        ("rail_mm", "12°", "has a unit that is not this field's"),
        ("lean_deg", "7 mm", "has a unit that is not this field's"),
        ("lean_deg", "7 1/2", "is not a number"),
        ("fingers", "7 in", "has a unit that is not this field's"),
    ],
)
def test_what_may_mean_two_things_or_nothing_is_refused(name: str, text: str, says: str) -> None:
    typed = read(**{name: text})
    (field,) = typed.problems
    assert field.name == name
    assert field.text == text
    assert says in field.problem.message
    assert name not in typed.table


def test_another_unit_shows_the_same_lengths_and_means_the_same() -> None:
    typed = read(rail_mm="63.5", lean_deg="7", was="mm", unit="in")
    assert typed.table == {"rail_mm": 63.5, "lean_deg": 7.0}
    assert typed.texts == {"rail_mm": "2.5", "lean_deg": "7", "unit": "in", "was": "in"}
    back = read(**(typed.texts | {"unit": "mm"}))
    assert back.table == {"rail_in": "2.5", "lean_deg": 7.0}
    assert back.texts["rail_mm"] == "63.5"


def test_what_is_no_field_is_told() -> None:
    typed = read_typed(INFOS, [("rail_mm", "1"), ("rail_mm", "2"), ("knot", "3"), ("unit", "ell")])
    assert [p.field for p in typed.unknown] == ["rail_mm", "knot", "unit"]


def test_a_parameter_with_a_name_of_the_forms_own_keeps_apart() -> None:
    unit = FieldInfo("unit", "text", "", "What it is called", high=80)
    typed = read_typed((unit,), [("unit", "in"), ("joint.unit", "board")])
    assert typed.table == {"unit": "board"}
    assert typed.unit == "in"
