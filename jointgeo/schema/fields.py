"""Fields of the values a person gives: unit, range, default and help, said once.

Knows attrs and errors; knows no joint type and no fixture.

Theory of operation. A class of values (a joint type, a piece of a fixture) is a
frozen attrs class whose fields are made by ``length``, ``angle``, ``number``,
``count``, ``choice``, ``flag`` and ``text`` below. Each leaves a ``FieldInfo`` in
the field's metadata. Three readers use it and nothing else:

* the field's own converter, so that ``Cls(x_mm=-3)`` is refused wherever it is built;
* ``tables.read``, which builds an object from plain data and reports *every* field at fault;
* ``describe``, from which schema, API page, command line and documents are made.

The trap: Python takes ``True`` for 1 and ``"1.5"`` for nothing at all, JSON readers
take NaN. All three are refused here, by name, rather than converted. The rejected
alternative was to coerce kindly; a width of ``True`` mm is never what was meant.
"""

from __future__ import annotations

import math
import re
import sys
from functools import cached_property, lru_cache
from numbers import Integral, Real
from typing import Any, Literal

import attrs

from jointgeo.errors import InputError, Problem, shown
from jointgeo.schema.units import MM_PER_INCH

__all__ = [
    "ASIDE",
    "ASKED",
    "KEY",
    "FieldInfo",
    "angle",
    "aside",
    "asked_list",
    "choice",
    "comma_hint",
    "count",
    "describe",
    "flag",
    "in_tables",
    "info_of",
    "length",
    "members",
    "number",
    "plain",
    "text",
]

Kind = Literal["number", "integer", "choice", "flag", "text"]
KEY = "jointgeo"
#: Of a list of tables that a file must give, an empty one where there is none: what that means.
ASKED = "jointgeo_asked"
#: Of an attribute that stands in no table: whoever reads one sets it.
ASIDE = "jointgeo_aside"
_LARGEST = sys.float_info.max


_COMMA = re.compile(r"\s*([+-]?\d+),(\d+)\s*", re.ASCII)


def comma_hint(given: object) -> str:
    """What to write where a number has a comma for its point, ``; write 28.5 with a point``; else
    ""."""
    found = _COMMA.fullmatch(given) if isinstance(given, str) else None
    return f"; write {found[1]}.{found[2]} with a point" if found else ""


