"""The answers as JSON Schemas, for the API page and for those who make clients from it.

Documentation only: nothing is built or checked with these while the service runs, and
members beyond those named here may appear. The names are those of the JSON contract.
"""

from __future__ import annotations

from typing import Any

__all__ = ["SCHEMAS", "ref"]

NUMBER = {"type": "number"}
TEXT = {"type": "string"}
WHOLE = {"type": "integer"}
POSE = {
    "type": "array",
    "items": {"type": "array", "items": NUMBER},
    "description": "4×4, row-major, millimetres",
}
VECTOR = {"type": "array", "items": NUMBER, "description": "Three numbers along X, Y and Z"}


def ref(name: str) -> dict[str, str]:
    """A reference to one of the document's schemas."""
    return {"$ref": f"#/components/schemas/{name}"}


def _list(items: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": items}


def _object(description: str, *optional: str, **members: dict[str, Any]) -> dict[str, Any]:
    required = [name for name in members if name not in optional]
    return {
        "type": "object",
        "description": description,
        "properties": members,
        "required": required,
    }


_PASS = _object(
    "One pass: position of the cutter's right-hand face, and what the handwheel shows for it",
    travel_mm=NUMBER,
    turns=WHOLE,
    divisions=WHOLE,
)
_CUT = _object(
    "One channel, from the touch-off corner",
    left_mm=NUMBER,
    right_mm=NUMBER,
    depth_mm=NUMBER,
    passes=_list(_PASS),
)
_SETUP = _object(
    "One clamping: what to set, and the cuts made with it",
    against_plate={"enum": ["face_side", "back", "face_edge", "back_edge"]},
    swivel_deg={**NUMBER, "description": "Positive clockwise as you face the plate"},
    tilt_deg={**NUMBER, "description": "Positive when the cut end swings towards you"},
    packing_deg=NUMBER,
    trim_mm=NUMBER,
    overhang_mm=NUMBER,
    cutter=TEXT,
    kerf_mm=NUMBER,
    cuts=_list(_CUT),
)
_PART = _object(
    "One part of the joint: its blank, what is laid out, and its setups",
    part=TEXT,
    stock=_object(
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
_NOTCH = _object(
    "What one clamping cuts: channels along `across`, counted from the world's origin",
    name=TEXT,
    bar=TEXT,
    end=_object("The trimmed end's plane, normal · p = at_mm", normal=VECTOR, at_mm=NUMBER),
    across=VECTOR,
    channels=_list(
        _object(
            "A channel; a bound that is null runs out of the wood",
            low_mm={"type": ["number", "null"]},
            high_mm={"type": ["number", "null"]},
            depth_mm=NUMBER,
            gap_mm=NUMBER,
        )
    ),
)
_BOX: dict[str, Any] = {"name": TEXT, "frame": POSE, "size_mm": VECTOR}
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
    status={
        "enum": ["pass", "caution", "fail", "not_stated"],
        "description": "not_stated: the fixture file does not say; never a pass",
    },
    because=TEXT,
    remedies=_list({"type": "object"}),
)
_FIELD = _object(
    "One field at fault",
    "given",
    "allowed",
    "unit",
    field={**TEXT, "description": "Dotted path as the caller wrote it"},
    message=TEXT,
    given=TEXT,
    allowed=TEXT,
    unit=TEXT,
)
_PARAMETER = _object(
    "One parameter, as its field says",
    name=TEXT,
    kind={"enum": ["number", "integer", "choice", "flag", "text"]},
    unit=TEXT,
    help=TEXT,
    low={"type": ["number", "null"]},
    high={"type": ["number", "null"]},
    above={"type": "boolean", "description": "True: low itself is not allowed"},
    choices=_list(TEXT),
    required={"type": "boolean"},
    default={},
    inches_name={"type": ["string", "null"]},
)
_JOINT_TYPE = {"name": TEXT, "summary": TEXT, "parameters": _list(_PARAMETER)}

SCHEMAS: dict[str, dict[str, Any]] = {
    "problem": _object(
        "RFC 9457 problem details; of a plug-in's fault also whose it is and where",
        "errors",
        "joint_type",
        "distribution",
        "where",
        type=TEXT,
        title=TEXT,
        status=WHOLE,
        detail=TEXT,
        errors=_list(_FIELD),
        joint_type=TEXT,
        distribution=TEXT,
        where={**TEXT, "description": "File and line of the plug-in"},
    ),
    "health": _object("The service answers", status={"const": "ok"}, version=TEXT),
    "readiness": _object("The service wants questions", status={"const": "ready"}, version=TEXT),
    "joint_types": _object(
        "Joint types, and plug-ins that cannot be used",
        joint_types=_list(_object("A joint type", **_JOINT_TYPE)),
        refused=_list(
            _object(
                "A plug-in that cannot be used",
                name=TEXT,
                distribution=TEXT,
                version=TEXT,
                reason=TEXT,
            )
        ),
    ),
    "joint_type": _object(
        "One joint type",
        **_JOINT_TYPE,
        examples=_list({"type": "object", "description": "Parameters of a worked example"}),
    ),
    "fixtures": _object(
        "Registered fixtures", fixtures=_list(_object("A fixture", name=TEXT, title=TEXT))
    ),
    "settings": _object(
        "What to set and cut, unrounded; enough to rebuild every cut",
        joint_type=TEXT,
        fixture=TEXT,
        parts=_list(_PART),
        drawing=ref("drawing"),
        assembly=_list(_object("A part in its place", part=TEXT, pose=POSE)),
        notes=_list(TEXT),
    ),
    "drawing": _object(
        "The joint as drawn, in its own world: what the settings must cut",
        bars=_list(_object("A bar, finished", name=TEXT, size_mm=VECTOR, pose=POSE)),
        notches=_list(_NOTCH),
        pockets=_list(_object("Taken by other means", bar=TEXT, side=TEXT, **_BOX)),
        empty=_list(_object("Space left open on purpose", **_BOX)),
        slides={"type": "object", "additionalProperties": VECTOR},
    ),
    "feasibility": _object(
        "Every check; what cannot be done is an answer, not an error",
        joint_type=TEXT,
        fixture=TEXT,
        feasible={"type": "boolean"},
        status={"enum": ["pass", "caution", "fail"]},
        not_stated={
            **WHOLE,
            "description": "Questions the fixture file does not answer, each counted once",
        },
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
                id=TEXT,
                status=WHOLE,
                settings=ref("settings"),
                feasibility=ref("feasibility"),
                problem=ref("problem"),
            )
        ),
    ),
}
