"""The process in which one joint type that does not ship answers; started by ``apart``.

    python -m jointgeo_service.worker NAME

Knows the registry and pipes. Questions come on standard input and answers go to what was standard
output; the type itself finds both replaced, so that nothing it writes gets between.
"""

from __future__ import annotations

import os
import queue
import signal
import sys
import threading
from collections.abc import Callable
from typing import Any, BinaryIO, TypeAlias

from jointgeo.errors import InputError, PluginError, Problem
from jointgeo_service.apart import receive, send
from jointgeo_service.plugins import Known
from jointgeo_service.strict_json import encode, read_json

__all__ = ["Answered", "answer_until_gone", "fault", "main", "plain"]

#: Of a question's name and what is given with it: "answer", "input" or "plugin", and what.
Answered: TypeAlias = Callable[[str, tuple[Any, ...]], tuple[str, Any]]


def main(name: str) -> None:
    """Answer for the joint type of that name until the other end is gone."""
    answer_until_gone(lambda: _of_type(name))


def _of_type(name: str) -> Answered:
    from jointgeo.joints.faults import origin
    from jointgeo.joints.registry import joint_type

    cls = joint_type(name)
    known = Known(cls, origin(cls))
    return lambda what, given: _answered(known, what, given)


def answer_until_gone(prepare: Callable[[], Answered]) -> None:
    """Read questions and send answers. prepare: gives what answers; whatever it loads may take
    long or end the process."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the service, which ends this
    questions, answers = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb")
    nothing = os.open(os.devnull, os.O_RDWR)
    os.dup2(nothing, 0)
    os.dup2(nothing, 1)
    waiting: queue.Queue[Any] = queue.Queue()
    threading.Thread(target=_listen, args=(questions, waiting), daemon=True).start()
    from jointgeo.joints import trial

    trial.skip()  # the service ends this process where the import does not
    answered = prepare()
    send(answers, "ready")
    while True:
        what, given = waiting.get()
        send(answers, answered(what, given))


def _listen(questions: BinaryIO, waiting: queue.Queue[Any]) -> None:
    """Beside the type's code, so that a service that is gone ends even a type that sleeps."""
    try:
        while True:
            waiting.put(receive(questions))
    except (EOFError, OSError):
        os._exit(0)


def _answered(known: Known, what: str, given: tuple[Any, ...]) -> tuple[str, Any]:
    try:
        with known.answers():
            return "answer", _answer(known, what, given)
    except InputError as error:
        return "input", error.problems
    except PluginError as error:
        return "plugin", fault(error)


def fault(error: PluginError) -> tuple[str, ...]:
    """What the service makes the same error of again."""
    return error.reason, error.joint_type, error.distribution, error.where, error.kind


def _answer(known: Known, what: str, given: tuple[Any, ...]) -> Any:
    if what == "examples":
        return plain(known.examples())
    if what == "meaning":
        return str(known.meaning())
    joint = known.joint(given[0])
    if what == "joint":
        return plain(joint.to_dict())
    if what == "solved":
        return plain(known.solved(joint, *given[1:]))
    if what == "values":
        return [_scalar(found) for found in known.values(joint, *given[1:])]
    if what == "paths":
        return [(path, _scalar(v), says) for path, v, says in known.paths(joint, *given[1:])]
    if what == "screen":
        return str(known.screen(joint, *given[1:]))
    return known.page(joint, *given[1:])


def plain(value: Any) -> Any:
    """As it stands in JSON: no class of the type's own goes to the service."""
    return read_json(encode(value))


def _scalar(found: object) -> object:
    return found if isinstance(found, Problem) else plain(found)


if __name__ == "__main__":
    main(sys.argv[1])
