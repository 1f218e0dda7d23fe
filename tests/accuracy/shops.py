"""Simulated shops whose true errors are known: what they cut and measure, and how often they are
told right.

Knows the estimate, its rows and its findings. The scale of a shop need not obey the model: it may
be bent, eccentric or uneven, its settings may scatter more than the file says, and a reading may
be wrong. ``coverage`` prints counts; ``test_coverage`` holds some of them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import attrs
import numpy as np

from jointgeo.fixtures.estimate import Estimate, estimate
from jointgeo.fixtures.findings import findings
from jointgeo.fixtures.leastsquares import Prior, Row

D, GAIN = 0.03, 0.005  # of the file: degrees, and a fraction
#: √(0.02² + atan(0.03/230)² + atan(0.05/460)²): zero, play and lock of the demo fixture's tilt.
SETTING = 0.02223
TURNED, PROTRACTOR = math.degrees(0.02 / (2 * 88)), 0.024
GAP_STEP = math.degrees(0.01 / (2 * 88))  # a gap is read to 0.01 mm
NEEDED = math.degrees(math.atan(0.15 / 100)) / math.sqrt(2)
HALF = D / math.sqrt(2)
FILE = Prior(HALF, SETTING, GAIN, HALF)


def straight(_scale: float) -> float:
    return 0.0


@attrs.frozen
class Shop:
    """What is wrong with one: degrees, and fractions for the gain. scatter: of a setting, in times
    of the file's. fresh: standard deviation of a reading error new at every setting. wrong: which
    cuts are misread. one_setting: every cut at 0 is made without setting anew. shape: of the
    scale beyond offset and gain."""

    offset: float
    gain: float = 0.0
    scatter: float = 1.0
    fresh: float = 0.0
    wrong: tuple[int, ...] = ()
    one_setting: bool = False
    shape: Callable[[float], float] = straight

    def true_off(self, scale: float) -> float:
        return self.offset + self.gain * scale + self.shape(scale)

    def setting(self, rng: np.random.Generator) -> float:
        """The part of one setting that is new with it."""
        return float(rng.normal(0, math.hypot(self.scatter * SETTING, self.fresh)))

    def cut(self, rng: np.random.Generator, at: Sequence[float]) -> tuple[Row, ...]:
        rows, held = [], self.setting(rng)
        for i, scale in enumerate(at):
            own = held if self.one_setting and scale == 0 else self.setting(rng)
            u = TURNED if abs(scale) <= 2 else PROTRACTOR
            off = self.true_off(scale) + own + float(rng.normal(0, u))
            if abs(scale) <= 2:
                off = round(off / GAP_STEP) * GAP_STEP
            if i in self.wrong:
                off += 0.35
            rows.append(Row(f"c{i}", scale, off, u, SETTING))
        return tuple(rows)


#: Makes one shop.
Maker = Callable[[np.random.Generator], Shop]


def honest(rng: np.random.Generator) -> Shop:
    return Shop(float(rng.normal(0, D)))


def with_(**changes: object) -> Maker:
    """An honest shop but for that."""

    def make(rng: np.random.Generator) -> Shop:
        return attrs.evolve(honest(rng), **changes)  # type: ignore[arg-type]

    return make


def uneven(rng: np.random.Generator, spread: float) -> Callable[[float], float]:
    """A scale with errors of its own at every 4°, straight between them."""
    knots = rng.normal(0, spread, 9)
    return lambda s: float(np.interp(s, np.arange(-4, 32, 4), knots))


def any_shop(rng: np.random.Generator) -> Shop:
    """Held out: no line of the model's own making. Scatter 0.5 to 3 times the file's, offsets up
    to 5 times, gains up to twice what the file says, an eccentric and an uneven scale."""
    bumps = uneven(rng, rng.uniform(0, 0.03))
    lobe, phase = rng.uniform(0, 0.1), rng.uniform(0, 2 * math.pi)

    def shape(s: float) -> float:
        return bumps(s) + lobe * (math.sin(math.radians(s) + phase) - math.sin(phase))

    return Shop(
        float(rng.normal(0, D * math.exp(rng.uniform(math.log(0.5), math.log(5))))),
        float(rng.normal(0, GAIN * rng.uniform(0, 2))),
        math.exp(rng.uniform(math.log(0.5), math.log(3))),
        shape=shape,
    )


@attrs.define
class Count:
    """shops: counted. offset: how often the error at 0 lay within what was stated; later: a cut
    set anew, by angle. width: what was stated for it, by angle. told: how often "good enough" was
    said at 0°, told_right: and the later cut was."""

    shops: int = 0
    offset: int = 0
    later: dict[float, int] = attrs.field(factory=dict)
    width: dict[float, list[float]] = attrs.field(factory=dict)
    told: int = 0
    told_right: int = 0

    def share(self, angle: float) -> float:
        return self.later[angle] / self.shops


def is_open(error: Estimate) -> bool:
    return any(f.open for f in findings(error, "tilt", "°"))


def count(
    make: Maker, cuts: Sequence[float], angles: Sequence[float], shops: int, seed: int
) -> Count:
    """So many shops of one kind that all make the same test cuts, then a later cut at each of
    ``angles``."""
    rng, out = np.random.default_rng(seed), Count()
    for _ in range(shops):
        shop = make(rng)
        error = estimate(shop.cut(rng, cuts), FILE)
        at_zero = error.at(0.0)
        out.shops += 1
        out.offset += abs(shop.true_off(0.0) - at_zero.off) <= at_zero.mean
        enough = at_zero.later <= NEEDED and not is_open(error)
        out.told += enough
        for angle in angles:
            known = error.at(angle)
            miss = shop.true_off(angle) + shop.setting(rng) - known.off
            out.later[angle] = out.later.get(angle, 0) + (abs(miss) <= known.later)
            out.width.setdefault(angle, []).append(known.later)
            out.told_right += enough and angle == 0 and abs(miss) <= NEEDED
    return out


def held_out(shops: int, seed: int) -> dict[int, tuple[int, int]]:
    """{number of cuts: (later cuts within what was stated, shops)} of ``any_shop``: 1 to 8 cuts at
    random angles, one reading in fifty wrong, a later cut anywhere from 0 to 24°."""
    rng = np.random.default_rng(seed)
    out: dict[int, tuple[int, int]] = {}
    for _ in range(shops):
        shop = any_shop(rng)
        number = int(rng.integers(1, 9))
        at = [0.0 if rng.random() < 0.5 else float(rng.uniform(0, 24)) for _ in range(number)]
        wrong = tuple(i for i in range(number) if rng.random() < 0.02)
        error = estimate(attrs.evolve(shop, wrong=wrong).cut(rng, at), FILE)
        angle = float(rng.uniform(0, 24))
        known = error.at(angle)
        miss = shop.true_off(angle) + shop.setting(rng) - known.off
        inside, seen = out.get(number, (0, 0))
        out[number] = inside + (abs(miss) <= known.later), seen + 1
    return out
