"""The OpenAPI document and its page: made from the fields, valid, and local."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import attrs
import pytest
from flask.testing import FlaskClient
from openapi_spec_validator import validate

import jointgeo
from jointgeo.fixtures.model import STATED_LISTS, Fixture, Tilt, Uncertainty
from jointgeo.schema.fields import describe
from jointgeo_service.app import create_app

TYPES = sorted(jointgeo.joint_types())


@pytest.fixture(scope="module")
def document() -> Any:
    return create_app().test_client().get("/openapi.json").json


def test_it_is_valid_openapi_3_1(document: Any) -> None:
    assert document["openapi"].startswith("3.1")
    validate(document)


def test_it_cautions_and_defers_to_local_rules(document: Any) -> None:
    """29 CFR 1910.213 is OSHA's rule for woodworking machinery, L114 the HSE's code (from
    memory)."""
    says = document["info"]["description"]
    assert "29 CFR 1910.213" in says
    assert "L114" in says
    assert "licensed" in says
    assert "solate the power" in says


@pytest.mark.parametrize("name", TYPES)
def test_every_parameter_stands_there_with_range_unit_default_and_help(
    document: Any, name: str
) -> None:
    either = document["components"]["schemas"][f"{name}_parameters"]["anyOf"]
    assert len(either) == 2
    flat = {
        p["name"]: p
        for p in document["paths"][f"/v1/joint-types/{name}/settings"]["get"]["parameters"]
    }
    infos = describe(jointgeo.joint_type(name))
    lengths = [i for i in infos if i.inches_name]
    for info in infos:
        stated = either[0]["properties"][info.name]
        assert stated["description"] == info.help
        assert stated.get("x-unit", "") == (info.unit if info.unit != "1" else "")
        assert stated.get("default") == info.default
        assert stated.get("maximum") == (info.high if info.kind in ("number", "integer") else None)
        low = stated.get("exclusiveMinimum" if info.above else "minimum")
        assert low == info.low
        assert stated.get("enum", []) == list(info.choices)
        assert (info.name in either[0].get("required", [])) == info.required
        parameter = flat[info.name]
        assert parameter["description"] == info.help
        assert parameter["schema"].get("maximum") == stated.get("maximum")
        assert parameter["required"] == (info.required and not info.inches_name)
    for info in lengths:
        assert info.inches_name in either[1]["properties"]
        assert info.inches_name in flat
    assert all(part["additionalProperties"] is False for part in either)
    own = {"fixture", "hand", "shape", "heading", "part", "setup", "cells", "nocache"}
    assert own <= set(flat)


def test_a_fixture_stands_there_as_its_classes_say(document: Any) -> None:
    schemas = document["components"]["schemas"]
    whole = schemas["fixture"]
    assert set(whole["properties"]) == {f.name for f in attrs.fields(Fixture)} - {"unstated"}
    assert whole["additionalProperties"] is False
    tilt = schemas["fixture_tilt"]["anyOf"][0]["properties"]
    for info in describe(Tilt):
        assert tilt[info.name]["description"] == info.help
    fraction = next(i for i in describe(Uncertainty) if i.name == "traverse_lead_fraction")
    stated = schemas["fixture_uncertainty"]["anyOf"][0]["properties"][fraction.name]
    assert stated["maximum"] == fraction.high
    assert whole["properties"]["cutter"]["type"] == "array"


def test_problem_details_are_declared_for_every_operation(document: Any) -> None:
    for path in document["paths"].values():
        for operation in (path[method] for method in ("get", "post") if method in path):
            reference = operation["responses"]["default"]["$ref"].rpartition("/")[2]
            content = document["components"]["responses"][reference]["content"]
            assert list(content) == ["application/problem+json"]


def test_every_type_has_its_own_place(document: Any) -> None:
    for name in TYPES:
        for want in ("settings", "feasibility"):
            operations = document["paths"][f"/v1/joint-types/{name}/{want}"]
            assert set(operations) == {"get", "post"}
            content = operations["get"]["responses"]["200"]["content"]
            kinds = {"application/json", "text/csv", "text/tab-separated-values", "text/plain"}
            assert set(content) == kinds
            example = operations["post"]["requestBody"]["content"]["application/json"]["example"]
            assert example["joint"] == jointgeo.joint_type(name).examples()[0].to_dict()
    items = document["components"]["schemas"]["batch"]["properties"]["items"]
    assert items["maxItems"] == 1000
    assert set(items["items"]["discriminator"]["mapping"]) == set(TYPES)


def _properties(schema: Any, where: str) -> Iterator[tuple[str, Any]]:
    """Every property of a schema and of those within it, with its path."""
    if isinstance(schema, list):
        for i, one in enumerate(schema):
            yield from _properties(one, f"{where}[{i}]")
    elif isinstance(schema, dict):
        for name, one in schema.get("properties", {}).items():
            yield f"{where}.{name}", one
        for name, one in schema.items():
            if name not in ("example", "examples", "default", "discriminator"):
                yield from _properties(one, f"{where}.{name}")


def test_every_property_and_argument_has_a_description(document: Any) -> None:
    told = list(_properties(document["components"]["schemas"], "schemas"))
    told += _properties(document["paths"], "paths")
    assert len(told) > 300
    bare = [path for path, one in told if not (one.get("description") or "$ref" in one)]
    assert bare == []
    arguments = [
        (f"{path}?{a['name']}", a)
        for path, item in document["paths"].items()
        for operation in (item, *(item[m] for m in ("get", "post") if m in item))
        for a in operation.get("parameters", ())
    ]
    assert len(arguments) > 100
    assert [name for name, one in arguments if not one.get("description")] == []


def test_every_operation_has_an_id_of_its_own(document: Any) -> None:
    ids = [
        operation.get("operationId")
        for item in document["paths"].values()
        for method, operation in item.items()
        if method in ("get", "post")
    ]
    assert len(ids) > 20
    assert None not in ids
    assert len(set(ids)) == len(ids)


def test_no_fixture_is_listed_since_files_come_and_go(document: Any) -> None:
    flat = document["paths"][f"/v1/joint-types/{TYPES[0]}/settings"]["get"]["parameters"]
    (fixture,) = (p for p in flat if p["name"] == "fixture")
    assert "enum" not in fixture["schema"]
    for answer in ("settings", "feasibility", "paths"):
        members = document["components"]["schemas"][answer]
        assert {"fixture", "edition"} <= set(members["required"])


def test_lengths_in_inches_have_their_range(document: Any) -> None:
    for name in TYPES:
        inches = document["components"]["schemas"][f"{name}_parameters"]["anyOf"][1]["properties"]
        for info in describe(jointgeo.joint_type(name)):
            if info.inches_name:
                number = inches[info.inches_name]["anyOf"][0]
                low = number.get("exclusiveMinimum" if info.above else "minimum")
                # An inch is 25.4 mm by definition; the range is told to 0.001 in.
                assert low == pytest.approx(info.low / 25.4, abs=1e-3)
                assert number["maximum"] == pytest.approx(info.high / 25.4, abs=1e-3)


def test_the_page_is_made_of_local_files_only(client: FlaskClient) -> None:
    """No name of another host, and a policy that lets the browser fetch from nowhere else."""
    page = client.get("/docs")
    assert page.mimetype == "text/html"
    assert "//" not in page.text
    linked = re.findall(r'(?:src|href)="([^"]+)"', page.text)
    assert len(linked) >= 4
    for url in linked:
        answer = client.get(url)
        assert answer.status_code == 200, url
        assert len(answer.data) > 50
    policy = page.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "http" not in policy
    assert "/openapi.json" in client.get("/docs/start.js").text


@pytest.mark.parametrize("name", ["../access.py", "..%2f__init__.py", "swagger-ui.js", "x", ""])
def test_the_page_gives_no_other_file(client: FlaskClient, name: str) -> None:
    assert client.get(f"/docs/{name}").status_code == 404


@pytest.mark.parametrize("name", STATED_LISTS)
def test_it_says_that_no_list_is_not_an_empty_list(document: Any, name: str) -> None:
    whole = document["components"]["schemas"]["fixture"]
    assert "unstated" not in whole["properties"]
    assert name not in whole["required"]
    says = whole["properties"][name]["description"]
    assert "An empty list says that there is none" in says
    assert "left out, what would need it is answered not_stated" in says
