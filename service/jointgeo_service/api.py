"""flask-smorest as this service uses it: OpenAPI 3.1, problem+json, strict reading.

Knows flask-smorest, apispec and the description of the answers; knows no route.
"""

from __future__ import annotations

import http
from typing import Any

import flask
import marshmallow as ma
from apispec.ext.marshmallow import MarshmallowPlugin
from apispec.ext.marshmallow.openapi import OpenAPIConverter
from flask_smorest import Api, Blueprint  # type: ignore[import-untyped]  # it ships no types

from jointgeo.jobs.report import CAUTIONS
from jointgeo_service.answers import SCHEMAS, ref
from jointgeo_service.limits import in_words
from jointgeo_service.problems import MEDIA_TYPE
from jointgeo_service.reading import StrictParser
from jointgeo_service.schemas import Documented, either_unit

__all__ = ["Routes", "ServiceApi", "make_api"]

DESCRIPTION = """\
Settings and feasibility of angled woodworking joints on a shop-made fixture. Millimetres and
degrees throughout; a name that ends in `_mm` may be given as `_in` instead, in inches. An
infeasible joint is an answer, not an error. A fixture is asked by one of the names that
`/v1/fixtures` lists; every answer names it and the edition of its file.

These numbers are guidance; your local rules and licensed practice, where they ask for it, come
first.
"""


class _Converter(OpenAPIConverter):
    """Adds what a marshmallow schema cannot say: that lengths have a second name."""

    def schema2jsonschema(self, schema: Any) -> dict[str, Any]:
        out: dict[str, Any] = super().schema2jsonschema(schema)  # type: ignore[no-untyped-call]  # apispec's
        return either_unit(schema, out)


class _Plugin(MarshmallowPlugin):
    Converter = _Converter


def documented(
    _converter: OpenAPIConverter, field: ma.fields.Field[Any], ret: dict[str, Any]
) -> dict[str, Any]:
    """What our own fields say of themselves stands instead of what was inferred."""
    if isinstance(field, Documented):
        ret.clear()
        return field.openapi
    return {}


class ServiceApi(Api):  # type: ignore[misc]  # flask-smorest ships no types
    """Errors are ours (``problems`` registers them), and documented as problem+json."""

    def _register_error_handlers(self) -> None:
        pass

    def _register_etag_headers(self) -> None:
        pass

    def _register_pagination_header(self) -> None:
        pass

    def _register_responses(self) -> None:
        content = {MEDIA_TYPE: {"schema": ref("problem")}}
        for status in http.HTTPStatus:
            self.spec.components.response(
                status.name, {"description": status.phrase, "content": content}, lazy=True
            )
        self.spec.components.response(
            self.DEFAULT_ERROR_RESPONSE_NAME,
            {"description": "Any error", "content": content},
            lazy=True,
        )


class Routes(Blueprint):  # type: ignore[misc]  # flask-smorest ships no types
    """Routes that are documented and read their bodies strictly."""

    ARGUMENTS_PARSER = StrictParser()


def make_api(app: flask.Flask, version: str, *, token: bool) -> ServiceApi:
    """The Api of ``app``; ``token`` says whether the document asks for one."""
    app.config.update(API_TITLE="jointgeo", API_VERSION=version, OPENAPI_VERSION="3.1.0")
    api = ServiceApi(
        app,
        spec_kwargs={
            "marshmallow_plugin": _Plugin(),
            "info": {"description": "\n".join((DESCRIPTION, " ".join(CAUTIONS), "", in_words()))},
        },
    )
    api.ma_plugin.converter.add_attribute_function(documented)
    for name, schema in SCHEMAS.items():
        api.spec.components.schema(name, schema)
    if token:
        api.spec.components.security_scheme("token", {"type": "http", "scheme": "bearer"})
        api.spec.components.security_scheme("password", {"type": "http", "scheme": "basic"})
        api.spec.options["security"] = [{"token": []}, {"password": []}]
    return api
