"""A solved job as plain text, to read at the bench.

Knows job answers and units; computes nothing but rounding. Millimetres to 0.01,
degrees to 0.001 with minutes beside them; inches to the nearest sixty-fourth when asked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import inf
from typing import Any, Protocol

import attrs

from jointgeo.checks.accuracy import closing_words, contradictions
from jointgeo.fixtures.file import fixture_words
from jointgeo.jobs.solve import JobAnswer
from jointgeo.joints.check import VERDICT_WORDS, Check, Remedy, Verdict, questions, worst_failing
from jointgeo.joints.sides import in_words
from jointgeo.planning.end_plan import LINE_WORDS
from jointgeo.planning.passes import sweep
from jointgeo.schema.units import (
    DECIMALS,
    decimals_apart,
    degrees_minutes,
    fixed,
    nearest_fraction,
)
from jointgeo.solution.end import EndSolution
from jointgeo.solution.serialise import end_settings
from jointgeo.solution.setup import Setup

__all__ = ["CAUTIONS", "job_text", "summary", "trimming"]

CAUTIONS = (
    "Isolate the power before you set anything. Clamp stock and backing.",
    "No hands within reach of the cutter. Make one pass over the whole travel with the cutter "
    "stopped before the first cut, and cut a test piece first.",
    "These are numbers, not a judgement of your machine: follow its manual, your local rules "
    "(for instance OSHA 29 CFR 1910.213, HSE L114, EN 847-1 or -2 for the tools) and qualified "
    "advice.",
)
#: Said once, above the settings.
READING = (
    "Each operation in the order it is printed: set both axes, clamp (sides, packing, overhang), "
    "trim, touch off, cut. Left, right and clockwise are as you face the plate; the overhang is "
    "measured along the plate to the lowest corner.",
    "Touch off: with the cutter stopped, bring its right-hand face from the left until it just "
    "meets the named corner of the trimmed end, and set the handwheel to 0 there.",
    "A pass is how far to the right of that corner (minus: left of it) the cutter's right-hand "
    "face then stands. Turn the handwheel from 0 the way that brings the cutter further right on "
    "the stock. Come to every pass from the left, so that the backlash stays on one side; where "
    "you went too far, go back a whole turn and come again.",
)

#: What a length must come to for its two decimals to show it.
LEAST_MM = 0.005


@attrs.frozen
class _Writer:
    """names: of the checks that passed, too. told: remedies of this job that stand above."""

    inches: bool
    names: bool = False
    told: set[str] = attrs.field(factory=set)

    def mm(self, value: float, decimals: int = DECIMALS["mm"]) -> str:
        text = f"{fixed(value, decimals)} mm"
        return f"{text} ({nearest_fraction(value)})" if self.inches else text

    def amount(self, value: float, unit: str, decimals: int | None = None) -> str:
        """decimals: None as many as the unit has by rule."""
        digits = DECIMALS.get(unit, 1) if decimals is None else decimals
        if unit == "mm":
            return self.mm(value, digits)
        return f"{fixed(value, digits)}°" if unit == "deg" else f"{fixed(value, digits)} {unit}"

    def figures(self, check: Check) -> tuple[str, str, str]:
        """Value, limit and margin of a check, with digits that tell value and limit apart."""
        digits = decimals_apart(check.value, check.limit, DECIMALS.get(check.unit, 1))
        value, limit, margin = (
            self.amount(v, check.unit, digits) for v in (check.value, check.limit, check.margin)
        )
        return value, limit, margin


def job_text(
    answer: JobAnswer, *, inches: bool = False, checks: bool = False, reading: bool = True
) -> str:
    """The whole job: each operation once, cuts in cutting order, then what is not feasible and why.

    checks: the names of those that passed, and not their number alone. reading: how to read it,
    which a run over several jobs says once.
    """
    write = _Writer(inches, checks)
    lines = [answer.job.title, "=" * len(answer.job.title)]
    fixture, source = answer.job.fixture, answer.job.fixture_source
    lines.append(f"fixture: {fixture_words(fixture, source)}, {fixture.title}")
    lines.append(f"verdict: {VERDICT_WORDS[answer.status]}{questions(answer.not_stated)}")
    lines += [f"DO NOT CUT YET: {because}" for because in contradictions(answer.checks)]
    if answer.ends and reading:
        lines += ["", *READING]
    short = _short(answer)
    for number, end in enumerate(answer.ends, 1):
        lines += ["", *_do_not_cut(write, answer, end, short), *_end(write, number, end)]
    for joint in answer.joints:
        lines += ["", *_warning(write, f"'{joint.name}'", None, short.get(joint.name, ()))]
        lines += [*_joint(write, joint.name, joint.solution.settings_dict(), joint.checks)]
    return "\n".join(lines)


class Summed(Protocol):
    """A job or a piece with its verdict."""

    @property
    def title(self) -> str: ...
    @property
    def status(self) -> Verdict: ...
    @property
    def not_stated(self) -> int: ...
    @property
    def checks(self) -> tuple[Check, ...]: ...


def summary(answers: Sequence[Summed], *, inches: bool = False) -> str:
    """Jobs and pieces in a short table: each with its verdict, and the worst check that fails."""
    write = _Writer(inches)
    wide = max(len(a.title) for a in answers)
    lines = ["All jobs", "--------"]
    for answer in answers:
        told = VERDICT_WORDS[answer.status] + questions(answer.not_stated)
        worst = worst_failing(answer.checks)
        if worst:
            told += f": {worst.name}, margin {write.figures(worst)[2]}"
        lines.append(f"{answer.title:{wide}}  {told}")
    return "\n".join(lines)


def _failing(checks: Sequence[Check]) -> list[Check]:
    return [c for c in checks if c.status == "fail"]


def _joints(answer: JobAnswer, end: EndSolution) -> set[str]:
    """The joints that an operation is cut for; none for a plain end."""
    members = {m.name: m for m in answer.job.members}
    ends = (
        members[use.member].near if use.end == "near" else members[use.member].far
        for use in end.uses
        if use.member in members
    )
    return {found.joint for found in ends if found.joint is not None}


def _short(answer: JobAnswer) -> dict[str, list[Check]]:
    """What fails of each joint, by its own checks and by those of the ends cut for it."""
    found = {j.name: _failing(j.checks) for j in answer.joints}
    for end in answer.ends:
        for name in _joints(answer, end):
            found[name] += _failing(end.checks)
    return found


def _do_not_cut(
    write: _Writer, answer: JobAnswer, end: EndSolution, short: dict[str, list[Check]]
) -> Iterator[str]:
    """Above the numbers of an operation: one end of a joint is no use without the other."""
    joints = sorted(name for name in _joints(answer, end) if short[name])
    others = [c for name in joints for c in short[name]]
    yield from _warning(write, ", ".join(f"'{n}'" for n in joints) or "this end", end, others)


def _warning(
    write: _Writer, what: str, end: EndSolution | None, others: Sequence[Check]
) -> Iterator[str]:
    """Names the worst of what fails of the operation itself; only where nothing of its own does,
    of ``others``: those of the joint or the piece that it is cut for."""
    worst = worst_failing(() if end is None else end.checks) or worst_failing(others)
    if worst:
        short = write.figures(worst)[2].removeprefix("-")
        yield f"DO NOT CUT: {what} is not feasible; {worst.name} is short by {short}"


def _end(write: _Writer, number: int, end: EndSolution) -> Iterator[str]:
    data = end_settings(end)
    stock = data["stock"]
    yield f"Operation {number}: {data['part']}"
    for use in end.uses:
        hand = "" if use.hand == "as_drawn" else ", mirrored"
        yield f"  for {use.count} × {use.member}, {use.end} end{hand}"
    yield (
        f"  blank {write.mm(stock['width_mm'])} × {write.mm(stock['thickness_mm'])} × "
        f"{write.mm(stock['length_mm'])} long: finished {write.mm(end.part.length_mm)} "
        "and what both ends need"
    )
    for index, (setup, solved) in enumerate(zip(data["setups"], end.setups, strict=True), 1):
        label = f"  clamping {index}: " if len(data["setups"]) > 1 else "  "
        yield (
            f"{label}{in_words(setup['against_plate'])} on the plate, "
            f"{in_words(setup['against_fence'])} on the fence"
        )
        solved = end.setups[index - 1]
        yield from (f"    {axis.scale_words}" for axis in solved.axes if axis.differs)
        plain = [f"{a.axis} {_turned(a.angle_deg, a.way)}" for a in solved.axes if not a.differs]
        yield "    " + "   ".join([*plain, _overhang(write, setup, again=index > 1)])
        yield from (f"    MIND: {caution}" for caution in solved.cautions)
        yield from _choice(write, setup)
        yield from _setting(solved)
        if solved.packing is not None:
            packing = solved.packing.says(solved.against_plate, write.mm)
            yield f"    packing {_angle(solved.packing_deg)}: {packing}"
        heights = setup["cutter_height_mm"]
        yield (
            f"    cutter {setup['cutter']}, kerf {write.mm(setup['kerf_mm'])}; "
            f"heights above the {heights['datum']}"
        )
        if index == 1:
            yield f"    trim {write.mm(setup['trim_mm'])} at height {write.mm(heights['trim'])}"
            if len(heights["trim_steps"]) > 1:
                yield f"      {_steps(write, heights['trim_steps'])}"
            yield f"      {trimming(solved, write.mm)}"
        else:
            yield f"    {trimming(solved, write.mm)}"
        if setup["cuts"]:
            yield f"    {_touch_off(write, solved)}"
        at = {h["depth_mm"]: h["height"] for h in heights["cuts"]}
        steps = {h["depth_mm"]: h["steps"] for h in heights["cuts"]}
        for cut, item in enumerate(setup["cuts"], 1):
            yield (
                f"    cut {cut}: {write.mm(item['left_mm'])} to {write.mm(item['right_mm'])}, "
                f"depth {write.mm(item['depth_mm'])} at height {write.mm(at[item['depth_mm']])}"
            )
            if len(steps[item["depth_mm"]]) > 1:
                yield f"      {_steps(write, steps[item['depth_mm']])}"
            yield "      passes " + "; ".join(_pass(write, p) for p in item["passes"])
    for mark in data["marks"]:
        places = ", ".join(f"{in_words(k)} {write.mm(v)}" for k, v in mark["at_mm"].items())
        yield f"  {LINE_WORDS[mark['line']][0]} from the square end: {places}"
    for item in data["verify"]:
        yield f"  check {item['what']}: {write.mm(item['expected_mm'])} ({item['instrument']})"
    yield from _checks(write, end.checks)


def trimming(setup: Setup, mm: Callable[[float], str]) -> str:
    """How the end is trimmed in a clamping, or that it was. Counted from the wood's outermost
    places and by eye, since the corner to touch off comes with the trim; mm: a length with its
    unit."""
    if setup.number > 1:
        return "already trimmed in clamping 1: do not trim again"
    practice = setup.fixture.practice
    over = sweep(setup.plan.trim_travel_mm, setup.plan.cutter, practice.overlap_mm)
    if over.count == 1:
        return "one pass over the whole width"
    past = mm(practice.run_past_mm)
    return (
        f"{over.count} passes over the whole width, {mm(over.over_mm)}: from the cutter's "
        f"left-hand face {past} left of the wood to its right-hand face {past} right of it, each "
        f"no more than {mm(over.most_mm)} further right than the last"
    )


def _choice(write: _Writer, setup: dict[str, Any]) -> Iterator[str]:
    """What it costs that a person chose; nothing where the library did and its first held."""
    by_hand = setup["by_hand"]
    if by_hand is None:
        chosen = next(c for c in setup["candidates"] if c["chosen"])
        if any(c["judged"] and c["failing"] for c in setup["candidates"]) and not chosen["failing"]:
            yield f"    clamped so because {setup['chosen_because']}"
        return
    yield f"    clamped as {setup['chosen_because']}"
    for cost in by_hand["costs"]:
        mine, own = (
            "none" if margin is None else write.amount(margin, cost["unit"])
            for margin in (cost["margin"], cost["library_margin"])
        )
        yield f"      margin of {cost['check']}: {mine}, as the library takes it {own}"


def _steps(write: _Writer, heights: Sequence[float]) -> str:
    """A depth that is not taken at once."""
    return f"in {len(heights)} steps, at heights {'; '.join(map(write.mm, heights))}"


def _overhang(write: _Writer, setup: dict[str, Any], *, again: bool) -> str:
    """In a second clamping the corner it was first measured to is gone with the trim."""
    if again:
        return f"overhang {write.mm(setup['overhang_trimmed_mm'])} to the trimmed end"
    return f"overhang {write.mm(setup['overhang_mm'])}"


def _setting(setup: Setup) -> Iterator[str]:
    """How to set each axis well, and what comes of it."""
    if not next(c for c in setup.candidates if c.chosen).in_range:
        return  # what cannot be set needs no advice; the checks below say what to change
    for axis in (a.axis for a in setup.axes if not a.doubted):
        needed = setup.needed_deg(axis)
        within = "" if needed is None else " to any" if needed == inf else f" to ±{needed:.3f}°"
        aid = next((a for a in setup.aids if a.axis == axis), None)
        if aid is None:
            yield f"    {axis}{within}: nothing here can set it"
            continue
        enough = ", good enough" if aid.enough else ", NOT GOOD ENOUGH"
        enough = "" if needed is None else enough
        yield f"    {axis}{within}: {aid.says}; gives ±{aid.reach_deg:.3f}°{enough}"
    if setup.closing is not None:
        yield f"    set by the scales, {closing_words(setup.closing)}"


def _pass(write: _Writer, item: dict[str, Any]) -> str:
    wheel = f"{item['turns']} turns {item['divisions']} div"
    rounded = fixed(item["rounding_mm"], 3, signed=True)
    return f"{write.mm(item['travel_mm'])} [{wheel}, rounded by {rounded}]"


def _joint(
    write: _Writer, name: str, settings: dict[str, Any], checks: tuple[Check, ...]
) -> Iterator[str]:
    yield f"Joint: {name} ({settings['joint_type']})"
    yield from (f"  {note}" for note in settings["notes"])
    for part in settings["parts"]:
        for box in part["layout"]:
            marks = ", ".join(_mark(write, k, v) for k, v in box["marks"].items())
            yield f"  lay out on {part['part']}, {in_words(box['side'])}: {box['name']}: {marks}"
    yield from _checks(write, checks)


def _checks(write: _Writer, checks: tuple[Check, ...]) -> Iterator[str]:
    passed = [c for c in checks if c.status == "pass"]
    if passed:
        which = ": " + ", ".join(dict.fromkeys(c.name for c in passed)) if write.names else ""
        yield f"  {len(passed)} check{'s' * (len(passed) > 1)} passed{which}"
    for check in checks:
        if check.status == "pass":
            continue
        where = f" (clamping {check.setup})" if check.setup is not None else ""
        if check.status == "not_stated":
            yield f"  NOT STATED {check.name}{where}: {check.because}"
            continue
        word = "CAUTION" if check.status == "caution" else "FAILS"
        value, limit, margin = write.figures(check)
        yield (
            f"  {word} {check.name}{where}: {value}, limit {limit}, margin {margin}; "
            f"{check.because}"
        )
        yield from _remedies(write, check)


def _remedies(write: _Writer, check: Check) -> Iterator[str]:
    """Each once in a job; what would itself leave a fault is no remedy, and is told as that."""
    new = [r for r in check.remedies if r.says not in write.told]
    write.told.update(r.says for r in new)
    for remedy in new:
        yield f"    {'no help' if _leaves_a_fault(remedy) else 'remedy'}: {remedy.says}"
    if len(new) < len(check.remedies):
        yield f"    {'other ' if new else ''}remedies as above"


def _leaves_a_fault(remedy: Remedy) -> bool:
    """Whether something is known not to be feasible with it: another check, or the beam."""
    room = remedy.amounts.get("gap_mm")
    return bool(remedy.amounts.get("fails") or (room is not None and room < 0))


def _turned(value: float, way: str) -> str:
    return f"{_angle(value)}, {way}" if way else _angle(value)


def _touch_off(write: _Writer, setup: Setup) -> str:
    at = setup.touch_off
    corner = f"the trimmed corner nearest {in_words(at.nearest_edge)}"
    gone = at.cut_away_mm
    left = f" as earlier cuts left it, {write.mm(gone)} further right" if gone >= LEAST_MM else ""
    return f"touch off the cutter's right-hand face at {corner}{left}"


def _angle(value: float) -> str:
    return f"{fixed(value, 3)}° ({degrees_minutes(value)})"


def _mark(write: _Writer, name: str, value: float) -> str:
    stem, _, unit = name.rpartition("_")
    return f"{stem.replace('_', ' ')} {write.amount(value, unit)}"


#: What the text of a whole piece is made of, too.
Writer = _Writer
end_lines, check_lines, warning, failing = _end, _checks, _warning, _failing
#: What a sheet says, too.
joints_of, short_of, leaves_a_fault = _joints, _short, _leaves_a_fault
