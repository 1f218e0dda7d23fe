"""What does not agree among the settings of an axis: named, and never "good enough".

Knows estimates and rows; no fixture and no reading.

Nothing is left out by itself. Leaving the suspect out unmeasured would cover fewer later cuts
(91 to 84 % of them after three cuts where settings scatter three times as much as the file
says); a person may, by ``left_out``, once a cut was measured again.

An open finding stands in the way of "good enough". In honest shops false alarms are rare: odds
below 1 %, file 1 %, scatter 4 %, alike 3 to 5 %.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

import attrs

from jointgeo.calibration.taking import short_name
from jointgeo.fixtures.estimate import Estimate, chi_square_point, estimate

__all__ = ["Finding", "findings"]

# What is worth telling, in standard deviations, degrees and settings: our choice.
AT_ODDS = 3.5  # standard deviations of a setting off what the others say
BEYOND = 2.6  # the same off what the file says: 1 %
TOO_HOPEFUL = 2.6  # times the file's standard uncertainty that three settings agree on: 1 %
SAME_ANGLE = 0.01
FEW = 3
Z_05 = -1.6449


@attrs.frozen
class Finding:
    """name: what kind. about: the axis, kerf or lead. cuts: ids concerned. open: whether it
    stands in the way of "good enough". says: in a sentence or two."""

    name: str
    about: str
    cuts: tuple[str, ...]
    open: bool
    says: str

    def to_dict(self) -> dict[str, Any]:
        return attrs.asdict(self) | {"cuts": list(self.cuts)}


def findings(error: Estimate, about: str, unit: str) -> tuple[Finding, ...]:
    """Every finding about one error; unit: as written behind a number, "°" or " mm" or ""."""
    found = _Words(error, about, unit)
    return (*found.odds(), *found.file(), *found.confirmed(), *found.scatter(), *found.alike())


@attrs.frozen
class _Words:
    error: Estimate
    about: str
    unit: str

    def _number(self, value: float) -> str:
        return f"{value:.{3 if self.unit else 5}f}{self.unit}"

    def _finding(self, name: str, rows: Sequence[int], is_open: bool, says: str) -> Finding:
        cuts = tuple(self.error.rows[i].name for i in rows)
        return Finding(name, self.about, cuts, is_open, says)

    @property
    def _current(self) -> list[int]:
        return [i for i, r in enumerate(self.error.rows) if not r.zero]

    def _named(self, rows: Sequence[int]) -> str:
        return " and ".join(short_name(self.error.rows[i].name) for i in rows)

    def odds(self) -> Iterator[Finding]:
        """Settings far from what the others say; of two, nobody can tell which."""
        error, kept = self.error, self._current
        while len(kept) >= 2:
            left = {i: error.left_of(kept, i) for i in kept}
            worst = max(kept, key=lambda i: abs(left[i].deviation))
            if abs(left[worst].deviation) <= AT_ODDS:
                return
            off = self._number(abs(error.rows[worst].off - left[worst].off))
            until = self._number(error.at(error.rows[worst].at).later)
            if len(kept) == 2:
                says = (
                    f"{self._named(kept)} are {off} apart, and two cannot tell which is right. "
                    f"Measure both again, then make another cut. Until then ±{until}"
                )
                yield self._finding("odds", kept, True, says)
                return
            others = tuple(r for i, r in enumerate(error.rows) if i != worst)
            without = self._number(estimate(others, error.prior).at(error.rows[worst].at).later)
            says = (
                f"{self._named([worst])} is {off} off what the other {len(kept) - 1} say. Measure "
                f"it again first, then make another cut. Until then ±{until}; without it it "
                f"would be ±{without}"
            )
            yield self._finding("odds", [worst], True, says)
            kept = [i for i in kept if i != worst]

    def file(self) -> Iterator[Finding]:
        """One or two settings beyond what the file allows: too few to set it aside."""
        error, prior = self.error, self.error.prior
        if len(self._current) >= FEW:
            return
        for i in self._current:
            row = error.rows[i]
            lasts = math.hypot(prior.offset_u, prior.uneven_u, prior.gain_u * row.at)
            allowed = math.hypot(lasts, row.setting_u, row.u)
            if abs(row.off) > BEYOND * allowed:
                sign = "+" if row.off > 0 else "-"
                says = (
                    f"{self._named([i])} says {sign}{self._number(abs(row.off))}, the file allows "
                    f"±{self._number(2 * allowed)}. The wrong side entered, something slipped, or "
                    "the file is too hopeful: so few cuts cannot tell. Nothing is good enough yet; "
                    f"set it anew and make {FEW - len(self._current)} more"
                )
                yield self._finding("file", [i], True, says)

    def confirmed(self) -> Iterator[Finding]:
        """The file's offset or gain was set aside by three settings or more."""
        error, prior, rows = self.error, self.error.prior, self._current
        lasts = math.hypot(prior.offset_u, prior.uneven_u)
        if error.offset_u > TOO_HOPEFUL * lasts:
            says = (
                f"{len(rows)} settings agree on an offset of at least "
                f"{self._number(error.offset_u)}; the file's ±{self._number(2 * lasts)} was too "
                "hopeful and is set aside"
            )
            yield self._finding("file_confirmed", rows, False, says)
        if error.gain_u > TOO_HOPEFUL * prior.gain_u > 0:
            says = (
                f"the scale gains at least {100 * error.gain_u:.1f} %, whichever setting is left "
                f"out; the file's ±{200 * prior.gain_u:.1f} % was too hopeful and is set aside"
            )
            yield self._finding("gain_confirmed", rows, False, says)

    def scatter(self) -> Iterator[Finding]:
        error = self.error
        if error.scatter_freed and error.repeats > 0:
            file = self._number(error.prior.setting_u)
            says = (
                f"settings of the {self.about} repeat to {self._number(error.repeats)}, the file "
                f"says {file}. Look for what gives; more cuts will not cure it"
            )
            yield self._finding("scatter", self._current, False, says)

    def alike(self) -> Iterator[Finding]:
        """Cuts at one angle that agree too well to have been set anew."""
        rows = self.error.rows
        groups: dict[float, list[int]] = {}
        for i in self._current:
            groups.setdefault(round(rows[i].at / SAME_ANGLE), []).append(i)
        for same in groups.values():
            if len(same) < FEW:
                continue
            weights = [1 / (rows[i].u ** 2 + rows[i].setting_u ** 2) for i in same]
            pairs = list(zip(weights, (rows[i].off for i in same), strict=True))
            middle = sum(w * off for w, off in pairs) / sum(weights)
            spread = sum(w * (off - middle) ** 2 for w, off in pairs)
            if spread < chi_square_point(len(same) - 1, Z_05):
                says = (
                    f"{len(same)} cuts agree better than settings of the {self.about} repeat. Was "
                    "it set anew for each? If not, enter them as places of one cut"
                )
                yield self._finding("alike", same, False, says)
