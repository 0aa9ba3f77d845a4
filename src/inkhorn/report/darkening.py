"""How a trial has darkened: its readings over time, the model's band through them, and how much is still to come."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import attrs
import numpy as np

from inkhorn.compare.same_strokes import follow
from inkhorn.counsel.plain import share_words
from inkhorn.daybook.entries import Mark, Reading
from inkhorn.daybook.names import said
from inkhorn.errors import CounselError, PictureError
from inkhorn.estimate.figures import Figure, figure
from inkhorn.estimate.posterior import Posterior
from inkhorn.imaging.load import load_picture
from inkhorn.imaging.photo import read_photo
from inkhorn.replay import scene, strokes
from inkhorn.replay.liquor import Array
from inkhorn.report import words

CHANNELS = ("R", "G", "B")
# numbers-in-code: how finely a curve is drawn, and on which side of the readings
_STEPS = 40
_FIRST_S, _LEAST_SPAN_S = 30.0, 7 * 86400.0


@attrs.frozen(kw_only=True, eq=False)
class Point:
    """One look at the trial.

    Attributes
    ----------
    entry : int
        Its number in the daybook.
    what : str
        "photo" or "optical_density".
    seconds : float
        Since the mark was made.
    density, sd : ndarray (3,)
    followed : bool
        The strokes of the newest photograph were found again in this one and measured there;
        otherwise the whole picture's ink was.
    """

    entry: int
    what: str
    seconds: float
    density: Array
    sd: Array
    followed: bool

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        channels = zip(CHANNELS, self.density, self.sd, strict=True)
        return {
            "entry": self.entry,
            "what": self.what,
            "after_s": self.seconds,
            "optical_density": {
                c: {"value": round(float(d), 4), "sd": round(float(s), 4)} for c, d, s in channels
            },
            "followed": self.followed,
        }


@attrs.frozen(kw_only=True, eq=False)
class Darkening:
    """A trial's darkening: points, band and what is to come.

    Attributes
    ----------
    points : tuple of Point
        In order of time.
    seconds : ndarray (T,)
        Times of the band.
    band : tuple of mapping
        For each time a figure a channel.
    share : Figure
        Share of its final colour at the newest reading.
    ninety : Figure
        Seconds from the mark until nine tenths of the final colour are there.
    """

    trial: str
    marked_at: str
    points: tuple[Point, ...]
    seconds: Array
    band: tuple[Mapping[str, Figure], ...]
    share: Figure
    ninety: Figure
    notices: tuple[str, ...] = ()

    @property
    def sentence(self) -> str:
        """Return the series in plain words."""
        first, last = self.points[0], self.points[-1]
        if len(self.points) == 1:
            text = (
                f"{said(self.trial)} was read once, {span(first.seconds)} after it was written: it gave back "
            )
            text += f"{light_words(last.density)} of the skin's light."
        else:
            text = f"{said(self.trial)} was read {len(self.points)} times, from {span(first.seconds)} to "
            text += (
                f"{span(last.seconds)} after it was written: it gave back {light_words(first.density)} of "
            )
            text += f"the skin's light at first, and {light_words(last.density)} in the end."
        low, middle, high = (round(100 * v) for v in (self.share.p05, self.share.median, self.share.p95))
        # numbers-in-code: what the words mean
        much = "nearly all" if middle > 97 else f"about {middle} percent"
        text += f" It then had {much} of its final colour (surely {low} to {high} percent)."
        return f"{text} Nine tenths are there after about {span(self.ninety.median)}."

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "trial": self.trial,
            "marked_at": self.marked_at,
            "points": [p.to_dict() for p in self.points],
            "band": [
                {
                    "after_s": round(float(at), 1),
                    "optical_density": {c: f.to_dict() for c, f in row.items()},
                }
                for at, row in zip(self.seconds, self.band, strict=True)
            ],
            "share_now": self.share.to_dict(),
            "nine_tenths": self.ninety.to_dict(),
            "sentence": self.sentence,
            "notices": list(self.notices),
        }


def darkening(post: Posterior, trial: str, place: Callable[[str], Path]) -> Darkening:
    """Line the readings of a trial up over time and lay the estimate's band through them.

    Parameters
    ----------
    post : Posterior
    trial : str
    place : callable
        Where a kept picture lies.

    Raises
    ------
    CounselError
        The trial is unknown, was never read by density, or its pot is withheld.
    """
    plan = post.problem.plan
    made = next((e.entry for e in plan.entries if isinstance(e.entry, Mark) and e.entry.trial == trial), None)
    state = post.played.world.trials.get(trial)
    if made is None or state is None:
        known = words.joined(list(plan.shelf.trials)) or "none yet"
        raise CounselError(
            f"there is no trial {trial!r} with a mark", mend=f"Trials of this daybook: {known}"
        )
    if state.withheld:
        raise CounselError(str(state.withheld), where=trial, mend="Ask about another trial")
    points, notices = _points(post, trial, made, place)
    if not points:
        raise CounselError(
            f"nothing was measured of {trial!r} yet",
            mend="Photograph it, again and again if you like, or record its optical_density",
        )
    last = points[-1].seconds
    seconds = np.geomspace(
        max(min(_FIRST_S, points[0].seconds or _FIRST_S), 1), max(2 * last, _LEAST_SPAN_S), _STEPS
    )
    ground = plan.scene.supports[state.support]
    rows = []
    for at in seconds:
        density = strokes.trial_density(state, float(at), ground, post.draws)
        rows.append({c: figure(density[:, i], "1") for i, c in enumerate(CHANNELS)})
    done = np.stack([strokes.progress(float(at), post.draws, state.ready) for at in seconds])
    return Darkening(
        trial=trial,
        marked_at=made.at.isoformat(),
        points=tuple(points),
        seconds=seconds,
        band=tuple(rows),
        share=figure(strokes.progress(last, post.draws, state.ready), "1"),
        ninety=figure(_when(done, seconds), "s"),
        notices=tuple(notices),
    )


def _when(done: Array, seconds: Array) -> Array:
    """Return when nine tenths are reached in each draw, (N,); the last time shown where that is later."""
    # numbers-in-code: nine tenths
    there = done >= 0.9
    first = np.where(there.any(axis=0), there.argmax(axis=0), len(seconds) - 1)
    return np.asarray(seconds[first])


def _points(
    post: Posterior, trial: str, made: Mark, place: Callable[[str], Path]
) -> tuple[list[Point], list[str]]:
    plan = post.problem.plan
    points: list[Point] = []
    photos: list[tuple[Point, str]] = []
    for line in plan.entries:
        entry = line.entry
        if not (isinstance(entry, Reading) and entry.of == f"trial:{trial}"):
            continue
        measure = scene.measure_of(line.number, entry, plan.scene.photos)
        if measure is None:
            continue
        point = Point(
            entry=line.number,
            what=str(entry.what),
            seconds=max((entry.at - made.at).total_seconds(), 0.0),
            density=measure.density,
            sd=np.sqrt(np.diag(measure.covariance)),
            followed=False,
        )
        points.append(point)
        if entry.what == "photo":
            photos.append((point, str(entry.value)))
    if len(photos) < 2:
        return sorted(points, key=lambda p: p.seconds), []
    followed, notices = _followed(photos, place)
    points = [followed.get(p.entry, p) for p in points]
    return sorted(points, key=lambda p: p.seconds), notices


def _followed(
    photos: list[tuple[Point, str]], place: Callable[[str], Path]
) -> tuple[dict[int, Point], list[str]]:
    """Return the photographs' points with the newest one's strokes found again in each, where they can be."""
    *earlier, (newest, hash_) = sorted(photos, key=lambda pair: pair[0].seconds)
    try:
        photo = read_photo(place(hash_))
        pictures = [load_picture(place(h)) for _, h in earlier]
        found = follow(photo.picture, photo.maps, photo.reading, pictures)
    except PictureError as error:
        return {}, [f"Each photograph was measured by itself: {error.what}."]
    out = {newest.entry: attrs.evolve(newest, followed=True)}
    lost = []
    for (point, _), one in zip(earlier, found, strict=True):
        if one is None:
            lost.append(str(point.entry))
            continue
        # The reading's own doubt of support and split stays; that of other letters falls away.
        out[point.entry] = attrs.evolve(
            point, density=one[0], sd=np.maximum(one[1], point.sd / 2), followed=True
        )
    if lost:
        which = words.joined(lost)
        many = "Entries" if len(lost) > 1 else "Entry"
        said = "do not show the same strokes as the newest photograph and were measured by themselves"
        if len(lost) == 1:
            said = "does not show the same strokes as the newest photograph and was measured by itself"
        return out, [f"{many} {which} {said}."]
    return out, []


def light_words(density: Array) -> str:
    """Return how much of the skin's light a stroke gives back, from its channel density: "a fifth"."""
    return share_words(float(10.0 ** -density.mean()))


def span(seconds: float) -> str:
    """Return a span of time as one says it: "12 minutes", "3 hours", "2 days"."""
    for size, name in ((86400, "day"), (3600, "hour"), (60, "minute")):
        # numbers-in-code: 80 minutes are minutes, 90 are two hours
        if seconds >= 1.5 * size or seconds == size or (seconds >= size and size == 60):
            count = round(seconds / size)
            return f"{count} {name}{'s' if count != 1 else ''}"
    return f"{round(seconds)} seconds"
