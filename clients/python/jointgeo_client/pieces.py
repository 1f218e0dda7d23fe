"""Questions about whole pieces, and about fixtures to be changed and built, as methods.

Knows the addresses of the service; leaves HTTP, retries and errors to ``transport``. Knows no type
by name: what there is, the service says. Answers are the plain data that came; the service's
document tells every member.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, cast
from urllib.parse import quote

from jointgeo_client.errors import ProblemError, UnexpectedAnswerError
from jointgeo_client.scalars import Scalar, Value, scalar_in, text_of
from jointgeo_client.transport import Transport

__all__ = ["Fixture", "PieceAnswer", "PieceMarks", "PieceMethods", "PieceWant"]

Fixture = str | Mapping[str, Any]
PieceWant = Literal["answer", "cut-list", "settings", "feasibility", "marks", "closing", "assembly"]
PieceMarks = Literal["alike", "as_drawn"]


@dataclass(frozen=True)
class PieceAnswer:
    """The answer to one piece of a batch.

    status: 200, or the status that the same question would have had alone. answer: the part that
    was wanted. problem: why there is none.
    """

    status: int
    id: str | None = None
    answer: dict[str, Any] | None = None
    problem: ProblemError | None = None


class PieceMethods:
    """What a client asks of pieces and of fixtures as things to be changed. ``fixture`` is a name
    or a whole fixture everywhere."""

    _to: Transport

    def piece_types(self) -> dict[str, Any]:
        """Every piece type with its parameters, and the plug-ins that were refused."""
        return cast(dict[str, Any], self._to.json("GET", "/v1/piece-types"))

    def piece_type(self, name: str) -> dict[str, Any]:
        """One piece type, with worked examples."""
        return cast(dict[str, Any], self._to.json("GET", _type_path(name)))

    def piece(
        self,
        piece_type: str,
        piece: Mapping[str, Any],
        fixture: Fixture,
        want: PieceWant = "answer",
        marks: PieceMarks = "alike",
    ) -> dict[str, Any]:
        """A piece of an installed type by its parameters; ``answer`` is all but closing and
        assembly, and enough to rebuild every bar and to stand it in the room."""
        body = {"piece": dict(piece), "fixture": _fixture(fixture), "marks": marks}
        path = f"{_type_path(piece_type)}/{want}"
        return cast(dict[str, Any], self._to.json("POST", path, body))

    def piece_file(
        self,
        data: Mapping[str, Any],
        fixture: Fixture,
        want: PieceWant = "answer",
        marks: PieceMarks = "alike",
    ) -> dict[str, Any]:
        """The same for a piece file's tables: bars in the room and joints between them."""
        body = {"piece": dict(data), "fixture": _fixture(fixture), "marks": marks}
        return cast(dict[str, Any], self._to.json("POST", f"/v1/pieces/{want}", body))

    def piece_table(
        self,
        piece_type: str,
        want: Literal["cut-list", "settings", "feasibility"],
        piece: Mapping[str, Scalar],
        fixture: str,
        marks: PieceMarks = "alike",
    ) -> list[dict[str, Value]]:
        """An answer as rows: one for each member, each pass of a cut, or each check."""
        query = _query(piece, fixture, marks) | {"shape": "csv"}
        text = self._to.text(f"{_type_path(piece_type)}/{want}", query)
        rows = csv.DictReader(io.StringIO(text, newline=""))
        return [{name: scalar_in(value) for name, value in row.items()} for row in rows]

    def piece_value(
        self,
        piece_type: str,
        want: PieceWant,
        path: str,
        piece: Mapping[str, Scalar],
        fixture: str,
        marks: PieceMarks = "alike",
    ) -> Value:
        """One value of an answer by its path, e.g. ``members.leg.blank_mm`` of the cut list; items
        of a list by name, or by number from 1."""
        query = _query(piece, fixture, marks) | {"shape": "value", "pick": path}
        return scalar_in(self._to.text(f"{_type_path(piece_type)}/{want}", query))

    def piece_batch(self, items: Sequence[Mapping[str, Any]]) -> list[PieceAnswer]:
        """Many pieces at once, answered in their order; a bad one spoils no other.

        Each item has ``piece`` and ``fixture``, ``want``, and if wished ``piece_type`` (none for a
        piece file's tables), ``marks`` and ``id``.
        """
        body = {"items": [dict(item) for item in items]}
        listed = self._to.json("POST", "/v1/pieces/batch", body, member="items")
        if len(listed) != len(items):
            raise UnexpectedAnswerError(f"{len(items)} pieces were asked, {len(listed)} answered")
        return [_piece_answer(one) for one in listed]

    def fixture_changes(
        self,
        works: Sequence[Mapping[str, Any]],
        fixture: Fixture,
        allow: Sequence[Mapping[str, Any]] | None = None,
        **limits: float | bool,
    ) -> dict[str, Any]:
        """What of a fixture to change so that all works can be cut, the cheapest first.

        works: each a table with joint_type and joint, piece_type and piece, piece alone (a piece
        file's tables) or job. allow: changes that may be made, all usual ones if None. limits:
        room_mm, pairs, plans. ``whole`` says whether the search was cut short.
        """
        body: dict[str, Any] = {"works": _tables(works), "fixture": _fixture(fixture), **limits}
        if allow is not None:
            body["allow"] = _tables(allow)
        return cast(dict[str, Any], self._to.json("POST", "/v1/fixture-changes", body))

    def compare_fixtures(
        self,
        works: Sequence[Mapping[str, Any]],
        fixtures: Sequence[Fixture],
        thicknesses_mm: Sequence[float] = (),
    ) -> dict[str, Any]:
        """Every work on every fixture, and the greatest tilt of stock of each thickness."""
        body = {
            "works": _tables(works),
            "fixtures": [_fixture(f) for f in fixtures],
            "thicknesses_mm": list(thicknesses_mm),
        }
        return cast(dict[str, Any], self._to.json("POST", "/v1/fixture-comparisons", body))

    def fixture_gains(
        self, works: Sequence[Mapping[str, Any]], before: Fixture, after: Fixture
    ) -> dict[str, Any]:
        """Which of the works a change of a fixture makes possible, and which it spoils."""
        body = {"works": _tables(works), "before": _fixture(before), "after": _fixture(after)}
        return cast(dict[str, Any], self._to.json("POST", "/v1/fixture-gains", body))

    def fixture_parts(
        self,
        fixture: Fixture,
        parts: Sequence[str] = (),
        wanted: Mapping[str, Any] | None = None,
    ) -> dict[str, Any]:
        """Parts of a fixture to build or change it; every one that can be made if none is named.
        wanted: sizes asked for, what is not given is the file's or common practice."""
        body: dict[str, Any] = {"fixture": _fixture(fixture), "wanted": dict(wanted or {})}
        if parts:
            body["parts"] = list(parts)
        return cast(dict[str, Any], self._to.json("POST", "/v1/fixture-parts", body))


def _type_path(name: str) -> str:
    return f"/v1/piece-types/{quote(name, safe='')}"


def _fixture(fixture: Fixture) -> Any:
    return fixture if isinstance(fixture, str) else dict(fixture)


def _tables(items: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    return [dict(item) for item in items]


def _query(piece: Mapping[str, Scalar], fixture: str, marks: str) -> dict[str, str]:
    flat = {name: text_of(value) for name, value in piece.items() if value is not None}
    return flat | {"fixture": fixture, "marks": marks}


def _piece_answer(item: Mapping[str, Any]) -> PieceAnswer:
    status = int(item["status"])
    problem = item.get("problem")
    found = None if problem is None else ProblemError.of(problem, status)
    return PieceAnswer(status, item.get("id"), item.get("answer"), found)
