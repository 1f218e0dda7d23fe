"""The answers about pieces and changed fixtures as JSON Schemas, for the API page.

Documentation only, as ``answers``: nothing is built or checked with these while the service runs.
Every member has a description.
"""

from __future__ import annotations

from typing import Any

from jointgeo_service.answers import ref

__all__ = ["PIECE_SCHEMAS", "answer_schema"]

Schema = dict[str, Any]


def _said(kind: Schema, says: str) -> Schema:
    return {**kind, "description": says}


def _number(says: str) -> Schema:
    return _said({"type": "number"}, says)


def _maybe(says: str) -> Schema:
    return _said({"type": ["number", "null"]}, says)


def _whole(says: str) -> Schema:
    return _said({"type": "integer"}, says)


def _text(says: str) -> Schema:
    return _said({"type": "string"}, says)


def _flag(says: str) -> Schema:
    return _said({"type": "boolean"}, says)


def _free(says: str) -> Schema:
    return _said({"type": "object"}, says)


def _list(says: str, items: Schema) -> Schema:
    return _said({"type": "array", "items": items}, says)


def _names(says: str) -> Schema:
    return _list(says, {"type": "string"})


def _numbers(says: str) -> Schema:
    return _list(says, {"type": "number"})


def _pose(says: str) -> Schema:
    return _list(f"{says}: 4×4, row-major, mm", {"type": "array", "items": {"type": "number"}})


def _object(says: str, /, *optional: str, **members: Schema) -> Schema:
    return {
        "type": "object",
        "description": says,
        "properties": members,
        "required": [name for name in members if name not in optional],
    }


def _either(*choices: str, says: str) -> Schema:
    return _said({"enum": list(choices)}, says)


