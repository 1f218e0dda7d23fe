"""What a question holds besides the joint: fixture, hand, and for a batch what is wanted.

Knows the schemas, jointgeo's fixtures and the catalogue of joint types; knows no HTTP.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any, get_args

import marshmallow as ma

from jointgeo.errors import InputError, Problem, shown
from jointgeo.fixtures.file import read_fixture
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.joint_type import JointType
from jointgeo.schema.fields import FieldInfo
from jointgeo.solution.paths import Scalar
from jointgeo.solution.setup import Hand
from jointgeo.solution.solution import Solution, solve
from jointgeo_service.budgets import of_fixture, of_joint
from jointgeo_service.fixtures import Chosen, Fixtures
from jointgeo_service.limits import BATCH_BYTES, ID_CHARACTERS, KEPT_ANSWERS, LIST_ITEMS
from jointgeo_service.plugins import Catalogue, Known, form, values_of
from jointgeo_service.problems import RefusedError
from jointgeo_service.schemas import Accepted, Documented, Strict, described, schema_class
from jointgeo_service.strict_json import encode, misfits

__all__ = [
    "FIXTURE",
    "FIXTURE_SCHEMA",
    "HAND",
    "ID",
    "Batch",
    "FixtureField",
    "Questions",
    "kept",
    "kept_or_solved",
    "kept_solution",
    "picked",
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
FIXTURE_NAME = "Name of a fixture, one of those that /v1/fixtures lists"
#: By name only, where a whole one may not stand.
FIXTURE = FieldInfo("fixture", "text", "", FIXTURE_NAME, high=255)


class FixtureField(Documented):
    """A fixture: the name of one that there is, or a whole description; read as a ``Chosen``.

    The document holds no list of names: files come and go while the service runs.
    """

    def __init__(self, fixtures: Fixtures) -> None:
        name = {"type": "string", "description": FIXTURE_NAME}
        whole = {"$ref": f"#/components/schemas/{FIXTURE_SCHEMA}"}
        doc = {"description": "Name of a fixture, or a whole one", "oneOf": [name, whole]}
        allowed = "the name of a fixture, or a table that describes one"
        super().__init__(doc, required=True, metadata={"allowed": allowed})
        self.fixtures = fixtures

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Chosen:
        if not isinstance(value, str | Mapping):
            message = "is neither a name nor a table"
            problem = Problem("fixture", message, shown(value), self.metadata["allowed"])
            raise ma.ValidationError([problem])
        try:
            if isinstance(value, str):
                return self.fixtures.get(value)
            of_fixture(value)  # too much of it is not even read
            fixture = read_fixture(value)
        except RefusedError:  # its file is being changed, which is not the field's fault
            raise
        except InputError as error:
            found = error if isinstance(value, str) else error.under("fixture")
            raise ma.ValidationError(list(found.problems)) from None
        return Chosen(fixture.name, fixture, "")


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
    chosen: Chosen = loaded["fixture"]
    found = known.solved(loaded["joint"], chosen.fixture, loaded["hand"], *wants)
    return {want: answer | chosen.names for want, answer in found.items()}


def kept_or_solved(known: Known, loaded: Mapping[str, Any], want: str) -> dict[str, Any]:
    """As ``solved``, but an answer for a fixture known by name is kept for those who ask again.

    A workbook asks for one joint from many cells, a number each. Whole fixtures are the caller's
    own and their answers are not kept.
    """
    joint, chosen, hand = loaded["joint"], loaded["fixture"], loaded["hand"]
    with known.answers():
        if _keeps(known, joint, chosen):
            return kept(joint, chosen, hand, want)
    return solved(known, loaded, want)[want]


def picked(
    known: Known, joint: Any, chosen: Chosen, hand: Hand, asked: Sequence[str]
) -> list[Scalar | Problem]:
    """What stands at each path of one answer, or why nothing does. A joint on a fixture known by
    name is kept, with as much of its answer as was worked out."""
    names = chosen.names
    own = [p for p in asked if p not in names]
    if _keeps(known, joint, chosen):
        with known.answers():
            found = values_of(kept_solution(joint, chosen, hand), own)
    else:
        found = known.values(joint, chosen.fixture, hand, own)
    if len(own) == len(asked):
        return found
    rest = iter(found)
    return [names[p] if p in names else next(rest) for p in asked]


def _keeps(known: Known, joint: Any, chosen: Chosen) -> bool:
    return bool(chosen.digest) and known.keeps and _has_hash(joint)


def _has_hash(joint: JointType) -> bool:
    try:
        hash(joint)
    except TypeError:  # a plug-in's class may hold what has none
        return False
    return True


@lru_cache(maxsize=KEPT_ANSWERS)
def kept_solution(joint: JointType, chosen: Chosen, hand: Hand) -> Solution:
    """Planned once for all that is asked of it; joints of two classes are never equal, nor are two
    editions of a fixture. InputError where the joint makes too many passes on it."""
    if chosen.file:  # on a fixture that ships there are never so many
        of_joint(joint, chosen.fixture)
    return solve(joint, chosen.fixture, hand)


@lru_cache(maxsize=KEPT_ANSWERS)
def kept(joint: JointType, chosen: Chosen, hand: Hand, want: str) -> dict[str, Any]:
    """Written once for equal questions."""
    return form(kept_solution(joint, chosen, hand), want) | chosen.names


class Questions:
    """The schemas of every question, made once from the catalogue.

    bodies: of POST, for each type. batch: of the batch as a whole; its items are read one by
    one, so that none spoils another. catalogue: without the types of which no schema can be
    made; those stand among its refused ones. fixtures: those that there are.
    """

    def __init__(self, catalogue: Catalogue, fixtures: Fixtures) -> None:
        self.fixtures = fixtures
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

    def _body(self, known: Known) -> type[ma.Schema]:
        fields = {
            "joint": _JointField(known),
            "fixture": FixtureField(self.fixtures),
            "hand": Accepted(HAND),
        }
        return schema_class(f"{known.name}_question", fields, base=Strict)

    def _item(self, *names: str, joint: Documented) -> type[ma.Schema]:
        of_type = FieldInfo("joint_type", "choice", "", "Name of the joint type", choices=names)
        fields = {
            "id": Accepted(ID),
            "joint_type": Accepted(of_type),
            "want": Accepted(WANT),
            "joint": joint,
            "fixture": FixtureField(self.fixtures),
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
