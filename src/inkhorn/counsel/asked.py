"""Questions to counsel as a workshop passes them on: methods that want nothing of it but its draws."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import Protocol

from inkhorn.counsel.again import make
from inkhorn.counsel.again.result import Recipe
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
