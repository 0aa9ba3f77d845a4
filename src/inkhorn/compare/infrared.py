"""What kind of ink: the same strokes in visible light and in the near infrared.

The infrared picture is laid over the visible one (`inkhorn.compare.register`), both are
brought to one sharpness, and the density of the same strokes against bare support beside
them is taken in both. What is left of it in the infrared tells carbon from iron-tannin ink
(`inkhorn.optics.infrared`).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import attrs
import numpy as np

from inkhorn.compare.register import Registered, register
from inkhorn.compare.same_strokes import blurred, cores, density_of, one_sharpness, over_support
from inkhorn.handbook.load import value
from inkhorn.imaging.picture import Picture
from inkhorn.imaging.reading import BARE, OUTSIDE, Maps, PhotoReading
from inkhorn.optics.infrared import fading_index, probability_of_type


@attrs.frozen(kw_only=True, eq=False)
class InkType:
    """What the two pictures say of the ink.

    Attributes
    ----------
    band_nm : float
    index, index_sd : float
        Density left in the infrared over that in the red.
    visible, infrared : tuple of float
        Density of the same strokes in the red and in the band, with its sd.
    probability : mapping of str to float
        Of "iron-tannin", "carbon" and "mixed".
    placed : Registered
        How the infrared picture lies over the visible one.
    strokes : int
        Pieces of ink that were measured in both.
    """

    band_nm: float
    index: float
    index_sd: float
    visible: tuple[float, float]
    infrared: tuple[float, float]
    probability: Mapping[str, float]
    placed: Registered
    strokes: int

    @property
    def sentence(self) -> str:
        """Return the finding in plain words."""
        order = sorted(self.probability, key=lambda kind: -self.probability[kind])
        odds = ", ".join(f"{kind} {round(100 * self.probability[kind])}" for kind in order)
        kept = f"{round(100 * self.index)} ± {max(1, round(100 * self.index_sd))} percent"
        text = f"At {self.band_nm:.0f} nm the ink keeps {kept} of its darkness in the red: chances in a hundred {odds}."
        if order[0] == "iron-tannin":
            text += " Bistre and sepia fade alike; a test for iron tells them apart."
        return text

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "band_nm": self.band_nm,
            "index": {"value": round(self.index, 4), "sd": round(self.index_sd, 4)},
            "red_density": {"value": round(self.visible[0], 4), "sd": round(self.visible[1], 4)},
            "infrared_density": {"value": round(self.infrared[0], 4), "sd": round(self.infrared[1], 4)},
            "probability": {kind.replace("-", "_"): round(p, 4) for kind, p in self.probability.items()},
            "strokes": self.strokes,
            "placed": {
                "agreement": round(self.placed.agreement, 3),
                "scale": round(self.placed.scale, 4),
                "turned_deg": round(self.placed.turned_deg, 2),
            },
            "sentence": self.sentence,
        }


def ink_type(
    picture: Picture, maps: Maps, reading: PhotoReading, infrared: Picture, *, band_nm: float, seed: int = 0
) -> InkType:
    """Measure the same strokes in both pictures and say what kind of ink they are.

    Parameters
    ----------
    picture, maps, reading
        The visible picture and what was read of it, from `inkhorn.imaging.photo.read_photo`.
    infrared : Picture
        Another picture of the same page, taken in the infrared: any size, turned, somewhat tilted.
    band_nm : float
        Centre of its band.
    seed : int
        Of the resampling.

    Raises
    ------
    PictureError
        The two do not show the same page, or no ink is sharp enough in both.
    InkhornError
        The band is none of a silicon camera's; the ink does not show in the red.
    """
    red = np.ascontiguousarray(picture.linear[..., 0])
    other = np.ascontiguousarray(infrared.linear.mean(axis=2))
    placed = register(red, other, what="the infrared picture")
    over, there = placed.laid_over(other, red.shape)
    sheet = there & (maps.state != OUTSIDE)
    bare = sheet & (maps.state == BARE)
    reach = max(4 * reading.stroke_px, 8)
    sharp = (over_support(red, bare, sheet, reach), over_support(over, bare, sheet, reach))
    blur, other_blur = one_sharpness(*sharp, sheet & maps.strokes)
    lights = (blurred(sharp[0], blur), blurred(sharp[1], other_blur))
    labels, count, inside = cores(maps, sheet, reading.stroke_px, np.hypot(reading.blur_px, blur))
    rng = np.random.default_rng(seed)
    (seen, seen_sd), (left, left_sd) = (density_of(light, labels, count, inside, rng) for light in lights)
    # What both pictures say of their support is doubted beside what letters scatter.
    doubt = value("infrared.pair.doubt")
    sds = (float(np.hypot(seen_sd, doubt)), float(np.hypot(left_sd, doubt)))
    q, sd = _index(seen, left, sds, float(np.median(red[bare])))
    odds = probability_of_type(q, sd, band_nm)
    return InkType(
        band_nm=float(band_nm),
        index=q,
        index_sd=sd,
        visible=(seen, sds[0]),
        infrared=(left, sds[1]),
        probability={kind: float(p) for kind, p in odds.items()},
        placed=placed,
        strokes=count,
    )


def _index(seen: float, left: float, sds: tuple[float, float], bare: float) -> tuple[float, float]:
    """Return Q and its error; whether the surface's gleam reached the cameras is not known, and adds to it."""
    gleam = min(value("optics.surface.k1") / max(bare, 1e-3), 10**-seen / 2)
    (dull, sd), (shiny, wide) = (fading_index(seen, left, sds, gleam=g) for g in (0.0, gleam))
    return float((dull + shiny) / 2), float(np.hypot(np.maximum(sd, wide), (dull - shiny) / 2))
