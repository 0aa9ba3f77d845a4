"""How near the photograph reader comes to a known truth, printed as a table.

Pages of an invented script are rendered by ``tests/support/rendered_pages.py``,
which shares nothing with the reader: pen, nib, ink, wear, soil, light, lens,
noise and file all vary. Run with ``python benchmarks/imaging_accuracy.py [pages] [first seed]``.
"""

from __future__ import annotations

import platform
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from inkhorn.errors import PictureError
from inkhorn.imaging.read import read_picture
from support.rendered_pages import any_page, render

# 5 and 95 % points of a normal distribution lie 1.6449 sd from its mean
NINETY = 1.6449


def main(pages: int, first: int) -> None:
    """Render, read and print."""
    print(
        f"photograph reader, {pages} rendered pages; {platform.machine()}, Python {platform.python_version()}"
    )
    head = (
        "seed",
        "density",
        "err R",
        "err G",
        "err B",
        "sd G",
        "bare",
        "read",
        "thin",
        "read",
        "cover",
        "read",
        "s",
    )
    print(" ".join(f"{name:>7}" for name in head))
    errors, scores, wears, wear_scores, covers, failed = [], [], [], [], [], 0
    for seed in range(first, first + pages):
        page = any_page(seed)
        truth = render(page)
        start = time.perf_counter()
        try:
            reading = read_picture(truth.png())
        except PictureError as error:
            failed += 1
            print(f"{seed:7d} {error}")
            continue
        spent = time.perf_counter() - start
        error = reading.optical_density - truth.density
        got = np.array([reading.wear.bare, reading.wear.thinned, reading.wear.intact])
        doubt = np.array([reading.wear_sd.bare, reading.wear_sd.thinned, reading.wear_sd.intact])
        errors.append(error)
        scores.append(error / reading.sd)
        wears.append(got - truth.wear)
        wear_scores.append((got - truth.wear) / doubt)
        covers.append(reading.coverage / truth.coverage)
        row = (truth.density[1], *error, reading.sd[1], truth.wear[0], got[0], truth.wear[1], got[1])
        print(
            f"{seed:7d} " + " ".join(f"{v:7.3f}" for v in (*row, truth.coverage, reading.coverage, spent)),
            flush=True,
        )
    _summary(
        np.array(errors),
        np.array(scores),
        np.array(wears),
        np.array(wear_scores),
        covers=np.array(covers),
        failed=failed,
    )


def _summary(errors, scores, wears, wear_scores, *, covers, failed) -> None:
    print(f"\npages refused: {failed}")
    print(f"channel density: mean error {errors.mean():+.3f}, rms {np.sqrt((errors**2).mean()):.3f}, "
          f"95 % of channels within {np.quantile(np.abs(errors), 0.95):.3f}; "
          f"within 0.06: {(np.abs(errors) < 0.06).mean():.0%}; in the 90 % band: {(np.abs(scores) < NINETY).mean():.0%}")  # fmt: skip
    for name, column, score in zip(("bare", "thinned", "intact"), wears.T, wear_scores.T, strict=True):
        print(f"{name:>15}: mean error {column.mean():+.3f}, rms {np.sqrt((column**2).mean()):.3f}, "
              f"within 0.1: {(np.abs(column) < 0.1).mean():.0%}; in the 90 % band: {(np.abs(score) < NINETY).mean():.0%}")  # fmt: skip
    print(
        f"       coverage: read/true {np.median(covers):.3f} (middle), {np.quantile(covers, 0.05):.3f} to {np.quantile(covers, 0.95):.3f}"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40, int(sys.argv[2]) if len(sys.argv) > 2 else 0)
