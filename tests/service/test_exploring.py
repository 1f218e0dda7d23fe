"""A general tool makes up questions from the OpenAPI document and watches the answers.

schemathesis checks that every answer has a documented status, type and form, that a
question the document forbids is refused, and that Allow tells the truth. The questions
are the same on every run. One joint type and one piece type stand for all: the service knows none
by name.
"""

from __future__ import annotations

from typing import Any

import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis.checks import negative_data_rejection, not_a_server_error
from schemathesis.specs.openapi.checks import positive_data_acceptance

import jointgeo
from jointgeo.pieces import piece_types
from jointgeo_service.app import create_app

_, *OTHERS = sorted(jointgeo.joint_types())
_, *OTHER_PIECES = sorted(piece_types())


@schemathesis.hook
def before_load_schema(_context: Any, raw_schema: dict[str, Any]) -> None:
    """Fixtures by name only: a whole one takes minutes to vary, and is tried elsewhere."""
    for name, schema in raw_schema["components"]["schemas"].items():
        if name.endswith(("_question", "_batch_item")):
            named = {"enum": ["porch"]}
            own = schema["properties"]
            own |= {n: named for n in ("fixture", "before", "after") if n in own}
            if "fixtures" in own:
                own["fixtures"]["items"] = named


BATCHES = ("/v1/batch", "/v1/pieces/batch")
schema = schemathesis.openapi.from_wsgi("/openapi.json", create_app(hosts=None)).exclude(
    path_regex="/(" + "|".join([*OTHERS, *OTHER_PIECES]) + ")/"
)


@schema.parametrize()
@settings(
    max_examples=10,
    derandomize=True,
    deadline=None,
    database=None,
    suppress_health_check=list(HealthCheck),
)
def test_every_answer_is_as_documented(case: schemathesis.Case[Any]) -> None:
    answer = case.call()
    # The types that ship are not at fault either.
    assert answer.status_code != 500, answer.text
    # Rules between fields (a shoulder wider than its rail) have no place in the document.
    excluded: list[Any] = [positive_data_acceptance, not_a_server_error]
    # In a cell an error has status 200, and so has a batch of which every item is refused.
    if "cells" in (case.query or {}) or case.path in BATCHES:
        excluded.append(negative_data_rejection)
    # An argument beyond its length may make the URL too long, which is refused as well.
    if answer.status_code == 414:
        excluded.append(negative_data_rejection)
    case.validate_response(answer, excluded_checks=excluded)
