"""How well the kind of ink is read from a photograph and an infrared one: rendered pairs, right and wrong.

    python benchmarks/infrared_pairs.py 40

Pages are those of ``tests/support/rendered_pages.py``; the infrared camera stands elsewhere (scale 0.6 to 1.5,
turned up to 30 degrees, tilted), with blur and noise of its own. Every second page is also held against the
infrared picture of another page in the same hand.
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path

import attrs
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from inkhorn.compare.infrared import ink_type
from inkhorn.errors import InkhornError
from inkhorn.imaging.load import load_picture
from inkhorn.imaging.photo import read_photo
from support.infrared_pairs import infrared_of
from support.rendered_pages import any_page, render

LEFT = (0.06, 0.13, 0.25, 0.5, 0.7, 0.85)
BAND = 940


def main(count: int) -> None:
    """Print error of the index, how often its band holds the truth, refusals, and the kind named for each."""
    errors, sigmas, agreement = [], [], []
    refused, taken, kinds = 0, 0, Counter()
    for n in range(count):
        rng = np.random.default_rng(n + 500)
        page, left = any_page(n + 100), float(rng.choice(LEFT))
        camera = {
            "scale": float(rng.uniform(0.6, 1.5)),
            "turned_deg": float(rng.uniform(-30, 30)),
            "tilt": float(rng.uniform(-0.08, 0.08)),
            "blur": float(rng.uniform(0.5, 1.6)),
            "noise": float(rng.uniform(0.003, 0.015)),
        }
        photo = read_photo(render(page).png())
        both = (photo.picture, photo.maps, photo.reading)
        try:
            found = ink_type(*both, load_picture(infrared_of(page, left, **camera)), band_nm=BAND)
        except InkhornError:
            refused += 1
        else:
            errors.append(found.index - left)
            sigmas.append(errors[-1] / found.index_sd)
            agreement.append(found.placed.agreement)
            kinds[left, max(found.probability, key=found.probability.get)] += 1
        if n % 2 == 0:
            other = attrs.evolve(page, seed=n + 999)
            try:
                ink_type(*both, load_picture(infrared_of(other, left, **camera)), band_nm=BAND)
                taken += 1
            except InkhornError:
                pass
    off = np.array(errors)
    print(f"{count} pairs, {refused} refused; {(count + 1) // 2} wrong pairs, {taken} taken")
    print(f"index: mean error {off.mean():+.3f}, rms {np.sqrt(np.mean(off**2)):.3f}")
    print(f"in its 90 % band {np.mean(np.abs(sigmas) < 1.645):.0%}; least agreement {min(agreement):.2f}")
    for (left, kind), times in sorted(kinds.items()):
        print(f"  {left:.2f} left: {kind} {times}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40)
