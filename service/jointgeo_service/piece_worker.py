"""The process in which pieces are answered that hold a type that does not ship.

    python -m jointgeo_service.piece_worker NAME

Knows what can be asked (``elsewhere``) and how a process answers (``worker``). NAME is of the joint
type or the piece type at whose account it runs; whatever is raised that is no InputError is its.
"""

from __future__ import annotations

import sys
from typing import Any

from jointgeo.errors import InputError, PluginError
from jointgeo_service.worker import Answered, answer_until_gone, fault, plain

__all__ = ["main"]


def main(name: str) -> None:
    """Answer until the other end is gone."""
    answer_until_gone(lambda: _of_type(name))


def _of_type(name: str) -> Answered:
    from jointgeo.joints.faults import answers, origin
    from jointgeo.joints.registry import joint_types
    from jointgeo.pieces.registry import piece_types
    from jointgeo_service.elsewhere import WORK

    joints, pieces = joint_types(), piece_types()
    cls: type = pieces[name] if name in pieces else joints[name]
    kind = "piece type" if name in pieces else "joint type"

    def answered(what: str, given: tuple[Any, ...]) -> tuple[str, Any]:
        try:
            with answers(name, origin(cls), cls.__module__, kind=kind):
                return "answer", plain(WORK[what](*given))
        except InputError as error:
            return "input", error.problems
        except PluginError as error:
            return "plugin", fault(error)

    return answered


if __name__ == "__main__":
    main(sys.argv[1])
