"""Questions to counsel as a workshop passes them on: methods that want nothing of it but its draws."""

from __future__ import annotations

from collections.abc import Callable, Collection
from datetime import datetime
from typing import Protocol

from inkhorn.counsel.again import make
from inkhorn.counsel.again.result import Recipe
from inkhorn.counsel.daily import adjust
from inkhorn.counsel.daily.result import Today
from inkhorn.estimate.posterior import Posterior

Progress = Callable[[float], None]


class Shop(Protocol):
    """Whoever has posterior draws of a daybook."""

    def _posterior(self, seed: int, progress: Progress | None = None) -> Posterior: ...


def again(
    self: Shop,
    vessel: str,
    *,
    trial: str | None = None,
    ml: float | None = None,
    elsewhere: Collection[str] = (),
    seed: int = 0,
    progress: Progress | None = None,
) -> Recipe:
    """Return how to make a vessel's ink again from new lots of unknown strength.

    Parameters
    ----------
    trial : str, optional
        The ink as it was when this trial was written; else as it is.
    ml : float, optional
        How much is wanted; else as much as there is or was.
    elsewhere : collection of str
        Lots that will come from another source than before.
    """
    post = self._posterior(seed, progress)
    return make.again(post, vessel, trial=trial, ml=ml, elsewhere=elsewhere)


def today(
    self: Shop,
    vessel: str,
    *,
    like: str,
    strokes: Collection[str] = (),
    temperature: str | None = None,
    at: datetime | None = None,
    seed: int = 0,
    progress: Progress | None = None,
) -> Today:
    """Return what brings a vessel's ink back to what it was when a trial was written with it.

    Parameters
    ----------
    like : str
        The trial that it should be like.
    strokes : collection of str
        This morning's trials.
    temperature : str, optional
        The morning's warmth: ``"14 degC"``.
    at : datetime, optional
        When; the last entry if left out.
    """
    post = self._posterior(seed, progress)
    return adjust.adjust(post, vessel, like=like, strokes=strokes, temperature=temperature, at=at)
