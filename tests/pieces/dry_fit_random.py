"""``python -m tests.pieces.dry_fit_random --pieces 1000 [--type NAME] [--seed 0]``.

Cuts so many random pieces of every type that ships by their settings alone, puts them up, and
prints how many went together and the worst figures of all. Exit code 1 where one did not.
"""

from __future__ import annotations

import argparse
import sys
import time

import attrs

from tests.pieces.random_pieces import RANDOM, Fitted, Tally, fitted, random_pieces

FIGURES = ("overlap", "gap", "press", "lowest", "feet", "height")


def run(name: str, pieces: int, seed: int) -> int:
    """How many did not go together."""
    tally, began, bad = Tally(), time.perf_counter(), 0
    worst = Fitted((), 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    for number, (piece, answer) in enumerate(random_pieces(name, pieces, seed, tally), 1):
        found = fitted(piece, answer)
        if found.faults:
            bad += 1
            print(f"{name} {number}: {found.faults[0]}: {piece.to_dict()}")
        more = {f: max(getattr(worst, f), getattr(found, f)) for f in FIGURES}
        worst = attrs.evolve(worst, **more)
        if number % 25 == 0 and sys.stderr.isatty():
            print(f"\r{name}: {number} of {pieces}", end="", file=sys.stderr)
    took = time.perf_counter() - began
    failing = ", ".join(f"{n} {k}" for n, k in tally.failing.most_common()) or "none"
    print(f"{name}: {pieces - bad} of {pieces} go together, in {took:.0f} s")
    print(f"  drawn again: {tally.refused} refused, failing a check of their own: {failing}")
    print(
        f"  worst: overlap {worst.overlap:.2g} mm3, open by {worst.gap:.2g}, tight by "
        f"{worst.press:.2g}, feet off the floor by {worst.lowest:.2g}, measured() off by "
        f"{worst.feet:.2g} at the feet and {worst.height:.2g} in height, mm",
        flush=True,
    )
    return bad


def main() -> int:
    parser = argparse.ArgumentParser(description="dry-fit random pieces")
    parser.add_argument("--pieces", type=int, default=1000, help="of each type")
    parser.add_argument("--type", choices=sorted(RANDOM), help="only this one")
    parser.add_argument("--seed", type=int, default=0)
    given = parser.parse_args()
    names = [given.type] if given.type else sorted(RANDOM)
    return int(sum(run(name, given.pieces, given.seed) for name in names) > 0)


if __name__ == "__main__":
    sys.exit(main())
