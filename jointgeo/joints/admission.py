"""What a class must be to stand as a joint type: the checks that cost nothing.

Knows the contract and its fields; imports and loads nothing. The registry asks it of every type
that is loaded, so that a fault of these kinds is told at once, and not by the first wrong answer.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, TypeVar, cast

import attrs

from jointgeo.errors import InputError, PluginError, shown
from jointgeo.joints.joint_type import NAME_FORM, JointType
from jointgeo.schema.fields import KEY, FieldInfo, describe

__all__ = ["EDITIONS", "LEAST_WORDS", "admitted", "admitted_as", "field_faults", "sound_fields"]

#: Editions of the joint types' contract that this library understands.
EDITIONS = (2,)
LEAST_WORDS = 3
_LONGEST_HELP = 400  # characters
_SUFFIXES = {"mm": "_mm", "deg": "_deg"}


T = TypeVar("T")


def admitted(cls: object, name: str) -> type[JointType]:
    """``cls`` if it may stand as the joint type ``name``; PluginError saying why not."""
    if isinstance(cls, type) and issubclass(cls, JointType) and _of_first_edition(cls):
        raise _other_edition(1, EDITIONS)
    # mypy: an abstract class is as good as any to derive from.
    return admitted_as(cls, name, JointType, EDITIONS)  # type: ignore[type-abstract]


def _of_first_edition(cls: type) -> bool:
    """That edition had no draw(), and did not ask a class to say which it was written for."""
    return hasattr(cls, "parts") and "draw" in getattr(cls, "__abstractmethods__", ())


def admitted_as(cls: object, name: str, base: type[T], editions: tuple[int, ...]) -> type[T]:
    """``cls`` if it may stand under ``name`` as a ``base``; PluginError saying why not."""
    if not (isinstance(cls, type) and issubclass(cls, base) and attrs.has(cls)):
        raise PluginError(f"the entry point must name an attrs class derived from {base.__name__}")
    edition: object = getattr(cls, "edition", None)
    if type(edition) is not int or edition not in editions:  # True == 1, and is no edition
        raise _other_edition(edition, editions)
    left = sorted(getattr(cls, "__abstractmethods__", ()))
    if left:
        raise PluginError(f"methods are missing: {', '.join(left)}")
    if not NAME_FORM.fullmatch(name) or getattr(cls, "name", None) != name:
        raise PluginError(
            f"the class's name {getattr(cls, 'name', None)!r} and the entry point's "
            f"{name!r} must be the same and lower snake case"
        )
    if not getattr(cls, "summary", ""):
        raise PluginError("the class needs a one-sentence summary")
    if not describe(cls):
        raise PluginError("the class has no parameters made by jointgeo.schema.fields")
    return cast(type[T], cls)


def _other_edition(edition: object, known: tuple[int, ...]) -> PluginError:
    return PluginError(
        f"the class was written for edition {shown(edition)} of the contract; this library "
        f"understands {' and '.join(map(str, known))}"
    )


def sound_fields(cls: type) -> None:
    """PluginError naming every field of ``cls`` that no list or schema could show."""
    faults = list(_faults(cls))
    if faults:
        raise PluginError("; ".join(faults))


def _faults(cls: Any) -> Iterator[str]:
    """What is wrong with the fields of a class, each with the field's name."""
    for field in attrs.fields(cls):
        if field.init and KEY not in field.metadata:
            yield (
                f"{field.name}: a bare default or field, which no schema shows; make it with mm, "
                "deg, count, choice or flag of jointgeo.plugin"
            )
    for info in describe(cls):
        for fault in field_faults(info):
            yield f"{info.name}: {fault}"
        if not info.required and info.default is not None:
            try:
                info.accept(info.default)
            except InputError as error:
                yield f"its default is not in its own range: {error}"


def field_faults(info: FieldInfo) -> Iterator[str]:
    """What is wrong with the help, the name and the unit of one parameter."""
    text = info.help
    if not (
        isinstance(text, str)
        and text.isprintable()
        and len(text) <= _LONGEST_HELP
        and len(text.split()) >= LEAST_WORDS
    ):
        yield f"help must be a line of {LEAST_WORDS} words or more, not {shown(text)}"
    if not NAME_FORM.fullmatch(info.name):
        yield "the name must be lower snake case"
    if info.kind not in ("number", "integer"):
        return
    if not info.unit:
        yield 'a number needs a unit; "1" for a bare number'
    for unit, suffix in _SUFFIXES.items():
        if info.name.endswith(suffix) != (info.unit == unit):
            yield f"a name ends in {suffix} where its unit is {unit!r}, and nowhere else"
