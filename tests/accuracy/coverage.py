"""How often a shop is told right after test cuts, counted over simulated shops.

    python -m tests.accuracy.coverage [--shops 400] [--held-out 3000] [--seed 1]

One line for each kind of shop and set of cuts: how often the error at 0° and a later cut, set anew
at 0, 6, 12 and 20°, lay within what was stated at 95 %; the median of what was stated at 0 and 12°;
how often "good enough" was said at 0°, and how often the later cut then was. Last, shops of all
kinds that no choice was made by. The same seed gives the same counts.
"""

from __future__ import annotations

import argparse
import statistics

import numpy as np

from tests.accuracy.shops import (
    GAIN,
    D,
    Maker,
    Shop,
    count,
    held_out,
    honest,
    uneven,
    with_,
)

ANGLES = (0.0, 6.0, 12.0, 20.0)
ONE, THREE = (0.0,), (0.0,) * 3
BOTH = (*THREE, 12.0, 12.0, 12.0)


def _five_times(**more: float) -> Maker:
    return lambda rng: Shop(float(rng.normal(0, 5 * D)), **more)


def _new_each_time(_rng: np.random.Generator) -> Shop:
    return Shop(0.0, fresh=D)


LINES: tuple[tuple[str, Maker, tuple[float, ...]], ...] = (
    ("honest, 1", honest, ONE),
    ("honest, 3", honest, THREE),
    ("honest, 3+1", honest, (*THREE, 12.0)),
    ("honest, 3+3", honest, BOTH),
    ("honest, 10", honest, (0.0,) * 10),
    ("reading new each time, 3", _new_each_time, THREE),
    ("reading new each time, 3+3", _new_each_time, BOTH),
    ("gain 0.5 %, 3", with_(gain=GAIN), THREE),
    ("gain 1 %, 3", with_(gain=2 * GAIN), THREE),
    ("gain 1 %, 3+3", with_(gain=2 * GAIN), BOTH),
    ("gain 2.5 %, 3+3", with_(gain=5 * GAIN), BOTH),
    ("gain 2.5 %, 3: unseen", with_(gain=5 * GAIN), THREE),
    ("scatter 3 times, 1", with_(scatter=3.0), ONE),
    ("scatter 3 times, 3", with_(scatter=3.0), THREE),
    ("scatter 3 times, 3+3", with_(scatter=3.0), BOTH),
    ("scatter 3 times, 10", with_(scatter=3.0), (0.0,) * 10),
    ("errors 5 times, 1", _five_times(), ONE),
    ("errors 5 times, 3", _five_times(), THREE),
    ("5 times, scatter 3, gain 1 %, 3+3", _five_times(scatter=3.0, gain=2 * GAIN), BOTH),
    ("1 wrong of 1", with_(wrong=(0,)), ONE),
    ("1 wrong of 3", with_(wrong=(0,)), THREE),
    ("three cuts at one setting", with_(one_setting=True), THREE),
    ("bent 0.06° at 20, 3+3", with_(shape=lambda s: 0.06 * (s / 20) ** 2), BOTH),
    ("uneven 0.03°, 3+3", lambda rng: Shop(0.0, shape=uneven(rng, 0.03)), BOTH),
)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--shops", type=int, default=400)
    parser.add_argument("--held-out", type=int, default=3000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    print(f"{'shop, cuts':36} offset later 0    6   12   20   width 0    12   told right")
    for name, make, cuts in LINES:
        found = count(make, cuts, ANGLES, asked.shops, asked.seed)
        shares = " ".join(f"{found.share(a):4.2f}" for a in ANGLES)
        wide = " ".join(f"{statistics.median(found.width[a]):.3f}" for a in (0.0, 12.0))
        right = f"{found.told_right / found.told:.2f}" if found.told else "  - "
        print(
            f"{name:36} {found.offset / found.shops:6.2f}    {shares}   {wide}   "
            f"{found.told / found.shops:.2f}  {right}"
        )
    by_cuts = held_out(asked.held_out, asked.seed + 1)
    inside, seen = (sum(part) for part in zip(*by_cuts.values(), strict=True))
    print(f"held out: {inside / seen:.3f} of {seen}; by number of cuts:")
    print("  " + ", ".join(f"{n}: {i / s:.3f}" for n, (i, s) in sorted(by_cuts.items())))


if __name__ == "__main__":
    main()
