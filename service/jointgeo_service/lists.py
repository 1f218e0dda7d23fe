"""A list of joints, a row each: of every row the same values, as one line of text.

Knows the questions and the shapes; knows no joint type by name, no HTTP. A row at fault has its
reason in each of its cells and spoils no other.

Rows are solved one by one, and no further than the paths ask for. Of one fixture a list sees one
edition, however long it takes.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import attrs

from jointgeo.errors import InputError, PluginError, Problem, shown
from jointgeo.schema.fields import FieldInfo
from jointgeo.solution.paths import Scalar
from jointgeo_service.budgets import Budget
from jointgeo_service.fixtures import Chosen, Fixtures, Once
from jointgeo_service.limits import (
    BATCH_SECONDS,
    BATCH_TYPE_SECONDS,
    LIST_ITEMS,
    PATH_CHARACTERS,
    PATHS,
)
from jointgeo_service.plugins import Catalogue, Known
from jointgeo_service.problems import (
    cell_reason,
    cell_words,
    input_problem,
    plugin_problem,
    unexpected_problem,
)
from jointgeo_service.queries import Query
from jointgeo_service.questions import FIXTURE, HAND, picked
from jointgeo_service.shapes import cell_text

__all__ = ["Rows", "lines", "read_list"]

TYPE = FieldInfo("joint_type", "text", "", "Name of the joint type", high=80)
PATH = FieldInfo("wanted", "text", "", "Path of a value", high=PATH_CHARACTERS)
NAME = FieldInfo("names", "text", "", "Name of a parameter", high=80)
OWN = (FIXTURE, HAND)
Given = float | int | bool | str | None


@attrs.frozen
class Rows:
    """A list as asked. names: of the columns, "" for one that is not read. common: what is the same
    in all rows."""

    names: tuple[str, ...]
    rows: tuple[tuple[Given, ...], ...]
    wanted: tuple[str, ...]
    common: Mapping[str, Given]


def read_list(data: Mapping[str, Any]) -> Rows:
    """The list in a body. Raises InputError with all that is wrong with it as a whole."""
    problems: list[Problem] = []
    names = _texts(NAME, data["names"], problems, empty=True)
    wanted = _texts(PATH, data["wanted"], problems)
    if not 1 <= len(wanted) <= PATHS:
        allowed = f"1 to {PATHS} paths"
        problems.append(Problem("wanted", "is too long or empty", f"{len(wanted)}", allowed))
    common = data["common"]
    if not isinstance(common, Mapping):
        problems.append(Problem("common", "is not a table", shown(common), "names and values"))
        common = {}
    given = [n for n in names if n]
    problems += [
        Problem("names", "holds a name twice", shown(name), "each name once")
        for name in dict.fromkeys(n for n in given if given.count(n) > 1)
    ]
    rows = data["rows"]
    if not isinstance(rows, list) or len(rows) > LIST_ITEMS:
        found = f"{len(rows)} rows" if isinstance(rows, list) else shown(rows)
        allowed = f"a list of at most {LIST_ITEMS} rows"
        problems.append(Problem("rows", "is too long or no list", found, allowed))
        rows = []
    for number, row in enumerate(rows, 1):
        if not isinstance(row, list) or len(row) > len(names):
            allowed = f"a list of at most {len(names)} values"
            problems.append(Problem(f"rows.{number}", "is no row", shown(row), allowed))
    if problems:
        raise InputError(*problems)
    return Rows(names, tuple(map(tuple, rows)), wanted, common)


def _texts(
    info: FieldInfo, given: object, problems: list[Problem], *, empty: bool = False
) -> tuple[str, ...]:
    if not isinstance(given, list):
        problems.append(Problem(info.name, "is not a list", shown(given), "a list of texts"))
        return ()
    out: list[str] = []
    for text in given:
        text = text.strip() if isinstance(text, str) else text
        if empty and text in ("", None):
            out.append("")
            continue
        try:
            out.append(info.accept(text))
        except InputError as error:
            problems += error.problems
    return tuple(out)


def lines(catalogue: Catalogue, fixtures: Fixtures, asked: Rows) -> Iterator[str]:
    """A line for each row. No exception of a row gets out."""
    answers = _Answers(catalogue, Once(fixtures), asked)
    return (answers.line(row) for row in asked.rows)


class _Answers:
    def __init__(self, catalogue: Catalogue, fixtures: Once, asked: Rows) -> None:
        self._catalogue, self._fixtures, self._asked = catalogue, fixtures, asked
        self._queries: dict[str, tuple[Known, Query]] = {}
        self._spent: dict[str, float] = {}
        self._began, self._budget = time.monotonic(), Budget()
        self._told: dict[tuple[Any, ...], list[Scalar | Problem]] = {}

    def line(self, row: Sequence[Given]) -> str:
        wide = len(self._asked.wanted)
        own = {n: v for n, v in zip(self._asked.names, row, strict=False) if n and _there(v)}
        if not own:
            return "\t" * (wide - 1)
        try:
            found = self._row(own)
        # A row is the last place where its fault can be told.
        except Exception as error:
            return "\t".join([_reason(error)] * wide)
        return "\t".join(cell_reason(f) if isinstance(f, Problem) else cell_text(f) for f in found)

    def _row(self, own: Mapping[str, Given]) -> list[Scalar | Problem]:
        given = {n: v for n, v in {**self._asked.common, **own}.items() if _there(v)}
        known, query = self._query(given.pop("joint_type", None))
        # A text is what a query string would hold, ends of blanks being nothing in a cell.
        pairs = ((n, v.strip() if isinstance(v, str) else v) for n, v in given.items())
        asked = query.read(pairs)
        if time.monotonic() - self._began > BATCH_SECONDS:
            allowed = f"at most {BATCH_SECONDS} s for a list; ask for the rest in another"
            raise InputError(
                Problem("", "comes too late: the list has had its time", None, allowed)
            )
        if not known.keeps:
            return self._slowly(known, asked.joint, asked.fixture, asked.hand)
        self._budget.spend({"passes": known.passes(asked.joint, asked.fixture.fixture)})
        key = (asked.joint, asked.fixture, asked.hand)
        try:
            found = self._told.get(key)
        except TypeError:  # a plug-in's class may hold what has no hash
            return picked(known, *key, self._asked.wanted)
        if found is None:
            found = self._told[key] = picked(known, *key, self._asked.wanted)
        return found

    def _query(self, name: Given) -> tuple[Known, Query]:
        if name is None:
            allowed = "one of " + ", ".join(self._catalogue.known)
            raise InputError(Problem("joint_type", "is missing", None, allowed))
        found = self._queries.get(str(name))
        if found is None:
            known = self._catalogue.get(TYPE.accept(name))
            query = Query(known, self._fixtures, OWN)
            found = self._queries[known.name] = known, query
        return found

    def _slowly(
        self, known: Known, joint: Any, chosen: Chosen, hand: Any
    ) -> list[Scalar | Problem]:
        """A type that does not ship may take its whole deadline for every row."""
        if self._spent.get(known.name, 0.0) > BATCH_TYPE_SECONDS:
            reason = f"it has taken more than {BATCH_TYPE_SECONDS} s of this list"
            raise PluginError(reason, known.name, known.distribution)
        began = time.monotonic()
        try:
            return picked(known, joint, chosen, hand, self._asked.wanted)
        finally:
            took = time.monotonic() - began
            self._spent[known.name] = self._spent.get(known.name, 0.0) + took


def _there(value: Given) -> bool:
    return value is not None and not (isinstance(value, str) and not value.strip())


def _reason(error: Exception) -> str:
    if isinstance(error, InputError):
        return cell_words(input_problem(error))
    if isinstance(error, PluginError):
        return cell_words(plugin_problem(error))
    return cell_words(unexpected_problem(error))
