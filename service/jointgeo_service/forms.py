"""A form made from fields alone: label, entry, unit, help and what is wrong, bound together.

Knows markup and typed fields; knows no HTTP and no type by name. The page that a form stands on is
``frame``'s.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import attrs

from jointgeo.errors import Problem
from jointgeo.schema.fields import FieldInfo
from jointgeo.schema.units import MM_PER_INCH
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo_service.typed import Field, Typed, Unit

__all__ = ["choice", "faults", "field_id", "form", "label"]

#: What stands in a choice that may be left open.
OPEN = "not given"


def label(name: str) -> str:
    """``Rail width`` for ``rail_width_mm``; the unit stands behind the entry."""
    stem = name.removeprefix("joint.")
    for end in ("_mm", "_deg"):
        stem = stem.removesuffix(end)
    words = stem.replace("_", " ")
    return f"{words[:1].upper()}{words[1:]}"


def field_id(name: str) -> str:
    """The id of the entry, to which a link at the top leads."""
    return f"field-{name.replace('.', '-')}"


def form(
    action: str, typed: Typed, extras: Sequence[Markup], hidden: Iterable[tuple[str, str]] = ()
) -> Markup:
    """The whole form. extras: choices that stand first. Optional fields are folded together, but
    for one that holds something of its own or is wrong."""
    needed = [f for f in typed.fields if f.info.required]
    more = [f for f in typed.fields if not f.info.required]
    body: list[Markup] = [*extras, *(_entry(f, typed.unit) for f in needed)]
    if more:
        opened = "" if any(_is_own(f) or f.problem for f in more) else None
        summary = element("summary", f"May be left as they are ({len(more)})")
        body.append(
            element("details", summary, *(_entry(f, typed.unit) for f in more), open=opened)
        )
    body += [element("input", type="hidden", name=n, value=v) for n, v in hidden]
    body.append(element("input", type="hidden", name="was", value=typed.unit))
    body.append(element("button", "Work out", type="submit"))
    return element("form", *body, action=action, method="get", id="form", novalidate="")


def choice(
    name: str,
    title: str,
    options: Iterable[tuple[str, str]],
    chosen: str,
    help: str = "",
    *,
    problem: Problem | None = None,
) -> Markup:
    """A choice among (value, words), and what is wrong with what was chosen."""
    made = [
        element("option", says, value=value, selected="" if value == chosen else None)
        for value, says in options
    ]
    key = field_id(name)
    said = [element("p", help, id=f"{key}-help", class_="help")] if help else []
    described = [f"{key}-help"] if help else []
    if problem is not None:
        said.insert(0, element("p", _told(title, problem), id=f"{key}-fault", class_="fault"))
        described.append(f"{key}-fault")
    select = element(
        "select",
        *made,
        name=name,
        id=key,
        aria_describedby=" ".join(described) or None,
        aria_invalid=None if problem is None else "true",
    )
    kind = "field" if problem is None else "field wrong"
    return element("div", element("label", title, for_=key), select, *said, class_=kind)


def faults(typed: Typed, choices: Iterable[tuple[str, str, Problem]] = ()) -> Markup:
    """All that is wrong, at the top: each a link to its field. choices: id, title and problem of
    those beside the fields."""
    found = [(key, _told(title, problem)) for key, title, problem in choices]
    found += [(field_id(f.name), _fault(f, typed.unit)) for f in typed.problems]
    rows = [element("li", element("a", says, href=f"#{key}")) for key, says in found]
    rows += [element("li", str(p)) for p in typed.unknown]
    if not rows:
        return Markup()
    count = f"{len(rows)} thing{'s' if len(rows) > 1 else ''} to put right"
    head = element("h2", f"Not worked out: {count}", id="faults")
    return element("div", head, element("ul", *rows), class_="verdict faults", role="alert")


def _is_own(field: Field) -> bool:
    """Whether something stands there that is not what would be taken without it."""
    default = field.info.default
    if not field.text or default is None:
        return bool(field.text)
    try:
        return float(field.text.replace(",", ".")) != float(default)
    except (TypeError, ValueError):
        return field.text != str(default).lower()


def _entry(field: Field, unit: Unit) -> Markup:
    info, key = field.info, field_id(field.name)
    parts = [element("label", label(field.name), for_=key)]
    wrong = field.problem is not None
    described = f"{key}-help" + (f" {key}-fault" if wrong else "")
    if wrong:
        parts.append(element("p", _fault(field, unit), id=f"{key}-fault", class_="fault"))
    if info.kind in ("choice", "flag"):
        parts.append(_select(field, key, described, wrong=wrong))
    else:
        parts.append(_input(field, key, described, unit, wrong=wrong))
    parts.append(element("p", _help(info, unit), id=f"{key}-help", class_="help"))
    return element("div", *parts, class_="field wrong" if wrong else "field")


def _select(field: Field, key: str, described: str, *, wrong: bool) -> Markup:
    info = field.info
    options = [(c, c.replace("_", " ")) for c in info.choices]
    if info.kind == "flag":
        options = [("true", "yes"), ("false", "no")]
    chosen = field.text
    if not info.required and info.default is None:
        options.insert(0, ("", OPEN))
    elif not chosen and info.default is not None:
        chosen = str(info.default).lower() if info.kind == "flag" else str(info.default)
    if chosen and chosen not in {value for value, _ in options}:
        options.insert(0, (chosen, chosen))  # shown as it came, with what is wrong with it
    made = [
        element("option", says, value=value, selected="" if value == chosen else None)
        for value, says in options
    ]
    return element(
        "select",
        *made,
        name=field.name,
        id=key,
        aria_describedby=described,
        aria_invalid="true" if wrong else None,
    )


def _input(field: Field, key: str, described: str, unit: Unit, *, wrong: bool) -> Markup:
    info = field.info
    number = info.kind in ("number", "integer")
    # A keyboard of digits has neither a minus nor a stroke for fractions on some telephones.
    digits = number and (info.low or 0.0) >= 0 and info.low is not None
    digits = digits and not (unit == "in" and info.inches_name)
    entry = element(
        "input",
        type="text",
        name=field.name,
        id=key,
        value=field.text,
        inputmode="decimal" if digits else None,
        autocomplete="off",
        class_="number" if number else None,
        aria_describedby=described,
        aria_invalid="true" if wrong else None,
        aria_required="true" if info.required else None,
    )
    sign = _sign(info, unit)
    return joined([entry, *([element("span", f" {sign}")] if sign else [])])


def _sign(info: FieldInfo, unit: Unit) -> str:
    if info.inches_name is not None:
        return unit
    return {"deg": "°", "1": ""}.get(info.unit, info.unit)


def _help(info: FieldInfo, unit: Unit) -> str:
    """What it is, and what may stand there."""
    parts = [f"{info.help.rstrip('.')}."]
    if info.kind in ("number", "integer"):
        parts.append(f"{_range(info, unit)}{_default(info, unit)}.")
    elif info.kind == "text":
        parts.append(f"{info.allowed[:1].upper()}{info.allowed[1:]}.")
    return " ".join(parts)


def _range(info: FieldInfo, unit: Unit) -> str:
    """``0.1 to 500 mm``, in the unit of the form."""
    inches = unit == "in" and info.inches_name is not None
    size = MM_PER_INCH if inches else 1.0
    low, high = (None if v is None else _figure(v / size) for v in (info.low, info.high))
    sign = _sign(info, unit)
    space = "" if sign in ("", "°") else " "
    if low is not None and high is not None:
        says = f"{low} to {high}"
        says = f"More than {says}" if info.above else says
    elif low is not None:
        says = f"{'More than' if info.above else 'At least'} {low}"
    else:
        says = "Any number" if high is None else f"At most {high}"
    return f"{says}{space}{sign}"


def _figure(value: float) -> str:
    """So many digits as a range is read with."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _default(info: FieldInfo, unit: Unit) -> str:
    if info.required:
        return ""
    if info.default is None:
        return "; may be left empty"
    value = info.default
    if unit == "in" and info.inches_name:
        return f"; {value / MM_PER_INCH:.4g} in if left empty"
    said = f"{value:g}" if isinstance(value, int | float) else str(value)
    sign = _sign(info, unit)
    space = "" if sign in ("", "°") else " "
    return f"; {said}{space}{sign} if left empty"


def _fault(field: Field, unit: Unit) -> str:
    problem, info = field.problem, field.info
    if problem is None:
        return ""
    if info.kind in ("number", "integer") and problem.allowed in (
        info.allowed,
        info.allowed_inches,
    ):
        allowed = _range(info, unit)
        problem = attrs.evolve(problem, allowed=f"{allowed[:1].lower()}{allowed[1:]}")
    return _told(label(field.name), problem)


def _told(title: str, problem: Problem) -> str:
    given = f" (given {problem.given})" if problem.given is not None else ""
    rest = f"; allowed: {problem.allowed}" if problem.allowed else ""
    return f"{title} {problem.message}{given}{rest}."
