"""The answers about pieces and changed fixtures as JSON Schemas, for the API page.

Documentation only, as ``answers``: nothing is built or checked with these while the service runs.
Every member has a description.
"""

from __future__ import annotations

from jointgeo_service.answers import ref
from jointgeo_service.said_schemas import (
    Schema,
    array,
    either,
    flag,
    free,
    maybe,
    members,
    names,
    number,
    numbers,
    pose,
    said,
    text,
    whole,
)

__all__ = ["PIECE_SCHEMAS", "answer_schema"]

_EDITION = "First signs of the digest of the fixture's file; null where there is none"
_FIXTURE = {
    "fixture": text("Name of the fixture, as it was asked by"),
    "edition": said({"type": ["string", "null"]}, _EDITION),
}
_HEAD = {"title": text("What is made"), **_FIXTURE}
_EDITIONS = array("The edition of each fixture, in the order asked", {"type": ["string", "null"]})
_STATUS = either("pass", "caution", "fail", says="The worst of all checks")
_CHECK_LIST = array(
    "Every check: name, part (a bar or a joint of the piece), clamping where it is one's, value, "
    "limit, margin (positive where there is room), unit, status, because, remedies",
    {"type": "object"},
)
_FEASIBLE = {
    "feasible": flag("Whether no check fails"),
    "status": _STATUS,
    "not_stated": whole("Questions that the fixture file does not answer, each counted once"),
    "checks": _CHECK_LIST,
}
_END = members(
    "One end in its own stock frame: X across the width from the edge that stock.x_from names, Y "
    "from the face side down, Z from the blank's square end into the bar",
    part=text("The bar"),
    stock=free("The blank: width_mm, thickness_mm, length_mm, and the edge where X is 0, x_from"),
    layout=array(
        "Mortises and housings as boxes: name, frame (4×4), size_mm, side, marks; all on the near "
        "end",
        {"type": "object"},
    ),
    setups=array("Its clampings, as in the settings of a joint", {"type": "object"}),
    marks=array("Lines struck round it", {"type": "object"}),
    verify=array("What to measure once it is cut", {"type": "object"}),
)
_MARK = members(
    "A mortise or a housing to strike",
    joint=text("The joint that it is for"),
    what=text("What it is"),
    side=text("The marked side that it is cut into"),
    gauged_from=text("The marked side beside it that it is gauged from"),
    points=array(
        "Its two ends, each: along_mm on the arris from the finished near end, datum_mm from the "
        "near length datum square to the grain, gauge_mm from the marked side",
        {"type": "object"},
    ),
    size_mm=numbers("Length, width and depth"),
)
_MARKS = {
    "bar": text("Name of the bar"),
    "marks": array("What is struck on it, from its near end on", _MARK),
    "planed": array("Edges that are planed after assembly", {"type": "object"}),
}
_BAR = members(
    "A bar: enough to cut it and to stand it in the room",
    pose=pose("Room from blank, z = 0 at the blank's square near end; the near end's frame"),
    near=_END,
    far=said(_END, "The far end, in the near one's frame turned end for end about the thickness"),
    **_MARKS,
)
_JOINT = members(
    "A joint where it stands",
    joint=text("Its name in the piece"),
    joint_type=text("Its type"),
    hand=text("as_drawn or mirrored"),
    parameters=free("Every parameter of its type, as the bars make it"),
    cut=free("The bar and end that are cut for it, and what the drawing calls that bar"),
    mate=free("The bar it comes to, the side, the end at a corner, and the drawing's name"),
    pose=pose("Room from the drawing's world"),
    drawing=ref("drawing"),
)
_MEMBER = members(
    "Bars that are the same piece of wood, or its mirror image",
    name=text("What their names have in common"),
    bars=names("Their names"),
    count=whole("How many"),
    mirrored=whole("How many of them are mirror images; 0 where the piece has no hand"),
    width_mm=number("Width of the section"),
    thickness_mm=number("Thickness of the section"),
    length_mm=number("Finished, on the line that length_on names, datum to datum"),
    blank_mm=number("Length of the blank, square at both ends"),
    long_edges_mm=numbers("Its four long edges between the end planes"),
    shape=either("straight", "parallelogram", "trapezoid", says="Of the side that shows it most"),
    length_on=text("The line that length_mm is measured on"),
)
_CUT_LIST = {
    "members": array("The cut list", _MEMBER),
    "totals": array(
        "Wood of each section: width_mm, thickness_mm, pieces, length_mm, litres",
        {"type": "object"},
    ),
    "measured_mm": said(
        {"type": "object", "additionalProperties": {"type": "number"}},
        "What a tape shows on the finished piece, mm, by what it is laid on",
    ),
}
_SETTINGS = array(
    "Each operation once, in the order to cut them; `for` in a clamping names members, ends and "
    "hands",
    said(_END, "The first of the ends that are cut so"),
)
_GAP = "opening_mm across the faces that should meet, offset_mm along them, turn_deg"
_FRAME = members(
    "A closed frame of bars, glued one joint after the other",
    bars=names("The bars round it"),
    last_joint=text("The joint that is closed last"),
    common=free(f"The last gap by errors that all operations share: {_GAP}"),
    random=free(f"By those of setting each anew: {_GAP}"),
    total=free(f"By both: {_GAP}"),
    all_longer_by_1_mm=number("How far its last joint is apart if every bar is 1 mm too long"),
    one_longer_by_1_mm=number("The same if any single one is"),
)
_GIVING = members(
    "What one joint must give if the whole piece is drawn up at once",
    joint=text("Its name in the piece"),
    name=text("Its two bars"),
    common_deg=number("By errors that all operations share, expanded"),
    random_deg=number("By those of setting each anew, expanded"),
    total_deg=number("By both, expanded"),
    opening_mm=number("What that opens over its shoulder"),
    limit_mm=number("The glue line that is allowed"),
    closes=flag("Whether the opening is within the limit"),
)
_CLOSING = {
    "coverage_factor": number("k of the expanded uncertainties"),
    "closes": flag("Whether every joint closes when all is drawn up at once"),
    "frames": array("Closed frames", _FRAME),
    "drawn_up": array("Every joint of a closed frame", _GIVING),
    "turn_over": said(
        {"type": ["object", "null"]}, "Members to clamp the other way round, where that spares much"
    ),
}
_STEP = members(
    "Joints that are closed at one stroke",
    joints=names("They, by their bars"),
    still=names("Bars that stay where they are"),
    moves=array(
        "Bars that move together, the unit vector of their way in the room as they are put "
        "together, and how far they go while the least goes 1 mm",
        {"type": "object"},
    ),
    play_mm=number("Clearance that a joint needs for it; 0 where it closes without"),
)
_ASSEMBLY = {
    "possible": flag("Whether it can be put together at all"),
    "most_at_once": said({"type": ["integer", "null"]}, "Most joints at one stroke, without play"),
    "most_at_once_with_fit": said({"type": ["integer", "null"]}, "The same with the joints' fit"),
    "steps": array("In the order of putting together", _STEP),
}
_FORMS: dict[str, tuple[str, dict[str, Schema]]] = {
    "answer": (
        "Everything but closing and assembly; bars and joints are enough to rebuild the piece",
        {
            "bars": array("Every bar", _BAR),
            "joints": array("Every joint", _JOINT),
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
        {"bars": array("Every bar", members("A bar", **_MARKS))},
    ),
    "closing": ("Whether it closes, by the uncertainty of its settings", _CLOSING),
    "assembly": ("How it is put together, the fewest joints at one stroke", _ASSEMBLY),
}
_TYPE = {
    "name": text("Its name"),
    "summary": text("One sentence"),
    "parameters": array(
        "Its parameters, each as its field says: name, range, unit, default, description",
        {"type": "object"},
    ),
}
_MARGIN = members(
    "The room that one check leaves in one clamping; positive is room",
    setup=text("Which end and clamping"),
    check=text("Name of the check"),
    unit=text("Its unit, of both margins"),
    before=maybe("On the fixture as it is; null where it is not asked there"),
    after=maybe("On the changed one"),
    worse=flag("Whether less is left than before"),
)
_OPTION = members(
    "Changes that together are enough",
    says=text("They in words"),
    price=number("What they cost, in the units of the prices"),
    changes=array(
        "Each: change, target, amount_mm or amount_deg or made, found (exact, halved or tried), "
        "says",
        {"type": "object"},
    ),
    to_do_again=text("What has to be done again afterwards"),
    margins=array("Of every clamping", _MARGIN),
)
_CELL = members(
    "One work on one fixture",
    work=text("The work"),
    fixture=text("The fixture"),
    verdict=_STATUS,
    fails=names("Checks that fail"),
    least=said(
        {"type": "object", "additionalProperties": {"type": "number"}},
        "Of each check the least margin of all setups",
    ),
    units=said(
        {"type": "object", "additionalProperties": {"type": "string"}},
        "Of each of these checks the unit of its margin",
    ),
    setups=whole("How many setups"),
    not_stated=whole("Questions that the fixture file does not answer"),
)
_PART = members(
    "A part of the fixture; u to the right and v up as seen_from says, millimetres",
    kind=text("Its name among the parts"),
    title=text("What it is"),
    seen_from=text("Which way a person looks at the drawing"),
    axes=names("What u and v are in the machine frame at zero"),
    status=_STATUS,
    not_stated=whole("Questions that the fixture file does not answer"),
    figures=array(
        "Dimensions: name, value, unit, source (from the fixture file, asked, assumed, worked "
        "out), because",
        {"type": "object"},
    ),
    measure_before_cutting=text("The figure to measure before cutting; empty for none"),
    checks=array("Its checks", {"type": "object"}),
    shapes=array("Outlines, slots and holes, each on a layer", {"type": "object"}),
    notes=array("Words beside a point", {"type": "object"}),
    spans=array("Dimensions between two points", {"type": "object"}),
    steps=names("What to do, in order"),
    cautions=names("What can hurt, or spoil the fixture"),
)

PIECE_SCHEMAS: dict[str, Schema] = {
    "piece_types": members(
        "Piece types, and plug-ins that cannot be used",
        piece_types=array("Those that can", members("A piece type", **_TYPE)),
        refused=array("Those that cannot: name, distribution, version, reason", {"type": "object"}),
    ),
    "piece_type": members(
        "One piece type",
        **_TYPE,
        examples=array("Parameters of its worked examples", {"type": "object"}),
    ),
    "piece_batch_answer": members(
        "One answer for each item, in the same order",
        items=array(
            "The answers",
            members(
                "200 with the part that was wanted, or another status with the item's own problem",
                "id",
                "answer",
                "problem",
                id=text("Your own name for the item"),
                status=whole("The status that the same question would have alone"),
                answer=free("What was wanted, as the URL of the same name answers"),
                problem={**ref("problem"), "description": "Why there is no answer"},
            ),
        ),
    ),
    "fixture_changes": members(
        "What of the fixture to change, the cheapest first",
        **_FIXTURE,
        room_mm=number("Room wanted beside all that swings"),
        feasible_now=flag("Whether nothing falls short as it is"),
        feasible_after=flag("Whether all is feasible with the first option made, or as it is"),
        falls_short=names("Checks that do"),
        wedge_pairs=names("Wedges that stand in for what an axis lacks, and rebuild nothing"),
        options=array("What is enough; empty where nothing that is allowed is", _OPTION),
        not_stated_now=names("Checks that the fixture's file does not say enough for"),
        no_change_acts_on=names("Checks that no allowed change acts on"),
        no_fixture_cures=array("Checks that fail whatever the fixture", {"type": "object"}),
        if_a_bound_were_lifted=array("What would be enough then", _OPTION),
        trade_offs=array(
            "Two changes: how much of the second each amount of the first asks for",
            {"type": "object"},
        ),
        plans_tried=whole("How many plans were looked at"),
        most_plans=whole("How many might have been"),
        whole=flag("False where the search was cut short: a cheaper way may exist"),
    ),
    "fixture_comparison": members(
        "The same works on several fixtures",
        editions=_EDITIONS,
        cells=array("Work by work, each on every fixture", _CELL),
        envelope=array(
            "For each thickness the greatest tilt on each fixture before the beam is met, degrees; "
            "null where the whole range is free, or where stated is false: the fixture's file does "
            "not say what beams it has",
            {"type": "object"},
        ),
    ),
    "fixture_gains": members(
        "What a changed fixture makes possible, and what it spoils",
        editions=_EDITIONS,
        before=text("The fixture before"),
        after=text("The fixture after"),
        changed_from=said({"type": ["string", "null"]}, "What the latter says it was made from"),
        changed_why=said({"type": ["string", "null"]}, "And why"),
        works=array(
            "Each work",
            members(
                "A work on both",
                work=text("The work"),
                change=either("gained", "lost", "same", says="What the change does to it"),
                before=_CELL,
                after=_CELL,
            ),
        ),
    ),
    "fixture_parts": members(
        "Parts of a fixture, worked out from its file",
        **_FIXTURE,
        parts=array("The parts", _PART),
        left_out=free("Why a part is not here, by its name"),
    ),
}


def answer_schema(want: str) -> str:
    """Name of the schema of one part of a piece's answer."""
    return f"piece_{want.replace('-', '_')}"


for _want, (_says, _members) in _FORMS.items():
    PIECE_SCHEMAS[answer_schema(_want)] = members(_says, **_HEAD, **_members)