_EDITION = "First signs of the digest of the fixture's file; null where there is none"
_FIXTURE = {
    "fixture": _text("Name of the fixture, as it was asked by"),
    "edition": _said({"type": ["string", "null"]}, _EDITION),
}
_HEAD = {"title": _text("What is made"), **_FIXTURE}
_EDITIONS = _list("The edition of each fixture, in the order asked", {"type": ["string", "null"]})
_STATUS = _either("pass", "caution", "fail", says="The worst of all checks")
_CHECK_LIST = _list(
    "Every check: name, part (a bar or a joint of the piece), clamping where it is one's, value, "
    "limit, margin (positive where there is room), unit, status, because, remedies",
    {"type": "object"},
)
_FEASIBLE = {
    "feasible": _flag("Whether no check fails"),
    "status": _STATUS,
    "not_stated": _whole("Questions that the fixture file does not answer, each counted once"),
    "checks": _CHECK_LIST,
}
_END = _object(
    "One end in its own stock frame: X across the width from the edge that stock.x_from names, Y "
    "from the face side down, Z from the blank's square end into the bar",
    part=_text("The bar"),
    stock=_free("The blank: width_mm, thickness_mm, length_mm, and the edge where X is 0, x_from"),
    layout=_list(
        "Mortises and housings as boxes: name, frame (4×4), size_mm, side, marks; all on the near "
        "end",
        {"type": "object"},
    ),
    setups=_list("Its clampings, as in the settings of a joint", {"type": "object"}),
    marks=_list("Lines struck round it", {"type": "object"}),
    verify=_list("What to measure once it is cut", {"type": "object"}),
)
_MARK = _object(
    "A mortise or a housing to strike",
    joint=_text("The joint that it is for"),
    what=_text("What it is"),
    side=_text("The marked side that it is cut into"),
    gauged_from=_text("The marked side beside it that it is gauged from"),
    points=_list(
        "Its two ends, each: along_mm on the arris from the finished near end, datum_mm from the "
        "near length datum square to the grain, gauge_mm from the marked side",
        {"type": "object"},
    ),
    size_mm=_numbers("Length, width and depth"),
)
_MARKS = {
    "bar": _text("Name of the bar"),
    "marks": _list("What is struck on it, from its near end on", _MARK),
    "planed": _list("Edges that are planed after assembly", {"type": "object"}),
}
_BAR = _object(
    "A bar: enough to cut it and to stand it in the room",
    pose=_pose("Room from blank, z = 0 at the blank's square near end; the near end's frame"),
    near=_END,
    far=_said(_END, "The far end, in the near one's frame turned end for end about the thickness"),
    **_MARKS,
)
_JOINT = _object(
    "A joint where it stands",
    joint=_text("Its name in the piece"),
    joint_type=_text("Its type"),
    hand=_text("as_drawn or mirrored"),
    parameters=_free("Every parameter of its type, as the bars make it"),
    cut=_free("The bar and end that are cut for it, and what the drawing calls that bar"),
    mate=_free("The bar it comes to, the side, the end at a corner, and the drawing's name"),
    pose=_pose("Room from the drawing's world"),
    drawing=ref("drawing"),
)
_MEMBER = _object(
    "Bars that are the same piece of wood, or its mirror image",
    name=_text("What their names have in common"),
    bars=_names("Their names"),
    count=_whole("How many"),
    mirrored=_whole("How many of them are mirror images; 0 where the piece has no hand"),
    width_mm=_number("Width of the section"),
    thickness_mm=_number("Thickness of the section"),
    length_mm=_number("Finished, on the line that length_on names, datum to datum"),
    blank_mm=_number("Length of the blank, square at both ends"),
    long_edges_mm=_numbers("Its four long edges between the end planes"),
    shape=_either("straight", "parallelogram", "trapezoid", says="Of the side that shows it most"),
    length_on=_text("The line that length_mm is measured on"),
)
_CUT_LIST = {
    "members": _list("The cut list", _MEMBER),
    "totals": _list(
        "Wood of each section: width_mm, thickness_mm, pieces, length_mm, litres",
        {"type": "object"},
    ),
    "measured_mm": _said(
        {"type": "object", "additionalProperties": {"type": "number"}},
        "What a tape shows on the finished piece, mm, by what it is laid on",
    ),
}
_SETTINGS = _list(
    "Each operation once, in the order to cut them; `for` in a clamping names members, ends and "
    "hands",
    _said(_END, "The first of the ends that are cut so"),
)
_GAP = "opening_mm across the faces that should meet, offset_mm along them, turn_deg"
_FRAME = _object(
    "A closed frame of bars, glued one joint after the other",
    bars=_names("The bars round it"),
    last_joint=_text("The joint that is closed last"),
    common=_free(f"The last gap by errors that all operations share: {_GAP}"),
    random=_free(f"By those of setting each anew: {_GAP}"),
    total=_free(f"By both: {_GAP}"),
    all_longer_by_1_mm=_number("How far its last joint is apart if every bar is 1 mm too long"),
    one_longer_by_1_mm=_number("The same if any single one is"),
)
_GIVING = _object(
    "What one joint must give if the whole piece is drawn up at once",
    joint=_text("Its name in the piece"),
    name=_text("Its two bars"),
    common_deg=_number("By errors that all operations share, expanded"),
    random_deg=_number("By those of setting each anew, expanded"),
    total_deg=_number("By both, expanded"),
    opening_mm=_number("What that opens over its shoulder"),
    limit_mm=_number("The glue line that is allowed"),
    closes=_flag("Whether the opening is within the limit"),
)
_CLOSING = {
    "coverage_factor": _number("k of the expanded uncertainties"),
    "closes": _flag("Whether every joint closes when all is drawn up at once"),
    "frames": _list("Closed frames", _FRAME),
    "drawn_up": _list("Every joint of a closed frame", _GIVING),
    "turn_over": _said(
        {"type": ["object", "null"]}, "Members to clamp the other way round, where that spares much"
    ),
}
_STEP = _object(
    "Joints that are closed at one stroke",
    joints=_names("They, by their bars"),
    still=_names("Bars that stay where they are"),
    moves=_list(
        "Bars that move together, the unit vector of their way in the room as they are put "
        "together, and how far they go while the least goes 1 mm",
        {"type": "object"},
    ),
    play_mm=_number("Clearance that a joint needs for it; 0 where it closes without"),
)
_ASSEMBLY = {
    "possible": _flag("Whether it can be put together at all"),
    "most_at_once": _said({"type": ["integer", "null"]}, "Most joints at one stroke, without play"),
    "most_at_once_with_fit": _said({"type": ["integer", "null"]}, "The same with the joints' fit"),
    "steps": _list("In the order of putting together", _STEP),
}
_FORMS: dict[str, tuple[str, dict[str, Schema]]] = {
    "answer": (
        "Everything but closing and assembly; bars and joints are enough to rebuild the piece",
        {
            "bars": _list("Every bar", _BAR),
            "joints": _list("Every joint", _JOINT),
            **_CUT_LIST,
            "settings": _SETTINGS,
            **_FEASIBLE,
        },
    ),
    "cut-list": ("The cut list, the wood it takes, and what a tape must show", _CUT_LIST),
    "settings": ("What to set and cut", {"settings": _SETTINGS}),
    "feasibility": ("Every check; what cannot be done is an answer, not an error", _FEASIBLE),
    "marks": (
        "Where to strike mortises and housings on every bar",
        {"bars": _list("Every bar", _object("A bar", **_MARKS))},
    ),
    "closing": ("Whether it closes, by the uncertainty of its settings", _CLOSING),
    "assembly": ("How it is put together, the fewest joints at one stroke", _ASSEMBLY),
}
_TYPE = {
    "name": _text("Its name"),
    "summary": _text("One sentence"),
    "parameters": _list(
        "Its parameters, each as its field says: name, range, unit, default, description",
        {"type": "object"},
    ),
}
_MARGIN = _object(
    "The room that one check leaves in one clamping; positive is room",
    setup=_text("Which end and clamping"),
    check=_text("Name of the check"),
    unit=_text("Its unit, of both margins"),
    before=_maybe("On the fixture as it is; null where it is not asked there"),
    after=_maybe("On the changed one"),
    worse=_flag("Whether less is left than before"),
)
_OPTION = _object(
    "Changes that together are enough",
    says=_text("They in words"),
    price=_number("What they cost, in the units of the prices"),
    changes=_list(
        "Each: change, target, amount_mm or amount_deg or made, found (exact, halved or tried), "
        "says",
        {"type": "object"},
    ),
    to_do_again=_text("What has to be done again afterwards"),
    margins=_list("Of every clamping", _MARGIN),
)
_CELL = _object(
    "One work on one fixture",
    work=_text("The work"),
    fixture=_text("The fixture"),
    verdict=_STATUS,
    fails=_names("Checks that fail"),
    least=_said(
        {"type": "object", "additionalProperties": {"type": "number"}},
        "Of each check the least margin of all setups",
    ),
    units=_said(
        {"type": "object", "additionalProperties": {"type": "string"}},
        "Of each of these checks the unit of its margin",
    ),
    setups=_whole("How many setups"),
    not_stated=_whole("Questions that the fixture file does not answer"),
)
_PART = _object(
    "A part of the fixture; u to the right and v up as seen_from says, millimetres",
    kind=_text("Its name among the parts"),
    title=_text("What it is"),
    seen_from=_text("Which way a person looks at the drawing"),
    axes=_names("What u and v are in the machine frame at zero"),
    status=_STATUS,
    not_stated=_whole("Questions that the fixture file does not answer"),
    figures=_list(
        "Dimensions: name, value, unit, source (from the fixture file, asked, assumed, worked "
        "out), because",
        {"type": "object"},
    ),
    measure_before_cutting=_text("The figure to measure before cutting; empty for none"),
    checks=_list("Its checks", {"type": "object"}),
    shapes=_list("Outlines, slots and holes, each on a layer", {"type": "object"}),
    notes=_list("Words beside a point", {"type": "object"}),
    spans=_list("Dimensions between two points", {"type": "object"}),
    steps=_names("What to do, in order"),
    cautions=_names("What can hurt, or spoil the fixture"),
)

