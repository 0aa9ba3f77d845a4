"""How often the 90 % bands of an estimate hold the truth, on workshops whose truth has physics of its own.

Run: ``python benchmarks/coverage.py [FIRST LAST]`` (seeds; 0 100 if left out). Each invented workshop is dealt by
`inkhorn.simulate`: another law of extraction, other spectra, a maker who misjudges volumes and now and then
writes down a wrong figure. A well-told 90 % band holds the truth in 85 to 95 of 100.
"""

from __future__ import annotations

import sys
import time
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from inkhorn.daybook.store.memory import MemoryStore
from inkhorn.daybook.wire import decode
from inkhorn.estimate.keep import posterior_of
from inkhorn.estimate.posterior import summarise
from inkhorn.simulate.workshops import exemplar_entries, random_workshop

FIGURES = (
    "volume", "iron_total", "iron_capacity", "iron_to_capacity", "free_iron", "ph", "viscosity", "gum",
    "dissolved_solids", "specific_gravity",
)  # fmt: skip


class Shelf(dict):
    """Keeps nothing beyond one workshop."""

    def recall(self, key):
        """Return what is kept."""
        return self.get(key)

    def remember(self, key, value):
        """Keep it."""
        self[key] = value


def one(seed: int) -> dict[str, tuple[float, float]]:
    """Return for each figure of the pot where the truth lies: how many band halves off, and the band's relative width."""
    shop = random_workshop(seed)
    store = MemoryStore()
    for raw in [*exemplar_entries(shop.exemplar, shop.entries[0]["at"]), *shop.entries]:
        store.append(raw, decode(raw))
    entries = tuple(sorted(store.recorded(), key=lambda line: (line.entry.at, line.number)))
    figures = summarise(posterior_of(entries, {}, 0, Shelf())).vessels["pot"].figures
    truth = shop.truth.true("pot")
    found = {}
    for name in FIGURES:
        band, true = figures[name], truth[name]
        side = band.p95 - band.median if true > band.median else band.median - band.p05
        off = (true - band.median) / side if side > 0 else np.inf * np.sign(true - band.median)
        found[name] = (float(off), float((band.p95 - band.p05) / max(abs(band.median), 1e-9)))
    return found


def main() -> None:
    """Print coverage by figure."""
    first, last = (int(a) for a in sys.argv[1:3]) if len(sys.argv) > 2 else (0, 100)
    start = time.perf_counter()
    offs, widths = defaultdict(list), defaultdict(list)
    with ProcessPoolExecutor() as pool:
        for found in pool.map(one, range(first, last)):
            for name, (off, width) in found.items():
                offs[name].append(off)
                widths[name].append(width)
    n = last - first
    print(f"{n} workshops, seeds {first} to {last - 1}, {time.perf_counter() - start:.0f} s")
    print(f"{'figure':18} {'in the 90 % band':>17} {'below':>6} {'above':>6} {'band / median':>14}")
    for name in FIGURES:
        off = np.array(offs[name])
        held = np.mean(np.abs(off) <= 1)
        print(
            f"{name:18} {held:16.0%}  {np.sum(off < -1):6d} {np.sum(off > 1):6d} {np.median(widths[name]):14.2f}"
        )
    every = np.concatenate([np.array(v) for v in offs.values()])
    print(f"{'all':18} {np.mean(np.abs(every) <= 1):16.0%}")


if __name__ == "__main__":
    main()