@attrs.frozen
class FieldInfo:
    """What is known of one field.

    unit: "mm", "deg", "turn", "1" …, "" for choices and text.
    low, high: the closed range of allowed values, None where there is no bound;
    ``above`` says that ``low`` itself is not allowed.
    default: None where the field must be given.
    inches: the same length may be given under the name that ends in ``_in``.
    """

    name: str
    kind: Kind
    unit: str
    help: str
    low: float | None = None
    high: float | None = None
    above: bool = False
    choices: tuple[str, ...] = ()
    required: bool = True
    default: Any = None

    @cached_property
    def inches_name(self) -> str | None:
        """``x_in`` for a length ``x_mm``, else None."""
        if self.unit == "mm" and self.kind == "number" and self.name.endswith("_mm"):
            return self.name.removesuffix("_mm") + "_in"
        return None

    @property
    def may_be_none(self) -> bool:
        """Whether it may be left open: optional, and nothing stands for it then."""
        return not self.required and self.default is None

    @property
    def allowed(self) -> str:
        """The allowed values in words, with their unit."""
        unit = f" {self.unit}" if self.unit not in ("", "1") else ""
        if self.kind == "choice":
            return "one of " + ", ".join(f'"{c}"' for c in self.choices)
        if self.kind == "flag":
            return "true or false"
        if self.kind == "text":
            return f"text of 1 to {self.high:g} characters on one line"
        what = "a whole number" if self.kind == "integer" else "a number"
        return f"{what} {self._range(self.low, self.high, unit)}"

    @property
    def allowed_inches(self) -> str:
        """The same in inches."""
        return f"a number {self._range(*self.inches_range, ' in')}"

    @property
    def inches_range(self) -> tuple[float | None, float | None]:
        """low and high in inches, to 0.001 in and never wider than the range in millimetres."""
        low = None if self.low is None else math.ceil(self.low / MM_PER_INCH * 1000 - 1e-6) / 1000
        high = (
            None if self.high is None else math.floor(self.high / MM_PER_INCH * 1000 + 1e-6) / 1000
        )
        return low, high

    def _range(self, low: float | None, high: float | None, unit: str) -> str:
        bounds = []
        if low is not None:
            bounds.append(f"{'greater than' if self.above else 'at least'} {low:g}{unit}")
        if high is not None:
            bounds.append(f"at most {high:g}{unit}")
        return " and ".join(bounds) if bounds else f"in{unit or ' plain units'}"

    def problem(self, given: object, message: str, field: str = "") -> Problem:
        return Problem(field or self.name, message, shown(given), self.allowed, self.unit)

    def accept(self, given: object, field: str = "") -> Any:
        """The value as it is kept, or an InputError that names the field."""
        if type(given) is float and self.takes(given):
            return given  # by far the most usual case
        if given is None and self.may_be_none:
            return None
        value: Any = given
        if self.kind == "flag":
            ok, message = isinstance(given, bool), "is not true or false"
        elif self.kind == "choice":
            ok, message = isinstance(given, str) and given in self.choices, "is not a choice"
        elif self.kind == "text":
            ok = (
                isinstance(given, str)
                and 1 <= len(given) <= (self.high or math.inf)
                and given.isprintable()
            )
            message = "is not a short line of text"
        else:
            value, message = self._number(given)
            ok = not message
        if not ok:
            raise InputError(self.problem(given, message, field))
        return value

    def takes(self, value: float) -> bool:
        """Whether this is a number, and a float is finite and in its range."""
        low, high = self.taken
        return low <= value <= high

    @cached_property
    def taken(self) -> tuple[float, float]:
        """Least and greatest float that is taken; where this is no number, none lies between."""
        if self.kind != "number":
            return math.inf, -math.inf
        low = -_LARGEST if self.low is None else float(self.low)
        high = _LARGEST if self.high is None else float(self.high)
        return (math.nextafter(low, math.inf) if self.above else low), high

    def _number(self, given: object) -> tuple[float | int, str]:
        want = Integral if self.kind == "integer" else Real
        if isinstance(given, bool) or not isinstance(given, want):
            # A spreadsheet or a JSON writer may send 3.0 for the whole number 3.
            whole = isinstance(given, float) and given.is_integer()
            if not (self.kind == "integer" and whole):
                says = "is not a whole number" if self.kind == "integer" else "is not a number"
                return 0, says + comma_hint(given)
        try:
            number: Any = given
            value = int(number) if self.kind == "integer" else float(number)
        except OverflowError:
            return 0, "is too large"
        if isinstance(value, float) and not math.isfinite(value):
            return 0, "is not a finite number"
        if self.low is not None and (value <= self.low if self.above else value < self.low):
            return 0, "is too small"
        if self.high is not None and value > self.high:
            return 0, "is too large"
        return value, ""


def _make(kind: Kind, unit: str, help: str, default: Any, **bounds: Any) -> Any:
    # One, but for a class that is built anew, with the floats that it takes.
    infos: dict[str, tuple[float, float, FieldInfo]] = {}

    def convert(value: Any, field: attrs.Attribute[Any]) -> Any:
        known = infos.get(field.name)
        if known is None:
            info = info_of(field)
            known = infos[field.name] = (*info.taken, info)
        low, high, info = known
        return value if type(value) is float and low <= value <= high else info.accept(value)

    return attrs.field(
        default=default,
        kw_only=True,
        converter=attrs.Converter(convert, takes_field=True),
        metadata={KEY: {"kind": kind, "unit": unit, "help": help, **bounds}},
    )