PIECE_SCHEMAS: dict[str, Schema] = {
    "piece_types": _object(
        "Piece types, and plug-ins that cannot be used",
        piece_types=_list("Those that can", _object("A piece type", **_TYPE)),
        refused=_list("Those that cannot: name, distribution, version, reason", {"type": "object"}),
    ),
    "piece_type": _object(
        "One piece type",
        **_TYPE,
        examples=_list("Parameters of its worked examples", {"type": "object"}),
    ),
    "piece_batch_answer": _object(
        "One answer for each item, in the same order",
        items=_list(
            "The answers",
            _object(
                "200 with the part that was wanted, or another status with the item's own problem",
                "id",
                "answer",
                "problem",
                id=_text("Your own name for the item"),
                status=_whole("The status that the same question would have alone"),
                answer=_free("What was wanted, as the URL of the same name answers"),
                problem={**ref("problem"), "description": "Why there is no answer"},
            ),
        ),
    ),
    "fixture_changes": _object(
        "What of the fixture to change, the cheapest first",
        **_FIXTURE,
        room_mm=_number("Room wanted beside all that swings"),
        feasible_now=_flag("Whether nothing falls short as it is"),
        feasible_after=_flag("Whether all is feasible with the first option made, or as it is"),
        falls_short=_names("Checks that do"),
        wedge_pairs=_names("Wedges that stand in for what an axis lacks, and rebuild nothing"),
        options=_list("What is enough; empty where nothing that is allowed is", _OPTION),
        not_stated_now=_names("Checks that the fixture's file does not say enough for"),
        no_change_acts_on=_names("Checks that no allowed change acts on"),
        no_fixture_cures=_list("Checks that fail whatever the fixture", {"type": "object"}),
        if_a_bound_were_lifted=_list("What would be enough then", _OPTION),
        trade_offs=_list(
            "Two changes: how much of the second each amount of the first asks for",
            {"type": "object"},
        ),
        plans_tried=_whole("How many plans were looked at"),
        most_plans=_whole("How many might have been"),
        whole=_flag("False where the search was cut short: a cheaper way may exist"),
    ),
    "fixture_comparison": _object(
        "The same works on several fixtures",
        editions=_EDITIONS,
        cells=_list("Work by work, each on every fixture", _CELL),
        envelope=_list(
            "For each thickness the greatest tilt on each fixture before the beam is met, degrees; "
            "null where the whole range is free, or where stated is false: the fixture's file does "
            "not say what beams it has",
            {"type": "object"},
        ),
    ),
    "fixture_gains": _object(
        "What a changed fixture makes possible, and what it spoils",
        editions=_EDITIONS,
        before=_text("The fixture before"),
        after=_text("The fixture after"),
        changed_from=_said({"type": ["string", "null"]}, "What the latter says it was made from"),
        changed_why=_said({"type": ["string", "null"]}, "And why"),
        works=_list(
            "Each work",
            _object(
                "A work on both",
                work=_text("The work"),
                change=_either("gained", "lost", "same", says="What the change does to it"),
                before=_CELL,
                after=_CELL,
            ),
        ),
    ),
    "fixture_parts": _object(
        "Parts of a fixture, worked out from its file",
        **_FIXTURE,
        parts=_list("The parts", _PART),
        left_out=_free("Why a part is not here, by its name"),
    ),
}


def answer_schema(want: str) -> str:
    """Name of the schema of one part of a piece's answer."""
    return f"piece_{want.replace('-', '_')}"


for _want, (_says, _members) in _FORMS.items():
    PIECE_SCHEMAS[answer_schema(_want)] = _object(_says, **_HEAD, **_members)
