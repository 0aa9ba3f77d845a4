"""How long and how large a 12-megapixel photograph is to read, beside its decoding and a plain pipeline.

Three jobs, each in a process of its own and on the same file, taken in turns so
that whatever else the machine does falls on all of them alike:

* decode: the JPEG alone, by OpenCV;
* plain: the same answers (channel density of the ink, coverage, stroke width,
  density of each mark) from scikit-image and colour-science as their manuals
  use them: decode, linear light, support by morphological closing and a
  Gaussian, Sauvola's threshold, skeleton and distance transform, medians;
* inkhorn: ``read_picture``, with wear, errors, ruling and edges besides.

The page is rendered by ``tests/support/rendered_pages.py`` with the texture, noise and
file size of a phone's photograph. Photographs with the card, wide and narrow strokes, sRGB and
Display P3, are rendered by ``tests/support/camera.py`` and read by ``read_photo``; the plain
pipeline knows no card, so beside them only decoding is timed. Run with ``python benchmarks/imaging_speed.py [turns]``.
"""

from __future__ import annotations

import json
import os
import platform
import subprocess
import sys
import tempfile
import time
from importlib import import_module
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from inkhorn.imaging.card.layout import card
from inkhorn.report.card import pdf
from support.camera import any_shot, photograph
from support.rendered_pages import Page, render

TILES, SIDE = (3, 4), 1000
WIDTHS = (8, 14, 20)
#: Photographs with the card: stroke in mm on the strip, and whether the file is in Display P3.
CARDS = {"wide": (0.9, False), "narrow": (0.25, False), "p3": (0.9, True)}


def make(path: Path, nib: float) -> np.ndarray:
    """Render a 12-megapixel page in tiles and write it as a JPEG; return its true density."""
    tiles, truth = [], []
    for k in range(TILES[0] * TILES[1]):
        page = Page(
            height=SIDE, width=SIDE, nib=nib, hairline=nib / 2, x_height=5 * nib, blur=max(0.9, nib / 10),
            patch=nib, bare=0.08, thinned=0.1, stains=1, texture=0.03, noise=0.012, seed=1000 + k,
        )  # fmt: skip
        done = render(page)
        tiles.append(done.encoded)
        truth.append(done.density)
    rows = [np.hstack(tiles[TILES[1] * r : TILES[1] * (r + 1)]) for r in range(TILES[0])]
    Image.fromarray(np.vstack(rows)).save(path, quality=95)
    return np.mean(truth, axis=0)


def make_card(path: Path, stroke: float, p3: bool) -> np.ndarray:
    """Render a 12-megapixel photograph of the card with a strip in its frame; return the ink's true density."""
    kind = card("a6")
    shot = any_shot(
        3, pdf(kind), (kind.width, kind.height), kind.window, pixels=(4000, 3000), tilt=10.0, fill=0.85,
        shadow=0.0, tone="srgb", noise=0.012, jpeg=95, stroke=stroke, p3=p3,
    )  # fmt: skip
    photo = photograph(shot)
    path.write_bytes(photo.data)
    return photo.density


def decode(path: str) -> dict[str, float]:
    """Decode only."""
    return {"pixels": float(cv2.imdecode(np.fromfile(path, np.uint8), cv2.IMREAD_COLOR).size / 3)}


def plain(path: str) -> dict[str, float]:
    """Read density, coverage and width as the manuals of scikit-image and colour-science suggest."""
    colour, ndimage = import_module("colour"), import_module("scipy.ndimage")
    filters, measure, morphology = (
        import_module(f"skimage.{name}") for name in ("filters", "measure", "morphology")
    )
    encoded = import_module("skimage.io").imread(path)
    linear = colour.cctf_decoding(encoded / 255.0, function="sRGB")
    small = linear[::8, ::8]
    support = np.stack(
        [filters.gaussian(morphology.closing(small[..., c], morphology.disk(7)), 4) for c in range(3)],
        axis=-1,
    )
    grown = np.repeat(np.repeat(support, 8, axis=0), 8, axis=1)
    ratio = linear / grown[: linear.shape[0], : linear.shape[1]]
    grey = ratio.mean(axis=2)
    ink = grey < filters.threshold_sauvola(grey, window_size=101, k=0.2)
    ink = morphology.remove_small_objects(ink, max_size=20)
    depth = ndimage.distance_transform_edt(ink)
    width = 2 * np.median(depth[morphology.skeletonize(ink)]) - 1
    core = depth > max(2, width / 4)
    density = -np.log10(np.median(ratio[core], axis=0))
    labels = measure.label(ink)
    each = ndimage.median(-np.log10(np.maximum(grey, 1e-3)), labels, np.arange(1, labels.max() + 1))
    return {
        "R": float(density[0]), "G": float(density[1]), "B": float(density[2]),
        "coverage": float(ink.mean()), "width": float(width), "marks": float(len(each)),
    }  # fmt: skip


