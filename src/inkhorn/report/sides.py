"""The two sides of a comparison, from what a daybook holds of a trial and of an original."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path

import attrs
import numpy as np

from inkhorn.compare import pens, sides
from inkhorn.compare.photos import photo_side
from inkhorn.compare.picture import Sheet
from inkhorn.daybook.entries import Mark, Reading
from inkhorn.daybook.names import resolve_pen
from inkhorn.errors import CounselError
from inkhorn.handbook.load import value
from inkhorn.imaging.photo import read_photo
from inkhorn.replay import scene, target
from inkhorn.replay.combine import Combined
from inkhorn.replay.fold import Plan
from inkhorn.replay.liquor import Array
from inkhorn.replay.target import PhotoMeasure

_PEN_METHODS = ("pen", "line", "pangram")
_SHOWS = ("photo", "optical_density", "lab")
#: Where a kept picture lies.
Place = Callable[[str], Path]


@attrs.frozen(kw_only=True, eq=False)
class Seen:
    """One side with its pixels, where there is a picture.

    Attributes
    ----------
    side : Side
    sheet : Sheet or None
    width : float or None
        Usual width of its strokes, mm, where there is a scale.
    tolerance : float
        CIEDE2000 by which its own letters differ from one another; 0 where nothing tells.
    notices : tuple of str
        What a reader should know of it.
    """

    side: sides.Side
    sheet: Sheet | None
    width: float | None = None
    tolerance: float = 0.0
    notices: tuple[str, ...] = ()


def original(plan: Plan, name: str, place: Place) -> Seen:
    """Return an original: everything measured of it together, shown by the picture nearest to that.

    Raises
    ------
    CounselError
        Neither a photograph nor a density nor a colour of its ink is known.
    """
    mine = [(n, r) for n, _, r in _readings(plan, f"exemplar:{name}")]
    bare = [r for _, r in mine if r.what == "support_lab"]
    prior = scene.triple(bare[-1]) if bare else None
    prior_sd = scene.reading_sd(bare[-1]) if bare and bare[-1].sd is not None else None
    seen = _gather(
        f"exemplar {name!r}", mine, scene.exemplar_measures(mine, plan.scene.photos), prior, prior_sd, place
    )
    goal = plan.scene.targets[name]
    return attrs.evolve(seen, tolerance=goal.tolerance, notices=tuple(text for _, text in goal.apart))


def trial(plan: Plan, name: str, place: Place) -> Seen:
    """Return a trial as it was last seen.

    Readings of about the same age count together; those of a stroke still darkening do not.

    Raises
    ------
    CounselError
        Neither a photograph nor a density nor a colour of it is known.
    """
    support = plan.shelf.trials[name].support
    ground = scene.usual_ground(plan.scene, support) if support else None
    prior, prior_sd = (None, None) if ground is None else (ground.lab, ground.lab_sd)
    made = mark_of(plan, name)
    mine = settled(_readings(plan, f"trial:{name}"), None if made is None else made.at)
    measures = [m for m in (scene.measure_of(n, r, plan.scene.photos) for n, r in mine) if m is not None]
    if prior is not None and prior_sd is not None:
        measures += [
            target.measure_of_lab(scene.triple(r), scene.reading_sd(r), prior, prior_sd, n)
            for n, r in mine
            if r.what == "lab"
        ]
    seen = _gather(f"trial {name!r}", mine, measures, prior, prior_sd, place)
    if made is None or made.thinned is None:
        return seen
    thin = (
        f"{name} was thinned ({made.thinned.text}): it is compared as it lies there, not as the ink writes."
    )
    return attrs.evolve(seen, notices=(*seen.notices, thin))


def film_ratio(plan: Plan, name: str, mine: Seen, theirs: Seen, pen: str | None, seed: int) -> Array:
    """Return draws of how much more film the original's pen laid than this trial's.

    Parameters
    ----------
    pen : str or None
        The original's pen, where it is known: "quill". Otherwise a trial by pen stands for
        its kind, and for one that was dipped or dropped any pen that writes will do.
    """
    made = mark_of(plan, name)
    kind = "goose-quill" if made is None else made.method
    width = None
    if made is None or made.method in _PEN_METHODS:
        kind = plan.scene.pens.get((made.pen if made else None) or "", "goose-quill")
        told = plan.scene.widths.get((made.pen if made else None) or "")
        width = mine.width or (None if told is None else told.value)
    return pens.between_hands(
        kind,
        None if pen is None else resolve_pen(pen),
        trial_width=width,
        original_width=theirs.width,
        seed=seed,
    )


def mark_of(plan: Plan, name: str) -> Mark | None:
    """Return the mark that a trial was made by."""
    for line in plan.entries:
        if isinstance(line.entry, Mark) and line.entry.trial == name:
            return line.entry
    return None


def settled(
    readings: Sequence[tuple[int, datetime, Reading]], made: datetime | None
) -> list[tuple[int, Reading]]:
    """Return the readings of a trial that show the same ink as the newest: those not much younger than it."""
    shows = [(n, at, r) for n, at, r in readings if r.what in _SHOWS]
    if not shows:
        return []
    newest = max(at for _, at, _ in shows)
    start = min((at for _, at, _ in shows), default=newest) if made is None else made
    least = value("exemplar.compare.settled") * (newest - start).total_seconds()
    return [(n, r) for n, at, r in shows if (at - start).total_seconds() >= least]


def _readings(plan: Plan, of: str) -> list[tuple[int, datetime, Reading]]:
    return [
        (e.number, e.entry.at, e.entry)
        for e in plan.entries
        if isinstance(e.entry, Reading) and e.entry.of == of
    ]


def _gather(
    who: str,
    mine: Sequence[tuple[int, Reading]],
    measures: Sequence[PhotoMeasure],
    prior: Array | None,
    prior_sd: Array | None,
    place: Place,
) -> Seen:
    """Return one side from its measures: their combination, with the pixels of the picture nearest to it."""
    if not measures:
        raise CounselError(
            f"nothing was measured of {who} yet", mend="Photograph it, or record its optical_density or lab"
        )
    ground = sides.skin(prior=prior, prior_sd=prior_sd)
    found = target.together(measures, ground.lab)
    picture = _nearest(mine, measures, found)
    if picture is None:
        side = sides.from_numbers(found.density, 0, lab=prior, lab_sd=prior_sd)
        return Seen(side=attrs.evolve(side, covariance=found.covariance), sheet=None)
    photo = read_photo(place(picture))
    side, sheet = photo_side(photo.picture, photo.maps, photo.reading, prior=prior, prior_sd=prior_sd)
    if len(measures) > 1:
        side = attrs.evolve(side, density=found.density, covariance=found.covariance)
    scale = sheet.mm_per_px
    return Seen(side=side, sheet=sheet, width=None if scale is None else sheet.stroke_px * scale)


def _nearest(
    mine: Sequence[tuple[int, Reading]], measures: Sequence[PhotoMeasure], found: Combined
) -> str | None:
    """Return the kept picture whose density lies nearest to all of them together; the newest of equals."""
    by_number = {m.number: m for m in measures}
    photos = [(by_number[n], str(r.value)) for n, r in mine if r.what == "photo" and n in by_number]
    if not photos:
        return None
    off = [float(np.sum((m.density - found.density) ** 2)) for m, _ in photos]
    best = len(off) - 1 - int(np.argmin(off[::-1]))
    return photos[best][1]


def file_name(name: str) -> str:
    """Return a name fit for a file: letters, digits and hyphens."""
    return re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-").lower() or "unnamed"
