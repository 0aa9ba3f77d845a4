r"""Draws of new lots: what next year's leaf may be, given what this year's taught.

Where the next lot is of the same source as the last, a share ``r`` of the
variance of each of its properties is common (`inkhorn.replay.kin`). With ``z``
the standard-normal number of the old lot, its posterior draws in hand, that of
the new one is

.. math:: z' = r z + \sqrt{r (1 - r)}\,\eta + \sqrt{1 - r}\,\epsilon ,

which is what the common part, known through the old lot alone, and a part of
its own add up to. Where several lots of the source taught the common part
itself, ``z' = sqrt(r) z_common + sqrt(1 - r) epsilon``. A lot from elsewhere, or
of a source nobody named, is drawn from the handbook.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection, Iterable, Mapping

import numpy as np
from numpy.typing import NDArray

from inkhorn.estimate.posterior import Posterior
from inkhorn.handbook.load import group, value
from inkhorn.replay.draws import Draws, Scout, Unknown, standard_normal

Array = NDArray[np.float64]
_OF_LOT = re.compile(r"lot:(?P<lot>[^/]+)/(?P<key>.+)")


class Hands(Draws):
    """Draws in which the amounts that hands take can be said one after the other."""

    def say(self, number: int, key: str, amount: Array) -> None:
        """Say what was taken at a step, (N,)."""
        self._fixed[(number, key)] = amount


def picked(post: Posterior, count: int) -> NDArray[np.intp]:
    """Return which draws of a posterior stand for it, evenly over its particles."""
    return np.linspace(0, post.z.shape[1] - 1, min(count, post.z.shape[1])).astype(int)


def same_source(post: Posterior, lots: Iterable[str], elsewhere: Collection[str] = ()) -> frozenset[str]:
    """Return the lots whose next gathering is of the same source: those of which a source was told."""
    shelf = post.problem.plan.shelf.lots
    return frozenset(
        lot for lot in lots if lot not in elsewhere and lot in shelf and (shelf[lot].source or "").strip()
    )


def old_draws(
    post: Posterior, picks: NDArray[np.intp], asked: Callable[[Draws], object], label: str
) -> Hands:
    """Return the posterior's own draws, and those of whatever else ``asked`` asks for."""
    unknowns, z = _with_asked(post, picks, post.problem.unknowns, post.z[:, picks], asked, label)
    return Hands(unknowns, z)


def new_draws(
    post: Posterior,
    picks: NDArray[np.intp],
    lots: Collection[str],
    kin: Collection[str],
    asked: Callable[[Draws], object],
    label: str,
) -> Hands:
    """Return draws in which some lots are new and all else is as the posterior has it.

    Parameters
    ----------
    picks : ndarray of int
        Which draws of the posterior.
    lots : collection of str
        The lots to be had anew.
    kin : collection of str
        Those of them that come from the same source as before.
    asked : callable
        Asks draws for all that will be needed.
    label : str
        Of the stream of chance.
    """
    unknowns = dict(post.problem.unknowns)
    z = post.z[:, picks].copy()
    rows = {name: i for i, name in enumerate(unknowns)}
    for name, known in list(unknowns.items()):
        found = _OF_LOT.fullmatch(name)
        if found and found["lot"] in lots:
            common = post.z[rows[known.common]][picks] if known.common else None
            share = _shared(found["key"]) if found["lot"] in kin else 0.0
            z[rows[name]] = _renewed(post, known, z[rows[name]], common, share, label)
            unknowns[name] = Unknown(name, known.prior)
    unknowns, z = _with_asked(post, picks, unknowns, z, asked, label)
    return Hands(unknowns, z)


def _shared(key: str) -> float:
    return value(f"harvest.kin.{key}") if key in group("harvest.kin") else 0.0


def _renewed(
    post: Posterior, known: Unknown, own: Array, common: Array | None, share: float, label: str
) -> Array:
    """Return the standard-normal numbers of a new lot's property, (N,)."""
    n = len(own)
    fresh = standard_normal(post.seed, f"{label} {known.name} own", n)
    if common is not None:
        return math.sqrt(share) * common + math.sqrt(1 - share) * fresh
    unsure = standard_normal(post.seed, f"{label} {known.name} source", n)
    return share * own + math.sqrt(share * (1 - share)) * unsure + math.sqrt(1 - share) * fresh


def _with_asked(
    post: Posterior,
    picks: NDArray[np.intp],
    unknowns: Mapping[str, Unknown],
    z: Array,
    asked: Callable[[Draws], object],
    label: str,
) -> tuple[dict[str, Unknown], Array]:
    """Return the unknowns with those that ``asked`` asks for beside them, and their numbers."""
    scout = Scout()
    asked(scout)
    more = {name: u for name, u in scout.met.items() if name not in unknowns}
    rows = [standard_normal(post.seed, f"{label} {name}", post.z.shape[1])[picks] for name in more]
    both = np.concatenate([z, np.array(rows).reshape(len(rows), z.shape[1])], axis=0)
    return {**unknowns, **more}, both
