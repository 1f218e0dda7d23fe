"""The joint types this service offers, each with the distribution that answers for it.

Knows jointgeo's registry; knows no type by name, no HTTP.

A joint type is third-party code. Whatever it raises that is not the caller's mistake is turned
into a ``PluginAtFaultError`` that names its distribution, so that the person at the other end
writes to the right author.
"""

from __future__ import annotations

import importlib.metadata
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import attrs

from jointgeo.errors import InputError, PluginError, Problem, UnknownNameError, shown
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.registry import GROUP, Failure, failures, joint_types
from jointgeo.schema.fields import describe

__all__ = ["Catalogue", "Known", "PluginAtFaultError"]

REASON = 500  # characters; the library's own messages are shorter


class PluginAtFaultError(PluginError):
    """A joint type failed; ``distribution`` with its version is who can mend it."""

    def __init__(self, joint_type: str, distribution: str, reason: str) -> None:
        self.joint_type = joint_type
        self.distribution = distribution
        super().__init__(f"The joint type {joint_type} from {distribution} failed: {reason}")


@attrs.frozen
class Known:
    """A joint type that can be used. distribution: name and version."""

    cls: type[JointType]
    distribution: str

    @property
    def name(self) -> str:
        return self.cls.name

    @contextmanager
    def answers(self) -> Iterator[None]:
        """Runs the type's own code: InputError passes, all else is the plug-in's fault."""
        try:
            yield
        except (InputError, PluginAtFaultError):
            raise
        except PluginError as error:
            reason = str(error)  # which may hold whatever the type gave
            reason = reason if len(reason) <= REASON else f"{reason[: REASON - 1]}…"
            raise PluginAtFaultError(self.name, self.distribution, reason) from error
        # Third-party code may raise anything, and may call sys.exit(), which would end the thread.
        except (Exception, SystemExit) as error:
            reason = f"{type(error).__name__}: {shown(str(error), 200)}"
            raise PluginAtFaultError(self.name, self.distribution, reason) from error

    def joint(self, data: object) -> JointType:
        """A joint from plain data; InputError names each field at fault."""
        with self.answers():
            return self.cls.from_dict(data)

    def summary(self) -> dict[str, Any]:
        """Name, summary and parameters, for lists."""
        parameters = [
            attrs.asdict(info) | {"inches_name": info.inches_name} for info in describe(self.cls)
        ]
        return {"name": self.name, "summary": self.cls.summary, "parameters": parameters}

    def examples(self) -> list[dict[str, Any]]:
        """The parameters of the worked examples."""
        with self.answers():
            return [example.to_dict() for example in self.cls.examples()]


@attrs.frozen
class Catalogue:
    """Every joint type by name, and the plug-ins that cannot be used."""

    known: Mapping[str, Known]
    refused: tuple[Failure, ...]

    @classmethod
    def installed(cls) -> Catalogue:
        """What is installed beside the service."""
        origins = {e.name: e.dist for e in importlib.metadata.entry_points(group=GROUP)}
        return cls.of(joint_types(), failures(), origins)

    @classmethod
    def of(
        cls,
        types: Mapping[str, type[JointType]],
        refused: tuple[Failure, ...] = (),
        origins: Mapping[str, importlib.metadata.Distribution | None] | None = None,
    ) -> Catalogue:
        """A catalogue of given types; ``origins`` tells the distribution of each."""
        known = {}
        for name, joint_type in types.items():
            dist = (origins or {}).get(name)
            who = f"{dist.name} {dist.version}" if dist else "an unknown distribution"
            known[name] = Known(joint_type, who)
        return cls(known, refused)

    def get(self, name: str) -> Known:
        """The type of that name.

        Raises UnknownNameError, or PluginAtFaultError where a plug-in of that name is
        installed and cannot be used.
        """
        if name in self.known:
            return self.known[name]
        for failure in self.refused:
            if failure.name == name:
                who = f"{failure.distribution} {failure.version}"
                raise PluginAtFaultError(name, who, failure.reason)
        allowed = "one of " + ", ".join(self.known)
        raise UnknownNameError(
            Problem("joint_type", "is not a known joint type", shown(name), allowed)
        )

    def without(self, name: str, reason: str) -> Catalogue:
        """The same catalogue with one type moved to the refused ones."""
        who, _, version = self.known[name].distribution.rpartition(" ")
        left = {n: k for n, k in self.known.items() if n != name}
        return Catalogue(left, (*self.refused, Failure(name, who, version, reason)))
