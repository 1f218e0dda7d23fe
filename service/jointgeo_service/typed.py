"""What a person types into a field of the form, made into the values that the library reads.

Knows parameter fields and errors; knows no HTTP, no page and no type by name.

Only here are a decimal comma, a fraction and a unit behind a number taken: programs write numbers
one way, people do not. A comma with three digits behind it is refused unless a zero stands before
it, since half the world reads ``1,500`` as one and a half and the other half as fifteen hundred.

Lengths are in the unit that the form was filled in with (``was``); the page that answers may ask
for the other one (``unit``), and then shows the same lengths in that.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Literal

import attrs

from jointgeo.errors import InputError, Problem, shown
from jointgeo.schema.fields import FieldInfo
from jointgeo.schema.units import MM_PER_INCH, read_inches

__all__ = ["OWN", "UNITS", "Field", "Typed", "field_names", "read_typed", "told"]

Unit = Literal["mm", "in"]
UNITS: tuple[Unit, ...] = ("mm", "in")
#: Names of the form's own fields; a parameter that has one of them is called ``joint.<name>``.
OWN = ("fixture", "hand", "unit", "was")
MOST_LETTERS = 40

_UNIT = re.compile(r"\s*(mm|in|\"|″|°|deg)\.?$", re.IGNORECASE)
_INCHES = ("in", '"', "″")
_DEGREES = ("°", "deg")
_COMMA = re.compile(r"([+-]?)(\d+),(\d+)", re.ASCII)
_POINT = re.compile(r"[+-]?\d+(\.\d+)?", re.ASCII)
_FRACTION = re.compile(r"[+-]?(\d+(\s+|-))?\d+\s*/\s*\d+", re.ASCII)


@attrs.frozen
class Field:
    """One field of a form. name: its name there; info: what the library says of it; text: what
    stands in it; problem: what is wrong with that, None where nothing is."""

    name: str
    info: FieldInfo
    text: str = ""
    problem: Problem | None = None


@attrs.frozen
class Typed:
    """A form as it was read. fields: with their texts in ``unit``. table: what the library reads,
    without what was left empty. unknown: what is no field of this form."""

    fields: tuple[Field, ...]
    table: Mapping[str, Any]
    unit: Unit
    unknown: tuple[Problem, ...]

    @property
    def problems(self) -> tuple[Field, ...]:
        """The fields with something wrong."""
        return tuple(f for f in self.fields if f.problem is not None)

    @property
    def texts(self) -> dict[str, str]:
        """By name, of all that is not empty, with both units: the form's own address."""
        return {f.name: f.text for f in self.fields if f.text} | {
            "unit": self.unit,
            "was": self.unit,
        }

    def with_faults(self, error: InputError) -> Typed:
        """The same, each problem at the field that it names."""
        found: dict[str, Problem] = {}
        rest = list(self.unknown)
        names = {alias: f.name for f in self.fields for alias in _aliases(f.info)}
        for problem in error.problems:
            if problem.field in names:
                found.setdefault(names[problem.field], problem)
            else:
                rest.append(problem)
        fields = (attrs.evolve(f, problem=f.problem or found.get(f.name)) for f in self.fields)
        return attrs.evolve(self, fields=tuple(fields), unknown=tuple(rest))


def _aliases(info: FieldInfo) -> tuple[str, ...]:
    return (info.name,) if info.inches_name is None else (info.name, info.inches_name)


def field_names(infos: Iterable[FieldInfo], own: Sequence[str] = OWN) -> dict[str, FieldInfo]:
    """Every parameter by its name in the form."""
    return {f"joint.{i.name}" if i.name in own else i.name: i for i in infos}


def read_typed(infos: Sequence[FieldInfo], pairs: Iterable[tuple[str, str]]) -> Typed:
    """A form, read as far as goes without the library; what is wrong stands at its field."""
    given: dict[str, str] = {}
    unknown: list[Problem] = []
    names = field_names(infos)
    for name, text in pairs:
        if name not in names and name not in OWN:
            unknown.append(Problem(name[:MOST_LETTERS], "is no field of this page", shown(text)))
        elif name in given:
            unknown.append(Problem(name, "is given more than once", shown(text), "once"))
        else:
            given[name] = text
    unit = _unit(given.get("unit"), "mm", "unit", unknown)
    was = _unit(given.get("was"), unit, "was", unknown)
    fields, table = [], {}
    for name, info in names.items():
        text = given.get(name, "").strip()
        problem = None
        if text:
            key, value, problem = _read(info, text, was)
            if problem is None:
                table[key] = value
                text = _shown_in(info, text, key, value, unit) if was != unit else text
        fields.append(Field(name, info, text[: 2 * MOST_LETTERS], problem))
    return Typed(tuple(fields), table, unit, tuple(unknown))


def told(value: object, info: FieldInfo, unit: Unit) -> str:
    """A value as it stands in a field."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        inches = unit == "in" and info.inches_name is not None
        return f"{value / MM_PER_INCH:.7g}" if inches else f"{value:.10g}"
    return str(value)


def _unit(text: str | None, otherwise: Unit, name: str, unknown: list[Problem]) -> Unit:
    if text is None:
        return otherwise
    for unit in UNITS:
        if text == unit:
            return unit
    unknown.append(Problem(name, "is not a choice", shown(text), "one of mm, in"))
    return otherwise


def _read(info: FieldInfo, text: str, unit: Unit) -> tuple[str, Any, Problem | None]:
    """Name and value for the library, or what is wrong with the text."""
    if info.kind == "flag":
        return info.name, {"true": True, "false": False}.get(text, text), None
    if info.kind not in ("number", "integer"):
        return info.name, text, None
    behind = _UNIT.search(text)
    suffix = behind[1].lower() if behind else ""
    plain = (text[: behind.start()] if behind else text).strip().replace("−", "-")
    length = info.unit == "mm"
    if suffix and info.unit != ("deg" if suffix in _DEGREES else "mm"):
        return info.name, None, _wrong(info, text, "has a unit that is not this field's", unit)
    inches = length and (suffix in _INCHES or (not suffix and unit == "in"))
    comma = _COMMA.fullmatch(plain)
    if comma is not None:
        if len(comma[3]) == 3 and comma[2] != "0":
            says = f"may be {comma[1]}{comma[2]}{comma[3]} or {comma[1]}{comma[2]}.{comma[3]}"
            return info.name, None, _wrong(info, text, f"{says}: write it with a point", unit)
        plain = f"{comma[1]}{comma[2]}.{comma[3]}"
    name = info.name
    if inches and info.inches_name is not None:
        name = info.inches_name
    if not (_POINT.fullmatch(plain) or (length and _FRACTION.fullmatch(plain))):
        return name, None, _wrong(info, text, "is not a number", unit)
    if "/" in plain or inches:
        try:
            size = read_inches(plain) / MM_PER_INCH
        except ValueError:
            return name, None, _wrong(info, text, "is not a number", unit)
        return name, (plain if inches else size), None
    return name, (int(plain) if info.kind == "integer" and "." not in plain else float(plain)), None


def _wrong(info: FieldInfo, text: str, message: str, unit: Unit) -> Problem:
    inches = unit == "in" and info.inches_name is not None
    return Problem(info.name, message, shown(text), info.allowed_inches if inches else info.allowed)


def _shown_in(info: FieldInfo, text: str, name: str, value: Any, unit: Unit) -> str:
    """A length in the unit that is shown now; whatever is no length stays as it was typed."""
    if info.inches_name is None:
        return text
    size = read_inches(value) if name == info.inches_name else float(value)
    return told(size, info, unit)
