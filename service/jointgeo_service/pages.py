"""The OpenAPI document, and a page that shows it from local files only.

Knows Flask and where flask-swagger-ui keeps the page's script and style. The page's
policy lets the browser fetch nothing from elsewhere, whatever the script would like.
"""

from __future__ import annotations

from importlib.resources import files

import flask

from jointgeo_service.api import ServiceApi
from jointgeo_service.strict_json import encode

__all__ = ["page_routes"]

FOLDER = files("flask_swagger_ui") / "dist"
ASSETS = ("swagger-ui.css", "swagger-ui-bundle.js", "favicon-32x32.png")
PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>jointgeo</title>
<link rel="stylesheet" href="/docs/swagger-ui.css">
<link rel="icon" type="image/png" href="/docs/favicon-32x32.png">
</head>
<body>
<div id="page"><noscript>This page needs a script. The same document is at
<a href="/openapi.json">/openapi.json</a>.</noscript></div>
<script src="/docs/swagger-ui-bundle.js"></script>
<script src="/docs/start.js"></script>
</body>
</html>
"""
START = """"use strict";
window.ui = SwaggerUIBundle({
  url: "/openapi.json", dom_id: "#page", deepLinking: true, validatorUrl: null,
  defaultModelsExpandDepth: 0, docExpansion: "list"
});
"""
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data:; connect-src 'self'; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)


def page_routes(app: flask.Flask, api: ServiceApi) -> None:
    """Add /openapi.json and /docs to ``app``; call it when every route is there."""
    document = encode(api.spec.to_dict())
    assets = {name: (FOLDER / name).read_bytes() for name in ASSETS}

    def openapi() -> flask.Response:
        return flask.Response(document, mimetype="application/json")

    def docs() -> flask.Response:
        headers = {"Content-Security-Policy": POLICY}
        return flask.Response(PAGE, mimetype="text/html", headers=headers)

    def start() -> flask.Response:
        return flask.Response(START, mimetype="text/javascript")

    app.add_url_rule("/openapi.json", "openapi", openapi)
    app.add_url_rule("/docs", "docs", docs)
    app.add_url_rule("/docs/start.js", "docs_start", start)
    for name, data in assets.items():
        app.add_url_rule(f"/docs/{name}", f"docs_{name}".replace(".", "_"), _asset(name, data))


def _asset(name: str, data: bytes) -> flask.typing.RouteCallable:
    kinds = {"css": "text/css", "js": "text/javascript", "png": "image/png"}
    kind = kinds[name.rpartition(".")[2]]

    def asset() -> flask.Response:
        return flask.Response(data, mimetype=kind)

    return asset
