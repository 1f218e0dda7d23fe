"""The frame of every page that is looked at in a browser: head, style, headers, refusals in words.

Knows Flask, markup and refusals; knows no joint, no fixture and no form. No page of this service
runs a script or fetches anything; a form on it goes nowhere else.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from http import HTTPStatus
from typing import Any

import flask

from jointgeo.errors import InputError, PluginError, Problem
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo_service.problems import (
    RefusedError,
    input_problem,
    plugin_problem,
    unexpected_problem,
)

__all__ = ["HEADERS", "at_page", "document", "html", "not_from_elsewhere", "policy", "refused"]

_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; "
    "form-action {forms}; frame-ancestors 'none'"
)
HEADERS = {
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-cache",  # a fixture's file may have changed since
    "Vary": "Sec-Fetch-Site",
}
_STYLE = """
*{box-sizing:border-box}
body{font:1rem/1.45 'DejaVu Sans',Arial,Helvetica,sans-serif;color:#000;background:#fff;
margin:0 auto;max-width:78rem;padding:.75rem}
h1{font-size:1.6rem;line-height:1.2;margin:.5rem 0}
h2{font-size:1.25rem;line-height:1.3;margin:0 0 .5rem}
h3{font-size:1.1rem;margin:1.2rem 0 .4rem}
h4{font-size:1rem;margin:1rem 0 .3rem}
p,ul,ol,table,figure,details{margin:0 0 .7rem}
ul,ol{padding-left:1.4rem}
p,li,td,th,label,summary,a{overflow-wrap:anywhere}
a{color:#0b3d91}
a:focus-visible,input:focus-visible,select:focus-visible,button:focus-visible,summary:focus-visible,
[tabindex]:focus-visible{outline:.2rem solid #0b3d91;outline-offset:.1rem}
nav a{margin-right:1rem;display:inline-block}
.skip{position:absolute;left:-99rem}
.skip:focus{position:static}
.field{margin:0 0 .9rem}
.field label{display:block;font-weight:bold}
.help{font-size:.875rem;margin:.1rem 0 0;color:#333}
.wrong{border-left:.3rem solid #000;padding-left:.6rem}
.fault{font-weight:bold;margin:.1rem 0}
input,select,button{font:inherit;color:#000;background:#fff;border:.1rem solid #000;
padding:.35rem .5rem;max-width:100%;min-height:2.75rem}
#answer{scroll-margin-top:.5rem}
/* Whoever is led to an entry must see its label and what is wrong with it, which stand above. */
input,select{scroll-margin-top:12rem}
input{width:9rem}
input.number{text-align:right}
select{width:100%;background:#eee}
input[aria-invalid],select[aria-invalid]{border-width:.2rem}
button{font-weight:bold;background:#eee;padding:.5rem 1.2rem;border-width:.15rem}
summary{cursor:pointer;font-weight:bold;padding:.4rem 0}
.caution-box,.mind{border:.15rem solid #000;padding:.5rem .8rem;margin:0 0 .8rem}
.mind p{margin:0}.mind ul{margin:0}
.verdict{border:.2rem solid #000;padding:.7rem .9rem;margin:0 0 1rem}
.verdict p,.verdict ul{margin:.2rem 0}
.verdict.caution{border-style:dashed}
.verdict.fail,.verdict.faults{border:.4rem double #000}
.finding{border-left:.2rem solid #000;padding:0 .7rem;margin:0 0 .9rem}
.finding p{margin:0 0 .2rem}
.tiles{display:flex;flex-wrap:wrap;gap:.6rem;margin:0 0 .8rem}
.tile{border:.1rem solid #000;padding:.5rem .7rem;flex:1 1 12rem}
.tile p{margin:0}
.figure{font-size:1.9rem}
.stop{font-size:1.15rem;text-transform:uppercase}
figure svg{display:block;max-width:100%;height:auto}
.pictures{display:grid;gap:1rem;align-items:start}
table{border-collapse:collapse;width:100%}
th,td{border:.06rem solid #000;padding:.2rem .4rem;text-align:left;vertical-align:top}
th{overflow-wrap:normal}
td.number,th.number{text-align:right}
td{overflow-wrap:normal}
@media (max-width:40rem){
table.stack,.stack tbody,.stack tr,.stack th,.stack td{display:block}
.stack thead{position:absolute;left:-99rem}
.stack tr{border:.06rem solid #000;margin:0 0 .7rem}
.stack th,.stack td{border:0}
.stack td::before{content:attr(data-label) ": "}
}
@media (min-width:62rem){
.sides{display:grid;grid-template-columns:22rem minmax(0,1fr);gap:0 2rem;align-items:start}
.sides>.entries{grid-column:1;grid-row:1}
.sides>.answer{grid-column:2;grid-row:1}
.pictures{grid-template-columns:repeat(2,minmax(0,1fr))}
}
"""


def policy(*, forms: bool) -> str:
    """The Content-Security-Policy; forms: whether one stands on the page."""
    return _POLICY.format(forms="'self'" if forms else "'none'")


def document(title: str, *body: Markup) -> str:
    """A whole page with its way back to the others."""
    links = [("/", "Joints and pieces"), ("/fixture", "Fixtures"), ("/docs", "For programs")]
    nav = element("nav", *(element("a", t, href=u) for u, t in links), aria_label="Pages")
    head = element(
        "head",
        element("meta", charset="utf-8"),
        element("meta", name="viewport", content="width=device-width, initial-scale=1"),
        # Or a browser asks the server for a picture of its own accord.
        element("link", rel="icon", href="data:,"),
        element("title", f"{title} – jointgeo"),
        element("style", Markup(_STYLE)),
    )
    main = element("main", element("h1", title), *body)
    page = element("html", head, element("body", element("header", nav), main), lang="en")
    return f"<!DOCTYPE html>\n{page}\n"


def html(
    text: str, status: int = 200, headers: Mapping[str, str] | None = None, *, forms: bool = True
) -> flask.Response:
    """An answer with the headers that every page bears."""
    own = {"Content-Security-Policy": policy(forms=forms), **HEADERS, **(headers or {})}
    return flask.Response(text, status, own, mimetype="text/html")


def not_from_elsewhere() -> None:
    """RefusedError where another site's page made the browser ask: any page on the internet can
    send a browser here, and drawing is work."""
    if flask.request.headers.get("Sec-Fetch-Site", "").lower() == "cross-site":
        problem = Problem("", "another site's page has asked for this", None, "ask for it yourself")
        raise RefusedError(HTTPStatus.FORBIDDEN, problem)


def at_page(work: Callable[[], flask.Response]) -> flask.Response:
    """The page, or why there is none, in words and with the status it has everywhere else."""
    try:
        not_from_elsewhere()
        return work()
    except RefusedError as error:
        return refused(input_problem(error), error.headers)
    except InputError as error:
        return refused(input_problem(error))
    except PluginError as error:
        return refused(plugin_problem(error))
    except Exception as error:
        return refused(unexpected_problem(error))


def refused(details: Mapping[str, Any], headers: Mapping[str, str] | None = None) -> flask.Response:
    """Problem details as a page."""
    status = HTTPStatus(details["status"])
    rows = []
    for error in details.get("errors", ()):
        rest = "".join(f"; {k}: {error[k]}" for k in ("given", "allowed") if k in error)
        rows.append(element("li", element("strong", error["field"]), f" {error['message']}{rest}"))
    body = [] if rows else [element("p", f"{details['detail']}.")]
    body += [element("ul", *rows)] if rows else []
    if status in (HTTPStatus.SERVICE_UNAVAILABLE, HTTPStatus.FORBIDDEN):
        again = (headers or {}).get("Retry-After")
        says = f"Ask again in {again} seconds: " if again else ""
        # The address without its host: the link leads here and nowhere else.
        address = flask.request.full_path.rstrip("?").lstrip("/")
        body.append(element("p", says, element("a", "open this page", href=f"/{address}"), "."))
    titles = {
        HTTPStatus.SERVICE_UNAVAILABLE: "Not now",
        HTTPStatus.FORBIDDEN: "Asked for by another site",
        HTTPStatus.NOT_FOUND: "There is no such page",
    }
    title = titles.get(status, str(details["title"]))
    return html(document(title, joined(body)), status, headers, forms=False)