def number(
    unit: str,
    help: str,
    *,
    low: float | None = None,
    high: float | None = None,
    above: float | None = None,
    default: Any = attrs.NOTHING,
) -> Any:
    """A finite number in ``unit`` from ``low`` (or strictly ``above``) to ``high``."""
    bounds = {"low": low if above is None else above, "high": high, "above": above is not None}
    return _make("number", unit, help, default, **bounds)


def length(
    help: str,
    *,
    low: float | None = None,
    high: float | None = 10_000.0,
    above: float | None = None,
    default: Any = attrs.NOTHING,
) -> Any:
    """A length in millimetres; the field's name must end in ``_mm``."""
    return number("mm", help, low=low, high=high, above=above, default=default)


def angle(help: str, *, low: float, high: float, default: Any = attrs.NOTHING) -> Any:
    """An angle in degrees; the field's name must end in ``_deg``."""
    return number("deg", help, low=low, high=high, default=default)


def count(help: str, *, low: int, high: int, default: Any = attrs.NOTHING) -> Any:
    """A whole number."""
    return _make("integer", "1", help, default, low=low, high=high)


def choice(help: str, choices: tuple[str, ...], *, default: Any = attrs.NOTHING) -> Any:
    """One of a few words."""
    return _make("choice", "", help, default, choices=choices)


def flag(help: str, *, default: Any = attrs.NOTHING) -> Any:
    """True or false."""
    return _make("flag", "", help, default)


def text(help: str, *, most: int = 80, default: Any = attrs.NOTHING) -> Any:
    """One short line of printable text."""
    return _make("text", "", help, default, high=most)


def asked_list(help: str) -> Any:
    """A list of tables that a file must give, if only as an empty one; made in Python without it,
    there is none. help: what an empty list says, and what leaving it out does."""
    return attrs.field(kw_only=True, default=(), metadata={ASKED: help})


def aside(default: Any) -> Any:
    """An attribute that no table gives and none shows: whoever reads one sets it."""
    return attrs.field(kw_only=True, default=default, metadata={ASIDE: True})


def in_tables(field: attrs.Attribute[Any]) -> bool:
    """Whether a table of its class may give it."""
    return field.init and ASIDE not in field.metadata


def info_of(field: attrs.Attribute[Any]) -> FieldInfo:
    """The FieldInfo of one attrs field made here; worked out once for each field."""
    known = _INFOS.get(id(field.metadata))
    if known is None or known[0] is not field.metadata or known[1].name != field.name:
        known = _INFOS[id(field.metadata)] = (field.metadata, _info(field))
    return known[1]


#: By identity of the metadata, which is kept alive here, so that an identity never comes back.
_INFOS: dict[int, tuple[Any, FieldInfo]] = {}


def _info(field: attrs.Attribute[Any]) -> FieldInfo:
    required = field.default is attrs.NOTHING
    return FieldInfo(
        name=field.name,
        required=required,
        default=None if required else field.default,
        **field.metadata[KEY],
    )


def describe(cls: type) -> tuple[FieldInfo, ...]:
    """Every field of ``cls`` that was made here, in order of definition."""
    return tuple(info_of(f) for f in attrs.fields(cls) if KEY in f.metadata)


def plain(value: Any) -> dict[str, Any]:
    """The fields of ``value`` as plain data that ``read`` takes back unchanged."""
    return {info.name: getattr(value, info.name) for info in describe(type(value))}


def members(value: attrs.AttrsInstance) -> dict[str, Any]:
    """Every attribute of an attrs instance by name, none of them copied or looked into.

    What ``attrs.asdict`` gives without recursion, in a fifth of its time.
    """
    return {name: getattr(value, name) for name in _names(type(value))}


@lru_cache(maxsize=256)
def _names(cls: type) -> tuple[str, ...]:
    return tuple(f.name for f in attrs.fields(cls))
