"""What is believed of a pot before and after its first stroke, against the truth, in the workshops of the closed loop.

Run: ``python -m benchmarks.first_pot [FIRST LAST]`` (seeds of `inkhorn.simulate.deal`; 0 40 if left out). A well-told
90 % band holds the truth in 85 to 95 of 100; *off* is the median of ln(truth / median believed), *width* the mean
natural-log width of the band, *score* the mean continuous ranked probability score on the natural logarithm, from the
five quantiles that an estimate tells (less is better).
"""

from __future__ import annotations

import sys
import time
from collections import defaultdict

import numpy as np
from benchmarks.closed_loop.game import Game

from inkhorn.daybook.store.memory import MemoryStore
from inkhorn.daybook.wire import decode
from inkhorn.estimate.keep import posterior_of
from inkhorn.estimate.posterior import summarise
from inkhorn.simulate.deal import deal

FIGURES = ("iron_total", "iron_capacity", "iron_to_capacity", "viscosity", "gum", "volume")
QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)


class Shelf(dict):
    """Keeps nothing beyond one workshop."""

    def recall(self, key):
        """Return what is kept."""
        return self.get(key)

    def remember(self, key, value):
        """Keep it."""
        self[key] = value


def one(seed: int) -> tuple[str, dict[str, np.ndarray]]:
    """Return the way to iron, and for each figure ln(quantile / truth) of the five quantiles."""
    game = Game(dealt=deal(seed))
    store = MemoryStore()
    for raw in game.book:
        store.append(raw, decode(raw))
    entries = tuple(sorted(store.recorded(), key=lambda line: (line.entry.at, line.number)))
    figures = summarise(posterior_of(entries, {}, 0, Shelf())).vessels[game.dealt.pot].figures
    true = game.truth.true(game.dealt.pot)
    told = {}
    for name in FIGURES:
        f = figures[name]
        told[name] = np.log(np.array([f.p05, f.p25, f.median, f.p75, f.p95]) / true[name])
    return game.dealt.iron, told


def scores(told: np.ndarray) -> tuple[float, float, float, float]:
    """Return coverage, median offset, mean width and score of rows of ln(quantile / truth)."""
    held = np.mean((told[:, 0] <= 0) & (told[:, 4] >= 0))
    q = np.array(QUANTILES)
    loss = np.where(told <= 0, -q * told, (1 - q) * told)
    # Twice the mean pinball loss, each quantile standing for the probabilities nearest to it.
    share = np.diff([0.0, 0.15, 0.375, 0.625, 0.85, 1.0])
    return (
        float(held),
        float(-np.median(told[:, 2])),
        float(np.mean(told[:, 4] - told[:, 0])),
        float(np.mean(2 * loss @ share)),
    )


def main() -> None:
    """Print a table for all, and for each way to iron."""
    first, last = (int(a) for a in sys.argv[1:3]) if len(sys.argv) > 2 else (0, 40)
    start = time.perf_counter()
    kept: dict[str, dict[str, list[np.ndarray]]] = defaultdict(lambda: defaultdict(list))
    for seed in range(first, last):
        iron, told = one(seed)
        for name, row in told.items():
            kept["all"][name].append(row)
            kept[iron][name].append(row)
    print(f"seeds {first} to {last - 1}, {time.perf_counter() - start:.0f} s")
    for group, figures in kept.items():
        print(f"\n{group:18} {'in band':>8} {'off':>7} {'width':>7} {'score':>7}")
        for name in FIGURES:
            held, off, width, score = scores(np.array(figures[name]))
            print(f"{name:18} {held:8.0%} {off:7.2f} {width:7.2f} {score:7.3f}")


if __name__ == "__main__":
    main()
