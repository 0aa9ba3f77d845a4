"""Simulation-based calibration of the whole estimate, and the same with a likelihood broken on purpose.

Run: ``python benchmarks/calibration.py [TRUTHS]`` (500 if left out). Truths and readings are drawn from the model
itself; the ranks of the truths among the posterior draws are then uniform (Talts and others, arXiv:1804.06788).
"""

from __future__ import annotations

import os

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

import sys  # noqa: E402
import time  # noqa: E402
from concurrent.futures import ProcessPoolExecutor  # noqa: E402
from pathlib import Path  # noqa: E402

import numpy as np  # noqa: E402

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from support.calibrated import CLASSES, evenness, ranks, small_bench  # noqa: E402

PART = 5


def _part(job: tuple[int, float]) -> dict[str, np.ndarray]:
    first, believed = job
    return ranks(small_bench(), range(first, first + PART), particles=256, believed=believed)


def table(truths: int, believed: float) -> None:
    """Print how the ranks fall."""
    start = time.perf_counter()
    with ProcessPoolExecutor() as pool:
        parts = list(pool.map(_part, [(i, believed) for i in range(0, truths, PART)]))
    said = "honest" if believed == 1 else f"every error believed to be {believed:.2g} of what it is"
    print(f"\n{truths} truths, {said}, {time.perf_counter() - start:.0f} s")
    print(
        f"{'figure':18} {'chi-square p':>12} {'mean rank':>10} {'in 90 %':>8} {'in 50 %':>8}  ranks in {CLASSES} classes"
    )
    for name in parts[0]:
        shares = np.concatenate([part[name] for part in parts])
        counts = np.histogram(shares, bins=CLASSES, range=(0, 1))[0]
        inside = [np.mean(np.abs(shares - 0.5) < half) for half in (0.45, 0.25)]
        print(
            f"{name:18} {evenness(shares):12.3f} {shares.mean():10.3f} {inside[0]:8.1%} {inside[1]:8.1%}  "
            + " ".join(f"{count:3d}" for count in counts)
        )


def main() -> None:
    """Print both tables."""
    truths = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    table(truths, 1.0)
    table(max(PART, truths // 10), 0.5)


if __name__ == "__main__":
    main()