def own(path: str) -> dict[str, float]:
    """Read with inkhorn."""
    if Path(path).name.startswith("card"):
        reading = import_module("inkhorn.imaging.photo").read_photo(path).reading
    else:
        reading = import_module("inkhorn.imaging.read").read_picture(path)
    red, green, blue = reading.optical_density.tolist()
    width = float(np.median([stroke.width_px for stroke in reading.strokes]))
    return {"R": red, "G": green, "B": blue, "coverage": reading.coverage, "width": width,
            "marks": float(len(reading.strokes))}  # fmt: skip


JOBS = {"decode": decode, "plain": plain, "inkhorn": own}


def serve(name: str) -> None:
    """Do a job as often as a line comes in; answer with time, peak memory and result."""
    job = JOBS[name]
    for line in sys.stdin:
        start, cpu = time.perf_counter(), time.process_time()
        found = job(line.strip())
        spent, worked = time.perf_counter() - start, time.process_time() - cpu
        peak = peak_megabytes()
        print(json.dumps({"s": spent, "cpu": worked, "mb": peak, **found}), flush=True)


def peak_megabytes() -> float:
    """Return the peak memory of this process, MB (Linux; not inherited from the parent as ru_maxrss is)."""
    status = Path("/proc/self/status").read_text("ascii")
    return next(float(line.split()[1]) / 1024 for line in status.splitlines() if line.startswith("VmHWM"))


def main(turns: int) -> None:
    """Time all jobs on each page and print a table of ratios."""
    print(
        f"12-megapixel photograph; {platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}"
    )
    print(f"{'stroke':>7} {'job':>8} {'s':>7} {'/decode':>8} {'cpu s':>7} {'peak MB':>8} {'R':>6} {'G':>6} {'B':>6} {'cover':>6} {'width':>6}")  # fmt: skip
    with tempfile.TemporaryDirectory() as place:
        for nib in WIDTHS:
            path = Path(place) / f"page{nib}.jpg"
            truth = make(path, nib)
            print(f"{nib:7d} {'truth':>8}{'':36}" + " ".join(f"{v:6.3f}" for v in truth)
                  + f"   ({path.stat().st_size / 1e6:.1f} MB file)")  # fmt: skip
            _page(path, f"{nib}", turns, tuple(JOBS))
        for name, (stroke, p3) in CARDS.items():
            path = Path(place) / f"card-{name}.jpg"
            truth = make_card(path, stroke, p3)
            print(f"{name:>7} {'truth':>8}{'':36}" + " ".join(f"{v:6.3f}" for v in truth)
                  + f"   (card; {path.stat().st_size / 1e6:.1f} MB file)")  # fmt: skip
            _page(path, name, turns, ("decode", "inkhorn"))


def _page(path: Path, label: str, turns: int, jobs: tuple[str, ...]) -> None:
    servers = {
        name: subprocess.Popen(  # noqa: S603 - this file itself
            [sys.executable, __file__, "--serve", name],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for name in jobs
    }
    answers: dict[str, list[dict[str, float]]] = {name: [] for name in jobs}
    for turn in range(turns):
        for name, server in servers.items():
            if name != "plain" or turn < 2:
                answers[name].append(_ask(server, path))
    for server in servers.values():
        server.communicate()
    base = min(a["s"] for a in answers["decode"])
    for name, found in answers.items():
        spent, last = min(a["s"] for a in found), found[-1]
        row = f"{label:>7} {name:>8} {spent:7.3f} {spent / base:8.1f} {min(a['cpu'] for a in found):7.3f} {last['mb']:8.0f}"
        if "R" in last:
            row += (
                " "
                + " ".join(f"{last[k]:6.3f}" for k in ("R", "G", "B", "coverage"))
                + f" {last['width']:6.1f}"
            )
        print(row, flush=True)


def _ask(server: subprocess.Popen[str], path: Path) -> dict[str, float]:
    if server.stdin is None or server.stdout is None:
        raise RuntimeError("the job cannot be spoken to")
    server.stdin.write(f"{path}\n")
    server.stdin.flush()
    answer: dict[str, float] = json.loads(server.stdout.readline())
    return answer


if __name__ == "__main__":
    if "--serve" in sys.argv:
        serve(sys.argv[-1])
    else:
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 7)
