"""What a question holds besides the joint: fixture, hand, and for a batch what is wanted.

Knows the schemas, jointgeo's fixtures and the catalogue of joint types; knows no HTTP.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, get_args

import marshmallow as ma

from jointgeo.errors import InputError, Problem, shown
from jointgeo.fixtures.file import fixture_names, named_fixture, read_fixture
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.joint_type import JointType
from jointgeo.schema.fields import FieldInfo
from jointgeo.solution.setup import Hand
from jointgeo.solution.solution import Solution, solve
from jointgeo_service.budgets import of_fixture
from jointgeo_service.limits import BATCH_BYTES, ID_CHARACTERS, KEPT_ANSWERS, LIST_ITEMS
from jointgeo_service.plugins import Catalogue, Known, form
from jointgeo_service.problems import RefusedError
from jointgeo_service.schemas import Accepted, Documented, Strict, described, schema_class
from jointgeo_service.strict_json import encode, misfits

__all__ = [
    "FIXTURE_SCHEMA",
    "HAND",
    "ID",
    "Batch",
    "FixtureField",
    "Questions",
    "kept",
    "kept_or_solved",
    "solved",
]

HAND = FieldInfo(
    "hand",
    "choice",
    "",
    "The joint as drawn, or its mirror image",
    choices=get_args(Hand),
    required=False,
    default="as_drawn",
)
WANT = FieldInfo(
    "want",
    "choice",
    "",
    "What is wanted of this joint",
    choices=("settings", "feasibility", "both"),
)
ID = FieldInfo(
    "id",
    "text",
    "",
    "Your own name for this item, given back with it",
    high=ID_CHARACTERS,
    required=False,
)

FIXTURE_SCHEMA = "fixture"


class FixtureField(Documented):
    """A fixture: the name of a registered one, or (unless ``by_name``) a whole description."""

    def __init__(self, *, by_name: bool) -> None:
        name = {"type": "string", "enum": list(fixture_names())}
        says = "Name of a registered fixture"
        doc: dict[str, Any] = {"description": says, **name}
        if not by_name:
            whole = {"$ref": f"#/components/schemas/{FIXTURE_SCHEMA}"}
            doc = {"description": f"{says}, or a whole one", "oneOf": [name, whole]}
        allowed = "one of " + ", ".join(f'"{n}"' for n in fixture_names())
        allowed += "" if by_name else ", or a table that describes one"
        super().__init__(doc, required=True, metadata={"allowed": allowed})
        self.by_name = by_name

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Fixture:
        by_name = self.by_name or isinstance(value, str)
        if not by_name and not isinstance(value, Mapping):
            message = "is neither a name nor a table"
            problem = Problem("fixture", message, shown(value), self.metadata["allowed"])
            raise ma.ValidationError([problem])
        try:
            if by_name:
                return named_fixture(value)
            of_fixture(value)  # too much of it is not even read
            return read_fixture(value)
        except InputError as error:
            found = error if by_name else error.under("fixture")
            raise ma.ValidationError(list(found.problems)) from None


class _JointField(Documented):
    """The joint's own table, read by its type."""

    def __init__(self, known: Known) -> None:
        ref = {"$ref": f"#/components/schemas/{joint_schema(known.name)}"}
        metadata = {"allowed": "a table of the joint's parameters"}
        super().__init__(ref, required=True, metadata=metadata)
        self.known = known

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        try:
            return self.known.joint(value)
        except RefusedError:  # not the field's fault
            raise
        except InputError as error:
            raise ma.ValidationError(list(error.under("joint").problems)) from None


class Batch(Strict):
    """Base of the batch's schema; what tells it from a single question."""

    most_bytes = BATCH_BYTES


class _BatchItem(Strict):
    """Base of the schemas of its items."""

    whole = "item"


class _Items(Documented):
    """The list of items, each left as it came."""

    def __init__(self, names: tuple[str, ...]) -> None:
        refs = {name: f"#/components/schemas/{item_schema(name)}" for name in names}
        items = {
            "oneOf": [{"$ref": ref} for ref in refs.values()],
            "discriminator": {"propertyName": "joint_type", "mapping": refs},
        }
        allowed = f"a list of at most {LIST_ITEMS} items"
        doc = {"description": allowed.capitalize(), "type": "array", "maxItems": LIST_ITEMS}
        super().__init__(doc | {"items": items}, required=True, metadata={"allowed": allowed})

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, list):
            raise ma.ValidationError("is not a list")
        return value


def joint_schema(name: str) -> str:
    """Name of the schema of one joint type's parameters."""
    return f"{name}_parameters"


def item_schema(name: str) -> str:
    """Name of the schema of one item of a batch."""
    return f"{name}_batch_item"


