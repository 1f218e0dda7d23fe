"""Fixtures as things to be changed, answered from plain data in whatever process this runs.

Knows jointgeo's fixture changes and parts, pieces, jobs and joints by their readers; knows no type
by name, no HTTP. As ``piece_work`` it is given plain data and fixtures only.
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import attrs

from jointgeo.errors import InputError, Problem, shown
from jointgeo.fixture_changes.changes import KINDS, Allowed, usual
from jointgeo.fixture_changes.compare import compared, envelope_of, gains
from jointgeo.fixture_changes.demands import demands
from jointgeo.fixture_changes.search import what_would_do
from jointgeo.fixture_changes.work import Work
from jointgeo.fixtures.model import Cutter, Fixture
from jointgeo.jobs.file import read_job
from jointgeo.jobs.solve import solve_job
from jointgeo.joints.registry import joint_type
from jointgeo.pieces.solve import Marks
from jointgeo.solution.setup import Hand
from jointgeo.solution.solution import solve
from jointgeo_service.budgets import of_joint
from jointgeo_service.limits import CHANGE_ENDS, CHANGE_PAIRS, SEARCH_SECONDS
from jointgeo_service.piece_budgets import of_job, under
from jointgeo_service.piece_work import piece_answer

__all__ = ["WorkAsked", "changes", "comparison", "gained"]


@attrs.frozen
class WorkAsked:
    """One thing to cut, as it was asked for. kind: "joint", "piece" or "job"; type: of the joint or
    the piece, "" for a piece file's or a job file's data; field: where it stands in the question.
    """

    name: str
    kind: str
    type: str
    data: Mapping[str, Any]
    hand: Hand
    marks: Marks
    field: str

    def on(self, fixture: Fixture) -> Any:
        """Its answer on a fixture; InputError under the field it was given in."""
        try:
            return self._on(fixture)
        except InputError as error:
            raise under(error, f"{self.field}.{self.kind}") from None

    def _on(self, fixture: Fixture) -> Any:
        if self.kind == "joint":
            joint = joint_type(self.type).from_dict(self.data)
            of_joint(joint, fixture)
            return solve(joint, fixture, self.hand)
        if self.kind == "piece":
            return piece_answer(self.type, self.data, fixture, self.marks)
        job = read_job(self.data, Path(), "", fixture)
        of_job(len(job.joints))
        for named in job.joints:
            of_joint(named.joint, fixture)
        return solve_job(job)


def changes(
    works: Sequence[WorkAsked],
    fixture: Fixture,
    allow: Sequence[Mapping[str, Any]] | None,
    room_mm: float,
    pairs: bool,
    plans: int,
) -> dict[str, Any]:
    """What would help, with how long it was looked for."""
    allowed = None if allow is None else _allowed(allow, fixture)
    answers = _answers(works, [fixture])
    until = time.monotonic() + SEARCH_SECONDS
    found = what_would_do(
        answers,
        fixture,
        allowed,
        room_mm=room_mm,
        pairs=pairs,
        most_plans=plans,
        stop=lambda: time.monotonic() > until,
    )
    return found.to_dict() | {"most_plans": plans}


def comparison(
    works: Sequence[WorkAsked], fixtures: Sequence[Fixture], thicknesses_mm: Sequence[float]
) -> dict[str, Any]:
    """Every work on every fixture, and the greatest tilt of stock of each thickness."""
    answers = _answers(works, fixtures)
    cells = compared(_works(works), fixtures)
    points = envelope_of(answers[0], fixtures, thicknesses_mm)
    return {
        "cells": [c.to_dict() for c in cells],
        "envelope": [
            {
                "thickness_mm": p.thickness_mm,
                "tilt_deg": list(p.tilt_deg),
                "stated": list(p.stated),
            }
            for p in points
        ],
    }


def gained(works: Sequence[WorkAsked], before: Fixture, after: Fixture) -> dict[str, Any]:
    """What a change of a fixture makes possible, and what it spoils."""
    _answers(works, [before, after])
    return {
        "before": before.name,
        "after": after.name,
        "changed_from": after.changed_from,
        "changed_why": after.changed_why,
        "works": [g.to_dict() for g in gains(_works(works), before, after)],
    }


def _works(works: Sequence[WorkAsked]) -> list[Work]:
    return [Work(w.name, None, w.on) for w in works]


def _answers(works: Sequence[WorkAsked], fixtures: Sequence[Fixture]) -> list[Any]:
    """The works on the first fixture; InputError with every problem, and where they cut more ends
    than may be searched for."""
    answers: list[Any] = []
    problems: list[Problem] = []
    for work in works:
        try:
            answers.append(work.on(fixtures[0]))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(*problems)
    ends = len(demands(answers))
    most = max(max(1, len(f.front_beam)) * max(1, len(f.body)) for f in fixtures)
    if ends > CHANGE_ENDS:
        allowed = f"at most {CHANGE_ENDS} ends that are cut"
        raise InputError(Problem("works", "cut too many ends", str(ends), allowed))
    if ends * most > CHANGE_PAIRS:
        given, what = f"{ends} times {most}", "ends that are cut, times front beams, times bodies"
        allowed = f"at most {CHANGE_PAIRS:,} {what}"
        raise InputError(Problem("fixture", "makes too many pairs", given, allowed))
    return answers


def _allowed(given: Sequence[Mapping[str, Any]], fixture: Fixture) -> list[Allowed]:
    """What is allowed, each with the kind's own bound and prices where none are given; one without
    a target stands for every target that the fixture has."""
    known, problems = usual(fixture), list[Problem]()
    out: list[Allowed] = []
    for number, item in enumerate(given):
        field, kind = f"allow[{number}]", item["change"]
        own = {n: item[n] for n in ("most", "price", "once") if item.get(n) is not None}
        if "cutter" in item:
            cutter: Cutter = item["cutter"]
            base = {"price": KINDS[kind].price, "once": KINDS[kind].once}
            out.append(Allowed(kind, cutter.name, **(base | own), cutter=cutter))
            continue
        found = [c for c in known if c.kind == kind]
        if not found:
            message = f"has nothing to act on in the fixture {fixture.name}"
            problems.append(Problem(f"{field}.change", message, shown(kind)))
        elif "target" in item:
            targets = ", ".join(c.target for c in found if c.target) or "none"
            found = [c for c in found if c.target == item["target"]]
            if not found:
                message = "is nothing that this change acts on"
                allowed = f"one of {targets}" if targets != "none" else "no target"
                given_one = shown(item["target"])
                problems.append(Problem(f"{field}.target", message, given_one, allowed))
        out += [attrs.evolve(c, **own) for c in found]
    if problems:
        raise InputError(*problems)
    return out
