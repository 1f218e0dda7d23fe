"""Weighted least squares with a prior: readings of a fixture in, its errors out.

Knows numpy only; ``checkup`` and ``learning`` make the observations.

Theory. Each observation is a linear form of the unknowns, y = Σ a_j·x_j + noise. Its noise
has a part of its own and a part it shares with every other observation of the same group
(all places measured on one cut share that cut's setting). With V the covariance of the
noise, A the forms and P the prior's covariance, the estimate is

    N = AᵀV⁻¹A + P⁻¹        x = N⁻¹ (AᵀV⁻¹y + P⁻¹x₀)        cov(x) = N⁻¹

An unknown that neither readings nor a prior tell anything of is left out and named.

Three guards, since a shop's numbers are not a simulation's:

* A prior that the readings contradict (more than 3 standard deviations, at least two
  groups of readings agreeing) is set aside for that unknown, and that is said.
* A reading that the others, without it, predict badly (more than 3.5 standard deviations)
  is an outlier: named and left out, the worst first, while enough is left to tell. With
  fewer than three groups of an unknown nobody can say which reading is wrong: they are
  named as contradicting each other, and all are kept.
* Readings that scatter among themselves more than their uncertainties allow (chi-square
  above its 99 % point) widen the results they tell of by the Birge ratio
  √(chi² / degrees of freedom).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import attrs
import numpy as np

from jointgeo.geometry.arrays import Array

__all__ = ["Fit", "Observation", "Residual", "chi_square_99", "solve"]

PRIOR_ASIDE = 3.0
OUTLIER = 3.5


@attrs.frozen
class Observation:
    """One reading. value and both uncertainties in the unknowns' unit.

    terms: {unknown: factor}. group: readings of one setting share ``shared_u``; "" is a
    group of its own.
    """

    name: str
    value: float
    u: float
    terms: Mapping[str, float]
    group: str = ""
    shared_u: float = 0.0


@attrs.frozen
class Residual:
    """Reading minus what the fit says; deviation: the same in standard deviations, against
    what all other readings predict."""

    name: str
    residual: float
    deviation: float


@attrs.frozen(eq=False)
class Fit:
    """value, u: per unknown, estimate and standard uncertainty. readings: how many groups told
    of it. residuals: of the readings used. outliers: left out. contradicting: kept, but at odds.
    prior_aside: unknowns whose prior was set aside. undetermined: unknowns nothing tells of.
    widened: {unknown: Birge ratio} where one was applied."""

    value: dict[str, float]
    u: dict[str, float]
    readings: dict[str, int]
    residuals: tuple[Residual, ...]
    outliers: tuple[Residual, ...]
    contradicting: tuple[str, ...]
    prior_aside: tuple[str, ...]
    undetermined: tuple[str, ...]
    widened: dict[str, float]


def solve(
    observations: Sequence[Observation],
    unknowns: Sequence[str],
    prior: Mapping[str, tuple[float, float]] | None = None,
) -> Fit:
    """Estimate ``unknowns``; prior: {unknown: (value, standard uncertainty)} where one is known."""
    known = dict(prior or {})
    aside = _prior_conflicts(observations, unknowns, known)
    for name in aside:
        del known[name]
    used = list(observations)
    outliers: list[Residual] = []
    contradicting: set[str] = set()
    while True:
        deviations = _deviations(used, unknowns, known)
        worst = int(np.argmax(np.abs(deviations))) if used else 0
        if not used or abs(deviations[worst]) <= OUTLIER:
            break
        if min(_groups(used, n) for n in used[worst].terms) < 3:
            contradicting.update(o.name for o in used if set(o.terms) & set(used[worst].terms))
            break
        bad = used.pop(worst)
        outliers.append(
            Residual(bad.name, _residual(bad, used, unknowns, known), deviations[worst])
        )
    return _result(
        used, unknowns, known, tuple(outliers), tuple(sorted(contradicting)), tuple(aside)
    )


def _groups(observations: Sequence[Observation], unknown: str) -> int:
    """How many separate settings tell of ``unknown``."""
    telling = [(i, o) for i, o in enumerate(observations) if o.terms.get(unknown)]
    return len({o.group or f"alone {i}" for i, o in telling})


def _matrices(
    observations: Sequence[Observation], unknowns: Sequence[str]
) -> tuple[Array, Array, Array]:
    a = np.array([[o.terms.get(n, 0.0) for n in unknowns] for o in observations])
    y = np.array([o.value for o in observations])
    v = np.diag([o.u**2 for o in observations])
    for i, first in enumerate(observations):
        for j, second in enumerate(observations):
            if i == j or (first.group and first.group == second.group):
                v[i, j] += first.shared_u * second.shared_u
    return a.reshape(len(y), len(unknowns)), y, v


def _estimate(
    observations: Sequence[Observation],
    unknowns: Sequence[str],
    prior: Mapping[str, tuple[float, float]],
) -> tuple[dict[str, float], Array, list[str]]:
    """Estimates, their covariance and the order of its rows, undetermined unknowns left out."""
    a, y, v = _matrices(observations, unknowns)
    weight = np.linalg.inv(v) if len(y) else v
    normal = a.T @ weight @ a
    right = a.T @ weight @ y
    for i, name in enumerate(unknowns):
        if name in prior:
            value, u = prior[name]
            normal[i, i] += 1 / u**2
            right[i] += value / u**2
    # Scaled to a unit diagonal, so that degrees and fractions can be ranked together.
    scale = np.sqrt(np.diag(normal))
    told = np.flatnonzero(scale > 0)
    sub = normal[np.ix_(told, told)] / np.outer(scale[told], scale[told])
    values, vectors = np.linalg.eigh(sub)
    loose = np.abs(vectors[:, values < 1e-9]).max(axis=1, initial=0.0) > 1e-6
    kept = told[~loose]
    if len(kept) == 0:
        return {}, np.zeros((0, 0)), []
    covariance: Array = np.asarray(np.linalg.inv(normal[np.ix_(kept, kept)]), float)
    x = covariance @ right[kept]
    names = [unknowns[i] for i in kept]
    return dict(zip(names, x.tolist(), strict=True)), covariance, names


def _predicted(o: Observation, value: Mapping[str, float]) -> float:
    return sum(factor * value.get(n, 0.0) for n, factor in o.terms.items())


def _residual(
    o: Observation,
    others: Sequence[Observation],
    unknowns: Sequence[str],
    prior: Mapping[str, tuple[float, float]],
) -> float:
    value, _, _ = _estimate(others, unknowns, prior)
    return o.value - _predicted(o, value)


def _deviations(
    used: Sequence[Observation],
    unknowns: Sequence[str],
    prior: Mapping[str, tuple[float, float]],
) -> list[float]:
    """Each reading against what the other groups predict, in standard deviations."""
    out = []
    for i, o in enumerate(used):
        others = [p for j, p in enumerate(used) if j != i and not (o.group and p.group == o.group)]
        value, covariance, names = _estimate(others, unknowns, prior)
        if any(n not in value for n in o.terms):
            out.append(0.0)  # nothing else tells of it
            continue
        form = np.array([o.terms.get(n, 0.0) for n in names])
        spread = np.sqrt(o.u**2 + o.shared_u**2 + form @ covariance @ form)
        off = o.value - _predicted(o, value)
        out.append(float(off / spread) if spread > 0 else 0.0)
    return out


def _prior_conflicts(
    observations: Sequence[Observation],
    unknowns: Sequence[str],
    prior: Mapping[str, tuple[float, float]],
) -> list[str]:
    value, covariance, names = _estimate(observations, unknowns, {})
    out = []
    for i, name in enumerate(names):
        if name not in prior or _groups(observations, name) < 2:
            continue
        middle, u = prior[name]
        if abs(value[name] - middle) > PRIOR_ASIDE * np.hypot(u, np.sqrt(covariance[i, i])):
            out.append(name)
    return out


def _result(
    used: list[Observation],
    unknowns: Sequence[str],
    prior: Mapping[str, tuple[float, float]],
    outliers: tuple[Residual, ...],
    contradicting: tuple[str, ...],
    aside: tuple[str, ...],
) -> Fit:
    value, covariance, names = _estimate(used, unknowns, prior)
    deviations = _deviations(used, unknowns, prior)
    residuals = tuple(
        Residual(o.name, o.value - _predicted(o, value), d)
        for o, d in zip(used, deviations, strict=True)
    )
    widened = _widened(used, unknowns)
    u = np.sqrt(np.diag(covariance))
    stated = {n: float(own) * widened.get(n, 1.0) for n, own in zip(names, u, strict=True)}
    return Fit(
        value,
        stated,
        {n: _groups(used, n) for n in unknowns},
        residuals,
        outliers,
        contradicting,
        aside,
        tuple(n for n in unknowns if n not in value),
        widened,
    )


def _widened(used: Sequence[Observation], unknowns: Sequence[str]) -> dict[str, float]:
    """Birge ratios of the unknowns whose own readings scatter beyond the 99 % point.

    Each set of unknowns that readings tie together is judged by itself, and by the readings
    alone: a scattering swivel says nothing of the tilt, and a prior is no repeat reading.
    """
    out: dict[str, float] = {}
    for together in _components(used, unknowns):
        own = [o for o in used if set(o.terms) & set(together)]
        value, _, _ = _estimate(own, together, {})
        own = [o for o in own if all(n in value for n in o.terms)]
        freedom = len(own) - len(value)
        if freedom < 1:
            continue
        a, y, v = _matrices(own, together)
        off = y - a @ np.array([value.get(n, 0.0) for n in together])
        chi2 = float(off @ np.linalg.solve(v, off))
        if chi2 > chi_square_99(freedom):
            out |= dict.fromkeys(together, float(np.sqrt(chi2 / freedom)))
    return out


def _components(
    observations: Sequence[Observation], unknowns: Sequence[str]
) -> list[tuple[str, ...]]:
    """The unknowns in sets that no reading ties to each other."""
    sets = [{n} for n in unknowns]
    for o in observations:
        touched = [s for s in sets if s & set(o.terms)]
        sets = [s for s in sets if s not in touched] + [set().union(*touched)]
    return [tuple(n for n in unknowns if n in s) for s in sets]


def chi_square_99(freedom: int) -> float:
    """The 99 % point of chi-square within 1 %, by Wilson and Hilferty's cube root (1931)."""
    ninth = 2 / (9 * freedom)
    return float(freedom * (1 - ninth + 2.3263 * np.sqrt(ninth)) ** 3)