def solved(known: Known, loaded: Mapping[str, Any], *wants: str) -> dict[str, dict[str, Any]]:
    """``settings``, ``feasibility`` or both of one loaded question, planned once, by name.

    Plain data to be read only, but for what a joint type put in it. Raises PluginError
    where the joint type fails.
    """
    return known.solved(loaded["joint"], loaded["fixture"], loaded["hand"], *wants)


def kept_or_solved(known: Known, loaded: Mapping[str, Any], want: str) -> dict[str, Any]:
    """As ``solved``, but an answer for a fixture known by name is kept for those who ask again.

    A workbook asks for one joint from many cells, a number each. Whole fixtures are the caller's
    own and their answers are not kept.
    """
    joint, fixture = loaded["joint"], loaded["fixture"]
    named = fixture.name in fixture_names() and fixture is named_fixture(fixture.name)
    with known.answers():
        if named and known.keeps and _has_hash(joint):
            return kept(joint, fixture.name, loaded["hand"], want)
    return solved(known, loaded, want)[want]


def _has_hash(joint: JointType) -> bool:
    try:
        hash(joint)
    except TypeError:  # a plug-in's class may hold what has none
        return False
    return True


@lru_cache(maxsize=KEPT_ANSWERS)
def _kept_solution(joint: JointType, fixture: str, hand: Hand) -> Solution:
    """Planned once for settings and feasibility; joints of two classes are never equal."""
    return solve(joint, named_fixture(fixture), hand)


@lru_cache(maxsize=KEPT_ANSWERS)
def kept(joint: JointType, fixture: str, hand: Hand, want: str) -> dict[str, Any]:
    """Written once for equal questions."""
    return form(_kept_solution(joint, fixture, hand), want)


class Questions:
    """The schemas of every question, made once from the catalogue.

    bodies: of POST, for each type. batch: of the batch as a whole; its items are read one by
    one, so that none spoils another. catalogue: without the types of which no schema can be
    made; those stand among its refused ones.
    """

    def __init__(self, catalogue: Catalogue) -> None:
        self.bodies: dict[str, ma.Schema] = {}
        self._documented = {FIXTURE_SCHEMA: described(Fixture, FIXTURE_SCHEMA)}
        self._items: dict[str, ma.Schema] = {}
        for name, known in list(catalogue.known.items()):
            try:
                encode(known.summary())
                parameters = described(known.cls, joint_schema(name))
            # A plug-in's class may hold anything; it must not keep the others from being served.
            except Exception as error:
                catalogue = catalogue.without(name, f"{type(error).__name__}: {error}")
                continue
            body, item = self._body(known), self._item(name, joint=_JointField(known))
            self._documented |= {joint_schema(name): parameters, item_schema(name): item}
            self.bodies[name], self._items[name] = body(), item()
        self.catalogue = catalogue
        self._no_type = self._item(*self._items, joint=Documented({}, required=True))()
        self.batch = schema_class("batch", {"items": _Items(tuple(self._items))}, base=Batch)()

    def documented(self) -> dict[str, type[ma.Schema]]:
        """The schemas to which others refer by name."""
        return dict(self._documented)

    @staticmethod
    def _body(known: Known) -> type[ma.Schema]:
        fields = {
            "joint": _JointField(known),
            "fixture": FixtureField(by_name=False),
            "hand": Accepted(HAND),
        }
        return schema_class(f"{known.name}_question", fields, base=Strict)

    @staticmethod
    def _item(*names: str, joint: Documented) -> type[ma.Schema]:
        of_type = FieldInfo("joint_type", "choice", "", "Name of the joint type", choices=names)
        fields = {
            "id": Accepted(ID),
            "joint_type": Accepted(of_type),
            "want": Accepted(WANT),
            "joint": joint,
            "fixture": FixtureField(by_name=False),
            "hand": Accepted(HAND),
        }
        return schema_class(
            item_schema(names[0] if len(names) == 1 else "any"), fields, base=Strict
        )

    def item(self, data: object) -> tuple[Known, dict[str, Any]]:
        """One item of a batch, read. Raises InputError with all that is wrong with it."""
        problems = tuple(misfits(data))
        if problems:
            raise InputError(*problems)
        name = data.get("joint_type") if isinstance(data, Mapping) else None
        schema = self._no_type
        if isinstance(name, str):
            if any(name == f.name for f in self.catalogue.refused):
                self.catalogue.get(name)
            schema = self._items.get(name, self._no_type)
        loaded = schema.load(data)  # type: ignore[arg-type]  # refuses what is no table itself
        return self.catalogue.get(loaded["joint_type"]), loaded
