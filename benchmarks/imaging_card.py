"""How near a photograph with the card comes to the truth, printed as a table.

Our card's own PDF is printed, laid out with a strip and photographed by
``tests/support/camera.py``, which shares nothing with the reader: printer, paper, table, tilt,
light, shadow, sensor, tone curve, white, profile, noise, blur and JPEG all vary.
Each photograph is read three times: with the bar measured only, with the card's paper and full black measured too,
and with all its steps.

Run with ``python benchmarks/imaging_card.py [photographs] [processes]``.
"""

from __future__ import annotations

import multiprocessing
import platform
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from inkhorn.colour.difference import ciede2000
from inkhorn.colour.lab import lab_to_xyz
from inkhorn.errors import PictureError
from inkhorn.imaging.calibrate.reference import Reference
from inkhorn.imaging.card.find import find_card
from inkhorn.imaging.card.layout import BAR, card
from inkhorn.imaging.load import load_picture
from inkhorn.imaging.photo import Told, read_photo
from inkhorn.report.card import pdf
from support.camera import any_shot, photograph, printed_density

# 5 and 95 % points of a normal distribution lie 1.6449 sd from its mean
NINETY = 1.6449


def one(seed: int) -> dict:
    """Render, find and read one photograph all ways."""
    kind = card(("a6", "a5")[seed % 2], black_only=bool(seed // 2 % 2))
    shot = any_shot(seed, pdf(kind), (kind.width, kind.height), kind.window)
    photo = photograph(shot)
    out = {"seed": seed, "shot": shot, "card": f"{kind.size}{' black' if kind.black_only else ''}"}
    picture = load_picture(photo.data)
    found = find_card(picture)
    if found is None:
        return out
    grid = np.stack(
        np.meshgrid(np.linspace(0, kind.width, 9), np.linspace(0, kind.height, 7)), axis=-1
    ).reshape(-1, 2)
    off = np.linalg.norm(found.place.to_mm(photo.to_px(grid * shot.scale)) - grid, axis=1)
    out["place"] = float(off.max())
    bar = BAR * shot.scale
    names = tuple(patch.name for patch in kind.patches)
    light = [10 ** -printed_density(shot, patch.sample(0.5)) for patch in kind.patches]
    paper = lab_to_xyz(photo.paper_lab)
    known = Reference(
        names=("paper", *names), xyz=np.array([paper, *(share * paper for share in light)]), grid=None
    )
    full = [i for i, name in enumerate(known.names) if name == "paper" or name.startswith("black")]
    black = Reference(names=tuple(known.names[i] for i in full), xyz=known.xyz[full], grid=None)
    ways = (
        ("bar", Told(bar=bar)),
        ("black", Told(bar=bar, reference=black)),
        ("measured", Told(bar=bar, reference=known)),
    )
    for way, told in ways:
        start = time.perf_counter()
        try:
            reading = read_photo(picture, told=told).reading
        except PictureError as error:
            out[way] = str(error)
            continue
        widths = [s.width_px * s.mm_per_px for s in reading.strokes if s.mm_per_px]
        out[way] = {
            "density": reading.optical_density - photo.density,
            "score": (reading.optical_density - photo.density) / reading.sd,
            "difference": None if reading.lab is None else float(ciede2000(reading.lab, photo.lab)),
            "lab_score": None
            if reading.lab is None
            else (reading.lab - photo.lab) / np.sqrt(np.diag(reading.lab_covariance)),
            "width": float(np.median(widths) - photo.width) if widths else float("nan"),
            "seconds": time.perf_counter() - start,
        }
    return out


def main(count: int, processes: int) -> None:
    """Read them all and print."""
    print(f"photographs with a card, {count}; {platform.machine()}, Python {platform.python_version()}")
    print(f"{'seed':>4} {'card':9} {'tone':9} {'tilt':>4} {'sharp':>5} {'place mm':>8}   "
          f"density error R G B, dE: bar only | black measured | card measured")  # fmt: skip
    results = []
    with multiprocessing.get_context("spawn").Pool(processes) as pool:
        for result in pool.imap(one, range(count)):
            results.append(result)
            print(_line(result), flush=True)
    _summary(results)


def _line(result: dict) -> str:
    shot = result["shot"]
    head = f"{result['seed']:4d} {result['card']:9} {shot.tone:9} {shot.tilt:4.0f} {shot.sharpen:5.1f}"
    if "place" not in result:
        return f"{head} not found"
    parts = [f"{head} {result['place']:8.3f}  "]
    for way in ("bar", "black", "measured"):
        got = result[way]
        if isinstance(got, str):
            parts.append(f" {got[:60]}")
            continue
        seen = "   -" if got["difference"] is None else f"{got['difference']:4.1f}"
        parts.append(" ".join(f"{error:+.3f}" for error in got["density"]) + f" {seen} ")
    return " | ".join(parts)


def _summary(results: list[dict]) -> None:
    places = np.array([r["place"] for r in results if "place" in r])
    print(f"\ncards found {len(places)} of {len(results)}; place: worst point of a card, mm: middle "
          f"{np.median(places):.3f}, 95 % within {np.quantile(places, 0.95):.3f}")  # fmt: skip
    for way in ("bar", "black", "measured"):
        got = [r[way] for r in results if isinstance(r.get(way), dict)]
        errors, scores = np.array([g["density"] for g in got]), np.array([g["score"] for g in got])
        whole = [g for g in got if g["difference"] is not None]
        lab_scores = np.array([g["lab_score"] for g in whole])
        seen = np.array([g["difference"] for g in whole])
        widths = np.abs([g["width"] for g in got])
        print(f"{way:>9}: read {len(got)}, light calibrated {len(whole)}; channel density: mean {errors.mean():+.3f}, "
              f"|error| middle {np.median(np.abs(errors)):.3f}, 90 % within {np.quantile(np.abs(errors), 0.9):.3f}, "
              f"in the 90 % band {(np.abs(scores) < NINETY).mean():.0%}")  # fmt: skip
        print(f"           CIEDE2000 of the ink: middle {np.median(seen):.2f}, 90 % within {np.quantile(seen, 0.9):.2f}; "
              f"L, a, b in their 90 % bands {(np.abs(lab_scores) < NINETY).mean():.0%}; "
              f"width: |error| middle {np.nanmedian(widths):.3f} mm, 90 % within {np.nanquantile(widths, 0.9):.3f}")  # fmt: skip
        for tone in sorted({r["shot"].tone for r in results}):
            some = [r for r in results if r["shot"].tone == tone and isinstance(r.get(way), dict)]
            if some:
                each = np.abs([r[way]["density"] for r in some])
                seen = [r[way]["difference"] for r in some if r[way]["difference"] is not None]
                print(f"           {tone:9} {len(some):3d}: density |error| middle {np.median(each):.3f}, CIEDE2000 middle "
                      f"{np.median(seen) if seen else float('nan'):.2f}")  # fmt: skip


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40, int(sys.argv[2]) if len(sys.argv) > 2 else 2)
