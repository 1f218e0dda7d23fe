"""The service's questions about joints as methods; those about pieces are in ``pieces``.

Knows the addresses of the service and the shapes of its answers; leaves HTTP, retries
and errors to ``transport``. Knows no joint type by name: what there is, the service says.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import TracebackType
from typing import Any, Self, cast
from urllib.parse import quote, urlencode

import requests

from jointgeo_client.errors import ProblemError, UnexpectedAnswerError
from jointgeo_client.pieces import PieceMethods
from jointgeo_client.scalars import Scalar, Value, scalar_in, text_of
from jointgeo_client.shapes import (
    BatchItem,
    Feasibility,
    FixtureName,
    Hand,
    Health,
    JointTypeInfo,
    JointTypes,
    Path,
    Settings,
    Want,
)
from jointgeo_client.transport import Transport

__all__ = ["BatchAnswer", "Client"]

# The method named list hides the type of that name in what stands after it.
Rows = list[list[Value]]
Table = list[dict[str, Value]]


@dataclass(frozen=True)
class BatchAnswer:
    """The answer to one item of a batch.

    status: 200, or the status that the same question would have had alone.
    settings, feasibility: what was asked for. problem: why there is none.
    """

    status: int
    id: str | None = None
    settings: Settings | None = None
    feasibility: Feasibility | None = None
    problem: ProblemError | None = None


class Client(PieceMethods):
    """A jointgeo service at ``base_url``.

    token: for a service that is not on this machine's loopback address.
    timeout_s: how long the service may be silent, seconds.
    retries: how often a question is asked again whose connection was lost, or that was turned
    away by a busy service; backoff_s: the first wait, seconds, each further one twice as long, or
    as long as the service says.
    session: a session prepared elsewhere (proxies, certificates); it is not closed here.

    One client serves one thread. Every method raises ProblemError where the service
    refuses, ServiceUnreachableError or ServiceTimeoutError where no whole answer comes, and
    UnexpectedAnswerError where something else answers. A number that is not finite is
    refused here with ValueError.
    """

    def __init__(
        self,
        base_url: str = "http://127.0.0.1:8765",
        token: str | None = None,
        timeout_s: float = 30.0,
        *,
        retries: int = 3,
        backoff_s: float = 0.2,
        session: requests.Session | None = None,
    ) -> None:
        self._to = Transport(base_url, token, timeout_s, retries, backoff_s, session)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        value: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Give up the kept connections."""
        if self._to.own_session:
            self._to.session.close()

    def health(self) -> Health:
        """That the service is there, and its version."""
        return cast(Health, self._to.json("GET", "/healthz"))

    def joint_types(self) -> JointTypes:
        """Every joint type with its parameters, and the plug-ins that were refused."""
        return cast(JointTypes, self._to.json("GET", "/v1/joint-types"))

    def joint_type(self, name: str) -> JointTypeInfo:
        """One joint type, with worked examples."""
        return cast(JointTypeInfo, self._to.json("GET", _type_path(name)))

    def fixtures(self) -> list[FixtureName]:
        """The fixtures that the service knows by name."""
        return cast(list[FixtureName], self._to.json("GET", "/v1/fixtures", member="fixtures"))

    def fixture(self, name: str) -> dict[str, Any]:
        """A whole fixture as plain data, which every ``fixture`` argument takes back."""
        path = f"/v1/fixtures/{quote(name, safe='')}"
        return cast(dict[str, Any], self._to.json("GET", path))

    def settings(
        self,
        joint_type: str,
        joint: Mapping[str, Any],
        fixture: str | Mapping[str, Any],
        hand: Hand = "as_drawn",
    ) -> Settings:
        """What to set and cut for one joint; ``fixture`` is a name or a whole fixture."""
        return cast(Settings, self._solve(joint_type, "settings", joint, fixture, hand))

    def feasibility(
        self,
        joint_type: str,
        joint: Mapping[str, Any],
        fixture: str | Mapping[str, Any],
        hand: Hand = "as_drawn",
    ) -> Feasibility:
        """Whether one joint is feasible on the fixture, by how much, and what to change if not."""
        return cast(Feasibility, self._solve(joint_type, "feasibility", joint, fixture, hand))

    def value(
        self,
        joint_type: str,
        path: str,
        joint: Mapping[str, Scalar],
        fixture: str,
        hand: Hand = "as_drawn",
    ) -> Value:
        """One value of an answer, by its path: part, number of the clamping from 1, quantity, e.g.
        ``leg.1.swivel_deg``. ``paths`` lists them."""
        return self.values(joint_type, [path], joint, fixture, hand)[0]

    def values(
        self,
        joint_type: str,
        paths: Sequence[str],
        joint: Mapping[str, Scalar],
        fixture: str,
        hand: Hand = "as_drawn",
    ) -> list[Value]:
        """Several values of one joint in one request, in the order of their paths."""
        query: dict[str, str | list[str]] = {**_query(joint, fixture, hand), "pick": list(paths)}
        text = self._to.text(f"{_type_path(joint_type)}/values", query)
        found = [scalar_in(one) for one in text.split("\t")]
        if len(found) != len(paths):
            raise UnexpectedAnswerError(f"{len(paths)} values were asked, {len(found)} came")
        return found

    def paths(
        self,
        joint_type: str,
        joint: Mapping[str, Scalar],
        fixture: str,
        hand: Hand = "as_drawn",
    ) -> list[Path]:
        """Every path that can be asked of one joint, with its value and what that means."""
        query = urlencode(_query(joint, fixture, hand))
        path = f"{_type_path(joint_type)}/paths?{query}"
        return cast(list[Path], self._to.json("GET", path, member="paths"))

    def table(
        self,
        joint_type: str,
        want: Want,
        joint: Mapping[str, Scalar],
        fixture: str,
        hand: Hand = "as_drawn",
    ) -> Table:
        """An answer as rows: one for each pass of a cut, or one for each check."""
        query = _query(joint, fixture, hand) | {"shape": "csv"}
        text = self._to.text(f"{_type_path(joint_type)}/{want}", query)
        rows = csv.DictReader(io.StringIO(text, newline=""))
        return [{name: scalar_in(value) for name, value in row.items()} for row in rows]

    def batch(self, items: Sequence[BatchItem]) -> list[BatchAnswer]:
        """Many questions at once, answered in their order; a bad one spoils no other."""
        body = {"items": list(items)}
        listed = self._to.json("POST", "/v1/batch", body, member="items")
        answers = [_batch_answer(a) for a in listed]
        if len(answers) != len(items):
            raise UnexpectedAnswerError(f"{len(items)} items were asked, {len(answers)} answered")
        return answers

    def list(
        self,
        names: Sequence[str],
        rows: Sequence[Sequence[Scalar | None]],
        wanted: Sequence[str],
        common: Mapping[str, Scalar] | None = None,
    ) -> Rows:
        """The wanted values of many joints in one request, a row each.

        names: what each column of ``rows`` holds, a parameter, ``joint_type``, ``fixture`` or
        ``hand``. wanted: paths as of ``value``. common: what is the same in all rows. A value that
        begins with # is the reason why there is none; a row at fault spoils no other.
        """
        body = {
            "names": [*names],
            "rows": [[*row] for row in rows],
            "wanted": [*wanted],
            "common": dict(common or {}),
        }
        text = self._to.posted_text("/v1/list", body)
        lines = text.split("\n") if rows else []
        found = [[scalar_in(one) for one in line.split("\t")] for line in lines]
        if [len(line) for line in found] != [len(wanted)] * len(rows):
            raise UnexpectedAnswerError(f"{len(rows)} rows were asked, {len(found)} came")
        return found

    def _solve(
        self,
        joint_type: str,
        want: Want,
        joint: Mapping[str, Any],
        fixture: str | Mapping[str, Any],
        hand: Hand,
    ) -> Any:
        named = fixture if isinstance(fixture, str) else dict(fixture)
        body = {"joint": dict(joint), "fixture": named, "hand": hand}
        return self._to.json("POST", f"{_type_path(joint_type)}/{want}", body)


def _type_path(name: str) -> str:
    return f"/v1/joint-types/{quote(name, safe='')}"


def _query(joint: Mapping[str, Scalar], fixture: str, hand: Hand) -> dict[str, str]:
    flat = {name: text_of(value) for name, value in joint.items()}
    return flat | {"fixture": fixture, "hand": hand}


def _batch_answer(item: Mapping[str, Any]) -> BatchAnswer:
    status = int(item["status"])
    problem = item.get("problem")
    return BatchAnswer(
        status,
        item.get("id"),
        item.get("settings"),
        item.get("feasibility"),
        None if problem is None else ProblemError.of(problem, status),
    )
