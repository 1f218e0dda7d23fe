"""The answers as JSON Schemas, for the API page and for those who make clients from it.

Documentation only: nothing is built or checked with these while the service runs, and
members beyond those named here may appear. The names are those of the JSON contract.
"""

from __future__ import annotations

from typing import Any

from jointgeo.solution.meanings import MEANINGS

__all__ = ["SCHEMAS", "ref"]

NUMBER = {"type": "number"}
TEXT = {"type": "string"}
WHOLE = {"type": "integer"}
FLAG = {"type": "boolean"}
POSE = {"type": "array", "items": {"type": "array", "items": NUMBER}}
VECTOR = {"type": "array", "items": NUMBER, "description": "Three numbers along X, Y and Z"}


def ref(name: str) -> dict[str, str]:
    """A reference to one of the document's schemas."""
    return {"$ref": f"#/components/schemas/{name}"}


def _list(items: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": items}


def _or_null(kind: dict[str, Any]) -> dict[str, Any]:
    return {"type": [kind["type"], "null"]}


def _object(says: str, /, *optional: str, **members: dict[str, Any]) -> dict[str, Any]:
    return _below("", says, *optional, **members)


def _below(within: str, says: str, /, *optional: str, **members: dict[str, Any]) -> dict[str, Any]:
    """within: the member of an answer that it is, for the meanings of its own members."""
    return {
        "type": "object",
        "description": says,
        "properties": {n: _with_meaning(n, schema, within) for n, schema in members.items()},
        "required": [name for name in members if name not in optional],
    }


def _with_meaning(name: str, schema: dict[str, Any], within: str) -> dict[str, Any]:
    """A description on every property: its own, or what the answer's member means."""
    if "description" in schema:
        return schema
    return {**schema, "description": MEANINGS.get(f"{within}.{name}") or MEANINGS[name]}


_PASS = _object(
    "One pass: position of the cutter's right-hand face, and what the handwheel shows for it",
    travel_mm=NUMBER,
    turns=WHOLE,
    divisions=WHOLE,
)
_CUT = _below(
    "cuts",
    "One channel, from the touch-off corner",
    left_mm=NUMBER,
    right_mm=NUMBER,
    depth_mm=NUMBER,
    passes=_list(_PASS),
)
_AID = _object(
    "One way to set one axis; further members are sizes that the sentence names",
    aid=TEXT,
    axis={"enum": ["swivel", "tilt"]},
    says=TEXT,
    angle_deg=NUMBER,
    error_deg=NUMBER,
    u_deg=NUMBER,
    needed_deg=_or_null(NUMBER),
    reach_deg=NUMBER,
    enough=FLAG,
)
_CLOSING = _below(
    "closing",
    "Whether the joint will close, set by the scales",
    limit_mm=NUMBER,
    gap_95_mm=NUMBER,
    chance=NUMBER,
    swivel_needed_deg=_or_null(NUMBER),
    tilt_needed_deg=_or_null(NUMBER),
)
_HEIGHTS = _below(
    "cutter_height_mm",
    "Heights of the cutter above the datum, millimetres",
    datum=TEXT,
    trim=NUMBER,
    trim_steps=_list(NUMBER),
    cuts=_list(
        _below(
            "cutter_height_mm.cuts",
            "One depth",
            depth_mm=NUMBER,
            height=NUMBER,
            steps=_list(NUMBER),
        )
    ),
)
_SIDES = {"enum": ["face_side", "back", "face_edge", "back_edge"]}
_SETUP = _object(
    "One clamping: what to set, and the cuts made with it",
    against_plate=_SIDES,
    against_fence=_SIDES,
    exit_side=_or_null(TEXT),
    swivel_deg=NUMBER,
    tilt_deg=NUMBER,
    scale_swivel_deg=_or_null(NUMBER),
    scale_tilt_deg=_or_null(NUMBER),
    packing_deg=NUMBER,
    packing={"type": ["object", "null"]},
    closing=_CLOSING,
    trim_mm=NUMBER,
    overhang_mm=NUMBER,
    overhang_trimmed_mm=NUMBER,
    cutter=TEXT,
    kerf_mm=NUMBER,
    cutter_height_mm=_HEIGHTS,
    cuts=_list(_CUT),
    aids=_list(_AID),
    chosen_because=TEXT,
)
_PART = _object(
    "One part of the joint: its blank, what is laid out, and its clampings",
    part=TEXT,
    stock=_below(
        "stock",
        "The blank before trimming",
        width_mm=NUMBER,
        thickness_mm=NUMBER,
        length_mm=NUMBER,
        x_from={"enum": ["face_edge", "back_edge"]},
    ),
    layout=_list({"type": "object"}),
    setups=_list(_SETUP),
    marks=_list({"type": "object"}),
    verify=_list({"type": "object"}),
)
BAR = {**TEXT, "description": "The bar that it is cut into"}
_NOTCH = _object(
    "What one clamping cuts: channels along `across`, counted from the world's origin",
    name=TEXT,
    bar=BAR,
    end=_object(
        "The trimmed end's plane, normal · p = at_mm",
        normal=VECTOR,
        at_mm={**NUMBER, "description": "Its distance from the world's origin"},
    ),
    across=VECTOR,
    channels=_list(
        _object(
            "A channel; a bound that is null runs out of the wood",
            low_mm={**_or_null(NUMBER), "description": "Its lower bound"},
            high_mm={**_or_null(NUMBER), "description": "Its upper bound"},
            depth_mm={**NUMBER, "description": "How deep below the end's plane"},
            gap_mm={**NUMBER, "description": "Clearance wanted at its cheeks"},
        )
    )
    | {"description": "What is cut, from the lowest along `across`"},
)
_STANDS = {**POSE, "description": "4×4, row-major, world from the bar, millimetres"}
_ON = {**TEXT, "description": "The marked side that it is cut from"}
_BOX: dict[str, Any] = {"name": TEXT, "frame": _STANDS, "size_mm": VECTOR}
_CHECK = _object(
    "One check; margin is positive where there is room, whichever way the limit points",
    "setup",
    name=TEXT,
    part=TEXT,
    setup=WHOLE,
    value=NUMBER,
    limit=NUMBER,
    margin=NUMBER,
    unit=TEXT,
    status={"enum": ["pass", "caution", "fail", "not_stated"]},
    because=TEXT,
    remedies=_list({"type": "object"}),
)
_FIELD = _object(
    "One field at fault",
    "given",
    "allowed",
    "unit",
    field={**TEXT, "description": "Dotted path as the caller wrote it"},
    message={**TEXT, "description": "What is wrong with it"},
    given={**TEXT, "description": "What was given"},
    allowed={**TEXT, "description": "What is allowed there"},
    unit={**TEXT, "description": "Unit of what is allowed"},
)
_RANGE = {
    "type": {"description": "As in JSON Schema"},
    "enum": {**_list(TEXT), "description": "Choices, as in JSON Schema"},
    "minimum": {**NUMBER, "description": "As in JSON Schema"},
    "exclusiveMinimum": {**NUMBER, "description": "As in JSON Schema"},
    "maximum": {**NUMBER, "description": "As in JSON Schema"},
    "minLength": {**WHOLE, "description": "As in JSON Schema"},
    "maxLength": {**WHOLE, "description": "As in JSON Schema"},
    "default": {"description": "What holds where it is not given"},
    "x-unit": {**TEXT, "description": "mm, deg, in; none for counts and texts"},
}
_INCHES = {
    "type": "object",
    "description": "The other name of a length, in inches, with its own range as JSON Schema",
}
_PARAMETER = _object(
    "One parameter, as its field says, under the names of JSON Schema",
    *_RANGE,
    "inches",
    name={**TEXT, "description": "Its name in a question"},
    required={**FLAG, "description": "Whether it must be given"},
    description={**TEXT, "description": "What it is, in one sentence"},
    inches=_INCHES,
    **_RANGE,
)
_JOINT_TYPE = {
    "name": {**TEXT, "description": "Name of the joint type"},
    "summary": {**TEXT, "description": "What it is, in one sentence"},
    "parameters": _list(_PARAMETER) | {"description": "In the order of its fields"},
}
_EDITION = _or_null(TEXT) | {
    "description": f"{MEANINGS['edition']}; null for a fixture that came with the question"
}
_NAMES = {"joint_type": TEXT, "fixture": TEXT, "edition": _EDITION}

SCHEMAS: dict[str, dict[str, Any]] = {
    "problem": _object(
        "RFC 9457 problem details; of a plug-in's fault also whose it is and where",
        "errors",
        "joint_type",
        "piece_type",
        "distribution",
        "where",
        type={"const": "about:blank", "description": "The status says what kind of problem it is"},
        title={**TEXT, "description": "The status in words"},
        status={**WHOLE, "description": "The HTTP status"},
        detail={**TEXT, "description": "What is wrong, in one sentence"},
        errors=_list(_FIELD) | {"description": "One entry for each field at fault"},
        joint_type={**TEXT, "description": "The joint type that is at fault"},
        piece_type={**TEXT, "description": "In place of joint_type: the piece type at fault"},
        distribution={**TEXT, "description": "What its author distributes, and its version"},
        where={**TEXT, "description": "File and line of the plug-in"},
    ),
    "health": _object(
        "The service answers",
        status={"const": "ok", "description": "That it answers"},
        version={**TEXT, "description": "Version of jointgeo"},
    ),
    "readiness": _object(
        "The service wants questions",
        status={"const": "ready", "description": "That it wants them"},
        version={**TEXT, "description": "Version of jointgeo"},
    ),
    "joint_types": _object(
        "Joint types, and plug-ins that cannot be used",
        joint_types=_list(_object("A joint type", **_JOINT_TYPE))
        | {"description": "Those that can be used"},
        refused=_list(
            _object(
                "A plug-in that cannot be used",
                name={**TEXT, "description": "Its name"},
                distribution={**TEXT, "description": "What its author distributes"},
                version={**TEXT, "description": "Version of that"},
                reason={**TEXT, "description": "Why it cannot be used"},
            )
        )
        | {"description": "Those that cannot"},
    ),
    "joint_type": _object(
        "One joint type",
        **_JOINT_TYPE,
        examples=_list({"type": "object"}) | {"description": "Parameters of worked examples"},
    ),
    "fixtures": _object(
        "Every fixture that there is",
        fixtures=_list(
            _object(
                "A fixture: itself, or why it cannot be asked",
                "called",
                "title",
                "edition",
                "reason",
                name={**TEXT, "description": "What it is asked by"},
                called={**TEXT, "description": "The name in its file"},
                title={**TEXT, "description": "What it is, in one line"},
                edition=TEXT,
                reason={**TEXT, "description": "Why it cannot be asked"},
            )
        )
        | {"description": "Those that ship, single files, and those of the folder"},
    ),
    "paths": _object(
        "What can be asked of one joint",
        fixture=TEXT,
        edition=_EDITION,
        paths=_list(
            _object(
                "One path",
                path={**TEXT, "description": "Part, number of the clamping from 1, and quantity"},
                value={
                    "type": ["number", "string", "boolean", "null"],
                    "description": "What stands there",
                },
                meaning={**TEXT, "description": "What that is"},
            )
        )
        | {"description": "In the order of the answer"},
    ),
    "settings": _object(
        "What to set and cut, unrounded; enough to rebuild every cut",
        **_NAMES,
        parts=_list(_PART),
        drawing={**ref("drawing"), "description": "The joint as drawn"},
        assembly=_list(_object("A part in its place", part=TEXT, pose=POSE)),
        notes=_list(TEXT),
    ),
    "drawing": _object(
        "The joint as drawn, in its own world: what the settings must cut",
        bars=_list(_object("A bar, finished", name=TEXT, size_mm=VECTOR, pose=_STANDS))
        | {"description": "The bar that the joint is about first, then its mate"},
        notches=_list(_NOTCH) | {"description": "What is cut on the fixture"},
        pockets=_list(_object("Taken by other means", bar=BAR, side=_ON, **_BOX))
        | {"description": "What is cut by other means"},
        empty=_list(_object("Space left open on purpose", **_BOX))
        | {"description": "Space left open on purpose"},
        slides={
            "type": "object",
            "additionalProperties": VECTOR,
            "description": "By part, the way it is drawn out",
        },
    ),
    "feasibility": _object(
        "Every check; what cannot be done is an answer, not an error",
        **_NAMES,
        feasible={"type": "boolean"},
        status={"enum": ["pass", "caution", "fail"]},
        not_stated=WHOLE,
        checks=_list(_CHECK),
    ),
    "batch_answer": _object(
        "One answer for each item, in the same order",
        items=_list(
            _object(
                "200 with what was wanted, or another status with the item's own problem",
                "id",
                "settings",
                "feasibility",
                "problem",
                id={**TEXT, "description": "As the item had it"},
                status={**WHOLE, "description": "What the item would have alone"},
                settings={**ref("settings"), "description": "What to set and cut"},
                feasibility={**ref("feasibility"), "description": "Whether it is feasible"},
                problem={**ref("problem"), "description": "Why there is no answer"},
            )
        )
        | {"description": "In the order of the question"},
    ),
}
