"""Questions about fixtures as things to be changed or built: works, allowed changes, parts.

Knows the schemas and jointgeo's fixture changes and parts by their fields; knows no type by name,
no HTTP; works nothing out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import attrs
import marshmallow as ma

from jointgeo.errors import InputError, Problem, shown
from jointgeo.fixture_changes.changes import KINDS
from jointgeo.fixture_changes.search import ROOM_MM
from jointgeo.fixture_parts.catalogue import PARTS
from jointgeo.fixture_parts.wanted import Wanted
from jointgeo.fixtures.model import Cutter
from jointgeo.schema.fields import FieldInfo
from jointgeo.schema.tables import read
from jointgeo.sheet.style import PAPERS
from jointgeo_service.change_work import WorkAsked
from jointgeo_service.elsewhere import types_in
from jointgeo_service.fixtures import Fixtures
from jointgeo_service.limits import CHANGES, FIXTURES, MOST_PLANS, PLANS, WORKS
from jointgeo_service.piece_questions import MARKS, ListOf, TableField
from jointgeo_service.properties import property_of
from jointgeo_service.questions import HAND, FixtureField
from jointgeo_service.schemas import (
    Accepted,
    Documented,
    Strict,
    described,
    schema_class,
)

__all__ = [
    "CHANGE_SCHEMAS",
    "PAPER",
    "PART",
    "PART_DRAWN",
    "PART_SHAPE",
    "bodies",
    "types_of",
]


def _argument(name: str, kind: Any, unit: str, says: str, **more: Any) -> FieldInfo:
    return FieldInfo(name, kind, unit, says, required=False, **more)


WORK_NAME = _argument("name", "text", "", "Your own name for it", high=80)
JOINT_TYPE = _argument("joint_type", "text", "", "The type of a joint", high=60)
PIECE_TYPE = _argument("piece_type", "text", "", "The type of a piece", high=60)
ROOM = _argument(
    "room_mm", "number", "mm", "Room wanted beside all that swings", low=0, high=1000,
    default=ROOM_MM,
)  # fmt: skip
PAIRS = _argument(
    "pairs", "flag", "", "Whether two changes together are looked for as well", default=True
)
MOST = _argument(
    "plans", "integer", "1", "The search ends after so many plans, and says so", low=1,
    high=MOST_PLANS, default=PLANS,
)  # fmt: skip
CHANGE = FieldInfo("change", "choice", "", "What is changed", choices=tuple(KINDS))
TARGET = _argument(
    "target", "text", "", "Which beam, body, axis or travel; all that there are if left out",
    high=200,
)  # fmt: skip
MOST_OF = _argument("most", "number", "1", "The most of it, mm or degrees", low=0, high=10_000)
PRICE = _argument("price", "number", "1", "Its price for each mm or degree", low=0, high=1e6)
ONCE = _argument("once", "number", "1", "Its price, however little it is", low=0, high=1e6)
THICKNESS = FieldInfo(
    "thickness_mm", "number", "mm", "A thickness of stock", low=0, high=500, above=True
)
PART = _argument(
    "part", "choice", "", "One part only; every one that can be made if left out",
    choices=tuple(PARTS),
)  # fmt: skip


PART_DRAWN = (
    "html: the page to print, at full size over several sheets; dxf: the DXF file of one part, "
    "which takes jointgeo's extra draw"
)
PART_SHAPE = _argument(
    "shape", "choice", "", f"Form of the answer: JSON; {PART_DRAWN}",
    choices=("json", "html", "dxf"), default="json",
)  # fmt: skip
PAPER = _argument(
    "paper", "choice", "", "For shape=html: the paper's size; whatever is in if left out",
    choices=tuple(PAPERS),
)  # fmt: skip


class _WorkItem(Strict):
    whole = "work"


class _ChangeItem(Strict):
    whole = "change"


_OF_JOINT = {"type": "object", "description": "Parameters of a joint; goes with joint_type"}
_OF_PIECE = {
    "type": "object",
    "description": "Parameters of a piece, with piece_type; or a piece file's tables, without",
}
_OF_JOB = {"type": "object", "description": "A job file's tables; its own fixture is not looked at"}
_WORK = schema_class(
    "fixture_work",
    {
        "name": Accepted(WORK_NAME),
        "joint_type": Accepted(JOINT_TYPE),
        "joint": TableField(_OF_JOINT, "a table of parameters", required=False),
        "hand": Accepted(HAND),
        "piece_type": Accepted(PIECE_TYPE),
        "piece": TableField(_OF_PIECE, "a table", required=False),
        "marks": Accepted(MARKS),
        "job": TableField(_OF_JOB, "a job file's tables", required=False),
    },
    base=_WorkItem,
)
_CUTTER = TableField(
    {"$ref": "#/components/schemas/fixture_cutter"}, "a table that describes a cutter",
    required=False,
)  # fmt: skip
_CHANGE = schema_class(
    "fixture_change",
    {
        "change": Accepted(CHANGE),
        "target": Accepted(TARGET),
        "most": Accepted(MOST_OF),
        "price": Accepted(PRICE),
        "once": Accepted(ONCE),
        "cutter": _CUTTER,
    },
    base=_ChangeItem,
)
#: Schemas to which others refer by name.
CHANGE_SCHEMAS: dict[str, type[ma.Schema]] = {
    "fixture_work": _WORK,
    "fixture_change": _CHANGE,
    "fixture_wanted": described(Wanted, "fixture_wanted"),
}


def types_of(works: list[WorkAsked]) -> set[str]:
    """Every type that these works name."""
    own = {w.type for w in works if w.type}
    return own.union(*(types_in(w.data) for w in works if not w.type))


def bodies(fixtures: Fixtures) -> dict[str, ma.Schema]:
    """The bodies of POST, by the last word of the URL."""
    works = {"works": _Works()}
    change = {"$ref": "#/components/schemas/fixture_change"}
    allow = ListOf(_change, change, "changes that may be made; all usual ones if left out", 1,
                   CHANGES, required=False)  # fmt: skip
    fixture = FixtureField(fixtures)
    thick = ListOf(
        _plain(THICKNESS), property_of(THICKNESS),
        "thicknesses of stock to tell the greatest tilt of", 0, FIXTURES, required=False,
    )  # fmt: skip
    wanted = {"$ref": "#/components/schemas/fixture_wanted"}
    kinds = ListOf(
        _plain(PART), property_of(PART), "parts by name; every one that can be made if left out",
        1, len(PARTS), required=False,
    )  # fmt: skip
    made: dict[str, dict[str, ma.fields.Field[Any]]] = {
        "fixture-changes": {
            **works,
            "fixture": fixture,
            "allow": allow,
            "room_mm": Accepted(ROOM),
            "pairs": Accepted(PAIRS),
            "plans": Accepted(MOST),
        },
        "fixture-comparisons": {**works, "fixtures": _Fixtures(fixtures), "thicknesses_mm": thick},
        "fixture-gains": {
            **works,
            "before": _Named("before", fixtures),
            "after": _Named("after", fixtures),
        },
        "fixture-parts": {
            "fixture": fixture,
            "wanted": TableField(wanted, "a table", required=False),
            "parts": kinds,
            "shape": Accepted(PART_SHAPE),
            "paper": Accepted(PAPER),
        },
    }
    return {
        name: schema_class(f"{name.replace('-', '_')}_question", fields, base=Strict)()
        for name, fields in made.items()
    }


class _Works(ListOf):
    def __init__(self) -> None:
        doc = {"$ref": "#/components/schemas/fixture_work"}
        super().__init__(_work, doc, "works: joints, pieces or jobs to cut", 1, WORKS)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        found = super()._deserialize(value, attr, data, **kwargs)
        return [
            WorkAsked(**work | {"name": work["name"] or f"work {i + 1}", "field": f"works[{i}]"})
            for i, work in enumerate(found)
        ]


class _Fixtures(ListOf):
    """Several fixtures, each as everywhere else."""

    def __init__(self, fixtures: Fixtures) -> None:
        one = FixtureField(fixtures)
        super().__init__(lambda item: item, one.openapi, "fixtures to compare", 1, FIXTURES)
        self.one = one

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        found = super()._deserialize(value, attr, data, **kwargs)
        out: list[Any] = []
        problems: list[Problem] = []
        for number, item in enumerate(found):
            problems += _read_fixture(self.one, item, f"{attr}[{number}]", out)
        if problems:
            raise ma.ValidationError(problems)
        return out


class _Named(Documented):
    """A fixture under a name of its own."""

    def __init__(self, name: str, fixtures: Fixtures) -> None:
        self.one = FixtureField(fixtures)
        doc = {**self.one.openapi, "description": f"The fixture {name}: a name, or a whole one"}
        super().__init__(doc, required=True, metadata=self.one.metadata)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        out: list[Any] = []
        problems = _read_fixture(self.one, value, str(attr), out)
        if problems:
            raise ma.ValidationError(problems)
        return out[0]


def _read_fixture(one: FixtureField, value: Any, path: str, out: list[Any]) -> list[Problem]:
    """Append the fixture to ``out``; its problems, with ``path`` in place of "fixture"."""
    try:
        out.append(one.deserialize(value, "fixture", {"fixture": value}))
    except ma.ValidationError as error:
        found = [m for m in error.messages if isinstance(m, Problem)]
        told = [Problem(path, "must not be null", None, "a name or a table")]
        moved = [_moved(p, path) for p in found]
        return moved or told
    return []


def _moved(problem: Problem, path: str) -> Problem:
    rest = problem.field.removeprefix("fixture")
    return Problem(f"{path}{rest}", problem.message, problem.given, problem.allowed, problem.unit)


def _work(data: Any) -> dict[str, Any]:
    loaded = _WORK().load(data)
    kinds = [k for k in ("joint", "piece", "job") if k in loaded]
    if len(kinds) != 1:
        given = " and ".join(kinds) if kinds else None
        raise InputError(Problem("", "needs one of joint, piece and job", given, "exactly one"))
    kind = kinds[0]
    wrong = {"joint_type", "piece_type"} & loaded.keys() - {f"{kind}_type"}
    if wrong:
        message = f"does not go with {kind}"
        raise InputError(*(Problem(n, message, shown(loaded[n]), "") for n in sorted(wrong)))
    if kind == "joint" and "joint_type" not in loaded:
        raise InputError(Problem("joint_type", "is missing", None, "the type of the joint"))
    own = {"kind": kind, "type": loaded.get(f"{kind}_type", ""), "data": loaded[kind]}
    return {"name": loaded.get("name", "")} | own | {n: loaded[n] for n in ("hand", "marks")}


def _change(data: Any) -> Mapping[str, Any]:
    loaded: dict[str, Any] = _CHANGE().load(data)
    if (loaded["change"] == "cutter") != ("cutter" in loaded):
        message = 'goes with the change "cutter", and is needed there'
        raise InputError(Problem("cutter", message, None, "a table that describes a cutter"))
    if "cutter" in loaded:
        try:
            loaded["cutter"] = read(Cutter, loaded["cutter"])
        except InputError as error:
            raise error.under("cutter") from None
    return loaded


def _plain(info: FieldInfo) -> Callable[[Any], Any]:
    """Reads an item of a list that is no table; its problems have no name of their own."""

    def item(data: Any) -> Any:
        try:
            return info.accept(data)
        except InputError as error:
            raise InputError(*(attrs.evolve(p, field="") for p in error.problems)) from None

    return item
