"""What the kit says of one type.

Knows nothing of the library. A check keeps its ``Notes`` while it runs; the kit turns
them into a ``Finding``, and all findings of one type are its ``Report``.
"""

from __future__ import annotations

from typing import Literal

import attrs

__all__ = ["Finding", "Notes", "Report"]

#: Faults of one kind repeat; so many of them tell a person what they need.
MOST_FAULTS = 6

Outcome = Literal["passed", "failed", "exempted", "not made"]


@attrs.define
class Notes:
    """faults: what is wrong, one sentence each. tried: what was looked at, with counts.

    told_under: the check that already tells what kept this one from being made, "" for none.
    """

    faults: list[str] = attrs.field(factory=list)
    tried: list[str] = attrs.field(factory=list)
    told_under: str = ""

    def fault(self, text: str) -> None:
        if text not in self.faults:
            self.faults.append(text)

    def did(self, text: str) -> None:
        self.tried.append(text)


@attrs.frozen
class Finding:
    """One check on one type.

    holds: what the check is for. reason: why it is exempted, "" if it is not. told_under: the
    check whose fault kept this one from being made, which is therefore "not made".
    """

    check: str
    holds: str
    outcome: Outcome
    faults: tuple[str, ...]
    tried: tuple[str, ...]
    reason: str = ""
    told_under: str = ""

    @classmethod
    def of(cls, check: str, holds: str, notes: Notes, reason: str = "") -> Finding:
        """The finding of a check that has run.

        An exemption that is no longer needed is a fault: left standing, it would hide the
        next one.
        """
        faults = list(notes.faults)
        if notes.told_under and not faults:
            return cls(check, holds, "not made", (), tuple(notes.tried), reason, notes.told_under)
        if reason and not faults:
            faults = ["this check passes now: take its exemption away"]
            outcome: Outcome = "failed"
        elif reason:
            outcome = "exempted"
        else:
            outcome = "failed" if faults else "passed"
        more = len(faults) - MOST_FAULTS
        if more > 0:
            faults = [*faults[:MOST_FAULTS], f"and {more} more"]
        return cls(check, holds, outcome, tuple(faults), tuple(notes.tried), reason)

    def __str__(self) -> str:
        lines = [f"{self.outcome:8} {self.check}: {self.holds}"]
        if self.reason:
            lines.append(f"    exempted because {self.reason}")
        if self.told_under:
            lines.append(f"    what is told under {self.told_under} stands in its way")
        lines += [f"    fault: {text}" for text in self.faults]
        if self.tried:
            lines.append("    looked at: " + "; ".join(self.tried))
        return "\n".join(lines)


@attrs.frozen
class Report:
    """Every check of one type of joints or of pieces, in its kit's order."""

    name: str
    findings: tuple[Finding, ...]

    @property
    def passed(self) -> bool:
        """No check failed; exempted ones do not count, and are listed. One that was not made has
        another, failed, in its way."""
        return not self.failed

    @property
    def failed(self) -> tuple[str, ...]:
        """Names of the checks that failed."""
        return tuple(f.check for f in self.findings if f.outcome == "failed")

    @property
    def exemptions(self) -> dict[str, str]:
        """{check: reason} of what the author asked to be let off."""
        return {f.check: f.reason for f in self.findings if f.reason}

    def __str__(self) -> str:
        word = "conforms" if self.passed else f"{len(self.failed)} of {len(self.findings)} fail"
        let_off = f", {len(self.exemptions)} exempted" if self.exemptions else ""
        return "\n".join([f"{self.name}: {word}{let_off}", *map(str, self.findings)])
