"""Questions about whole pieces: of an installed type by its parameters, or a piece file's data.

Knows the schemas, piece types by their fields, and where they answer; knows no type by name, no
HTTP. Fixture and problems are as of joints.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import attrs
import marshmallow as ma

from jointgeo.errors import InputError, Problem, shown
from jointgeo.pieces.solve import MARKS as MARKINGS
from jointgeo.schema.fields import FieldInfo
from jointgeo_service.elsewhere import Elsewhere, PieceTypes, types_in
from jointgeo_service.fixtures import Chosen, Fixtures
from jointgeo_service.limits import PIECE_BARS, PIECE_JOINTS, PIECES
from jointgeo_service.piece_budgets import under
from jointgeo_service.piece_work import FORMS
from jointgeo_service.problems import RefusedError
from jointgeo_service.questions import ID, Batch, FixtureField
from jointgeo_service.schemas import Accepted, Documented, Strict, described, schema_class
from jointgeo_service.strict_json import encode, misfits

__all__ = [
    "FILE",
    "FILE_SCHEMA",
    "MARKS",
    "ListOf",
    "PieceAsked",
    "PieceQuestions",
    "TableField",
    "fixture_of",
]

MARKS = FieldInfo(
    "marks",
    "choice",
    "",
    "alike: every member of a kind is marked as its first, so that alike ends share operations; "
    "as_drawn: face sides look where the piece says",
    choices=MARKINGS,
    required=False,
    default=MARKINGS[0],
)
WANT = FieldInfo("want", "choice", "", "Which part of the answer is wanted", choices=tuple(FORMS))
FILE_SCHEMA = "piece_file"
_TABLES = {"type": "array", "items": {"type": "object"}}
#: A piece file, as the document shows it; it is read by the library's own reader of such files.
FILE = {
    "type": "object",
    "description": "A piece file's tables as JSON: bars in the room and joints between them, or "
    "an installed piece type with its parameters. Room: Z up from the floor, facing the piece X "
    "to the right and Y away from you",
    "required": ["piece", "title"],
    "properties": {
        "piece": {"const": 1, "description": "Version of the format"},
        "title": {"type": "string", "minLength": 1, "description": "What is made"},
        "fixture": {
            "type": "string",
            "description": "Not looked at: the question's own fixture counts",
        },
        "symmetry": {
            "type": "array",
            "items": {"type": "string"},
            "description": 'What carries the piece into itself: "left_right", "front_back", '
            '"turned N"',
        },
        "height_mm": {
            "type": "object",
            "description": "Named levels above the floor, each in millimetres or a text in inches",
        },
        "height_in": {
            "type": "object",
            "description": "Named levels above the floor, each in inches: a number or a text",
        },
        "measured_mm": {
            "type": "object",
            "description": "What a tape must show, by what it is laid on; compared, never used",
        },
        "measured_in": {
            "type": "object",
            "description": "The same in inches: a number or a text",
        },
        "fall": {**_TABLES, "description": "Levels that fall from one line to another"},
        "joint": {
            **_TABLES,
            "maxItems": PIECE_JOINTS,
            "description": "Joints by name: type, and parameters that the bars do not show",
        },
        "bar": {
            **_TABLES,
            "maxItems": PIECE_BARS,
            "description": "Bars: section, and what places and cuts the near and the far end",
        },
        "board": {
            **_TABLES,
            "maxItems": PIECE_BARS,
            "description": "The sides of a sloping box",
        },
        "type": {"type": "string", "description": "An installed piece type, in place of bars"},
        "parameters": {"type": "object", "description": "The parameters of that type"},
    },
}


@attrs.frozen
class PieceAsked:
    """A question, read. type: "" where ``data`` are a piece file's. field: what the piece is called
    in the question, "" in a query string."""

    type: str
    data: Mapping[str, Any]
    fixture: Chosen
    marks: Any
    field: str = "piece"

    @property
    def types(self) -> set[str]:
        """Every type that it names."""
        return {self.type} if self.type else types_in(self.data)

    def answered(self, elsewhere: Elsewhere, *wants: str) -> dict[str, dict[str, Any]]:
        """Each part of the answer that is wanted, by name."""
        given = self.type, self.data, self.fixture.fixture, self.marks, wants
        try:
            found: dict[str, dict[str, Any]] = elsewhere.run(self.types, "piece", *given)
        except RefusedError:  # not the piece's fault
            raise
        except InputError as error:
            raise under(error, self.field) from None
        return {want: answer | self.fixture.names for want, answer in found.items()}


class TableField(Documented):
    """A table that is read later, by whoever knows what it holds."""

    def __init__(self, doc: dict[str, Any], allowed: str, *, required: bool = True) -> None:
        super().__init__(doc, required=required, metadata={"allowed": allowed})
        self.allowed = allowed

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, Mapping):
            problem = Problem(str(attr), "is not a table", shown(value), self.allowed)
            raise ma.ValidationError([problem])
        return value


class _ParametersField(TableField):
    """The parameters of one piece type, read by it."""

    def __init__(self, name: str, elsewhere: Elsewhere) -> None:
        ref = {"$ref": f"#/components/schemas/{parameters_schema(name)}"}
        super().__init__(ref, "a table of the piece's parameters")
        self.type_name, self.elsewhere = name, elsewhere

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        try:
            return self.elsewhere.run({self.type_name}, "parameters", self.type_name, value)
        except RefusedError:  # not the field's fault
            raise
        except InputError as error:
            raise ma.ValidationError(list(error.under("piece").problems)) from None


class ListOf(Documented):
    """A list of ``least`` to ``most`` items, each read by itself; every problem is told."""

    def __init__(
        self,
        read: Callable[[Any], Any],
        doc: dict[str, Any],
        says: str,
        least: int,
        most: int,
        *,
        required: bool = True,
    ) -> None:
        allowed = f"a list of {least} to {most} {says}"
        array = {"type": "array", "minItems": least, "maxItems": most, "items": doc}
        about = f"{says[0].upper()}{says[1:]}"
        super().__init__(
            {**array, "description": about}, required=required, metadata={"allowed": allowed}
        )
        self.read, self.least, self.most, self.allowed = read, least, most, allowed

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, list):
            problem = Problem(str(attr), "is not a list", shown(value), self.allowed)
            raise ma.ValidationError([problem])
        if not self.least <= len(value) <= self.most:
            problem = Problem(str(attr), "is too long or short", str(len(value)), self.allowed)
            raise ma.ValidationError([problem])
        out: list[Any] = []
        problems: list[Problem] = []
        for number, item in enumerate(value):
            try:
                out.append(self.read(item))
            except RefusedError:  # not the item's fault
                raise
            except InputError as error:
                problems += error.under(f"{attr}[{number}]").problems
        if problems:
            raise ma.ValidationError(problems)
        return out


class _BatchItem(Strict):
    whole = "item"


class PieceBatch(Batch):
    """Base of the schema of many pieces."""


class PieceQuestions:
    """The schemas of every question about pieces.

    bodies: of POST, for each type; file: for a piece file's data; batch: of many. types: without
    those of which no schema can be made.
    """

    def __init__(self, types: PieceTypes, elsewhere: Elsewhere, fixtures: Fixtures) -> None:
        self.elsewhere, self.fixtures = elsewhere, fixtures
        self.bodies: dict[str, ma.Schema] = {}
        self._documented: dict[str, type[ma.Schema]] = {}
        for name, cls in list(types.known.items()):
            try:
                encode(types.summary(name))
                self._documented[parameters_schema(name)] = described(cls, parameters_schema(name))
            # A plug-in's class may hold anything; it must not keep the others from being served.
            except Exception as error:
                types = types.without(name, f"{type(error).__name__}: {error}")
                continue
            self.bodies[name] = _question(name, _ParametersField(name, elsewhere), fixtures)
        self.types = types
        ref = {"$ref": f"#/components/schemas/{FILE_SCHEMA}"}
        self.file = _question(FILE_SCHEMA, TableField(ref, "a piece file's tables"), fixtures)
        self._item = self._item_schema()
        item = {"$ref": "#/components/schemas/piece_batch_item"}
        items = ListOf(lambda item: item, item, "pieces", 0, PIECES)
        self.batch = schema_class("piece_batch", {"items": items}, base=PieceBatch)()

    def documented(self) -> dict[str, type[ma.Schema]]:
        """The schemas to which others refer by name."""
        return {**self._documented, "piece_batch_item": type(self._item)}

    def asked(self, name: str, loaded: Mapping[str, Any]) -> PieceAsked:
        """The question of a loaded body. name: of the type, "" for a piece file's data."""
        return PieceAsked(name, loaded["piece"], fixture_of(loaded), loaded["marks"])

    def item(self, data: object) -> tuple[PieceAsked, str]:
        """One item of a batch and what is wanted of it; InputError with all that is wrong."""
        problems = tuple(misfits(data))
        if problems:
            raise InputError(*problems)
        loaded = self._item.load(data)  # type: ignore[arg-type]  # refuses what is no table itself
        name = loaded.get("piece_type", "")
        if name:
            self.types.get(name)
        return self.asked(name, loaded), loaded["want"]

    def _item_schema(self) -> ma.Schema:
        of_type = FieldInfo(
            "piece_type",
            "choice",
            "",
            "Name of the piece type; left out for a piece file's data",
            choices=(*self.types.known, *(f.name for f in self.types.refused)),
            required=False,
        )
        doc = {
            "type": "object",
            "description": "The parameters of the piece type, or a piece file's tables",
        }
        fields = {
            "id": Accepted(ID),
            "piece_type": Accepted(of_type),
            "want": Accepted(WANT),
            "piece": TableField(doc, "a table of parameters, or a piece file's tables"),
            "fixture": FixtureField(self.fixtures),
            "marks": Accepted(MARKS),
        }
        return schema_class("piece_batch_item", fields, base=_BatchItem)()


def parameters_schema(name: str) -> str:
    """Name of the schema of one piece type's parameters."""
    return f"{name}_piece_parameters"


def fixture_of(loaded: Mapping[str, Any], name: str = "fixture") -> Chosen:
    """The fixture of a loaded question."""
    found: Chosen = loaded[name]
    return found


def _question(name: str, piece: Documented, fixtures: Fixtures) -> ma.Schema:
    fields = {
        "piece": piece,
        "fixture": FixtureField(fixtures),
        "marks": Accepted(MARKS),
    }
    return schema_class(f"{name}_piece_question", fields, base=Strict)()
