"""Compare a trial with an original: sentence, shares and page, from what the floors below measured."""

from __future__ import annotations

from typing import Any

import attrs
import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkhorn.colour.difference import ciede2000
from inkhorn.colour.lab import linear_to_lab
from inkhorn.compare.compose import PANEL, Panel, compose, difference_map, png, tone
from inkhorn.compare.laid import Laid
from inkhorn.compare.model import middle_pair
from inkhorn.compare.picture import Curve, Sheet, carry, curve, reink
from inkhorn.compare.sentence import sentence
from inkhorn.compare.shares import Shares, share_out
from inkhorn.compare.sides import Side
from inkhorn.compare.window import framed, relative_scale
from inkhorn.handbook.load import value
from inkhorn.optics import observe

Array = NDArray[np.float64]

#: What the foot of the page says unless told otherwise.
COMPUTED = (
    "All pictures but the first are computed from the photographs, in linear light. "
    "A step of colour is one unit of CIEDE2000: one is just seen side by side, more than four are plain."
)

# numbers-in-code: layout of a picture
# Stroke widths that one panel shows across.
_ACROSS = 30


@attrs.frozen(kw_only=True, eq=False)
class Comparison:
    """What a comparison found.

    Attributes
    ----------
    sentence : str
    shares : Shares
    panels : tuple of Panel
        The pictures one by one, each with its caption.
    page : bytes
        All of it on one page, a PNG file.
    tolerance : float
        CIEDE2000 by which the original's own letters differ from one another; 0 where nothing tells.
    """

    sentence: str
    shares: Shares
    panels: tuple[Panel, ...]
    page: bytes
    tolerance: float = 0

    def to_dict(self) -> dict[str, Any]:
        """Return the answer without the picture."""
        own = round(self.tolerance, 3) if self.tolerance > 0 else None
        return {"sentence": self.sentence} | self.shares.to_dict() | {"page_spread": own}


def compare(
    trial: Side,
    original: Side,
    *,
    trial_sheet: Sheet | None = None,
    original_sheet: Sheet | None = None,
    film_ratio: ArrayLike = 1,
    draws: int = 256,
    seed: int = 0,
    as_new: bool = False,
    tolerance: float = 0,
    note: str = COMPUTED,
) -> Comparison:
    """Share the difference out, say it, and draw it.

    Parameters
    ----------
    trial, original : Side
        See `inkhorn.compare.sides` and `inkhorn.compare.photos`.
    trial_sheet, original_sheet : Sheet, optional
        Their pixels, see `inkhorn.compare.photos.photo_side`; a plain stroke is drawn for a side without.
    film_ratio : array_like
        Wet film of the original's pen over the trial's.
    draws, seed : int
    as_new : bool
        Take the original's ink as it may have been when new; age is then one more cause.
    tolerance : float
        CIEDE2000 by which the original's own letters differ from one another, where it is known.
    note : str
        A small line for the foot of the page.
    """
    shares = share_out(trial, original, film_ratio=film_ratio, draws=draws, seed=seed, as_new=as_new)
    words = sentence(shares, tolerance=tolerance)
    panels = pictures(trial, original, trial_sheet, original_sheet, float(np.median(np.asarray(film_ratio))))
    fractions = {name: shares.fraction(name) for name in shares.parts}
    page = png(compose(words, panels, fractions, note=note))
    return Comparison(sentence=words, shares=shares, panels=panels, page=page, tolerance=tolerance)


def pictures(
    trial: Side,
    original: Side,
    trial_sheet: Sheet | None,
    original_sheet: Sheet | None,
    film_ratio: float = 1,
) -> tuple[Panel, ...]:
    """Return the panels: original, trial on its skin, re-inked with and without wear, difference."""
    both = middle_pair(trial, original, film_ratio=film_ratio)
    mine, theirs, k2 = both.trial, both.original, both.k2
    own = curve(theirs.film[0], theirs.support[0], float(theirs.gleam[0]), k2)
    other = curve(mine.film[0] * film_ratio, theirs.support[0], float(theirs.gleam[0]), k2)
    page = _shown(original_sheet, theirs, own)
    whole = value("compare.whole")
    again, fresh = reink(page, own, other), reink(page, own, other, worn=False, whole=whole)
    apart = ciede2000(linear_to_lab(page.linear), linear_to_lab(again))
    top = value("compare.words.map_top")
    own_whole = reink(page, own, own, worn=False, whole=whole)
    return (
        Panel(picture=tone(page.linear), caption="The page"),
        Panel(picture=_beside(trial_sheet, page, mine, theirs, k2), caption="Your line on the page's skin"),
        Panel(picture=tone(again), caption="In your ink, worn as it is"),
        Panel(picture=difference_map(apart, top), caption="The inks differ (dark: more)"),
        Panel(picture=tone(fresh), caption="In your ink, without wear"),
        Panel(picture=tone(own_whole), caption="In its own ink, without wear"),
    )


def _shown(sheet: Sheet | None, laid: Laid, own: Curve) -> Sheet:
    if sheet is None:
        return plain_stroke(_bare(laid), own)
    return framed(sheet, PANEL, _fit(sheet))


def _fit(sheet: Sheet) -> float:
    """Return the scale at which a panel shows some `_ACROSS` strokes' widths, never more than twofold."""
    return min(2, PANEL[1] / (_ACROSS * max(sheet.stroke_px, 1)))


def _beside(sheet: Sheet | None, page: Sheet, mine: Laid, theirs: Laid, k2: float) -> NDArray[np.uint8]:
    """Return the trial's own strokes carried to the original's skin, at the original's scale."""
    gleam = float(mine.gleam[0])
    here = curve(mine.film[0], mine.support[0], gleam, k2)
    there = curve(mine.film[0], theirs.support[0], float(theirs.gleam[0]), k2)
    bare = np.median(page.support.reshape(-1, 3), axis=0).astype(np.float64)
    if sheet is None:
        return tone(plain_stroke(bare, there).linear)
    shown = framed(sheet, PANEL, relative_scale(sheet, page))
    return tone(carry(shown, here, there, bare))


def _bare(laid: Laid) -> Array:
    return np.asarray(observe.linear_rgb(laid.support[0]) * laid.gain[0])


def plain_stroke(bare: Array, ink: Curve) -> Sheet:
    """Return a sheet with one broad stroke across it, for a side of which there is no picture."""
    height, width = PANEL
    strokes = np.zeros(PANEL, dtype=bool)
    strokes[height // 3 : 2 * height // 3, width // 8 : 7 * width // 8] = True
    support = np.broadcast_to(bare.astype(np.float32), (*PANEL, 3)).copy()
    linear = np.where(strokes[..., None], support * ink.whole().astype(np.float32), support)
    return Sheet(
        linear=linear.astype(np.float32),
        support=support,
        strokes=strokes,
        worn=np.zeros(PANEL, dtype=bool),
        blur_px=1,
        stroke_px=height / 3,
    )
