"""Which single check is worth doing first: the value of a reading for this decision.

For each quick reading, its result is foreseen on every draw; given a result,
the draws that could have given it weigh more, and the best course may be
another. What the expected loss falls by, averaged over results, is the
reading's worth (expected value of sample information). Everything is computed
from the courses already tried: no further replay but one.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel.actions import Action
from inkhorn.counsel.result import Check
from inkhorn.counsel.search import Pool
from inkhorn.counsel.trial_run import Table, narrowed
from inkhorn.estimate.contents import chalk_under, dry_stroke
from inkhorn.handbook.load import value
from inkhorn.replay import composition, seen
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING
from inkhorn.replay.predict import ML_PER_L
from inkhorn.replay.strokes import areal, density, film_laid, one_ml

Array = NDArray[np.float64]


@attrs.frozen(kw_only=True, eq=False)
class Quick:
    """A quick reading: what it would read on each draw, (M, c), and its error."""

    reading: str
    foreseen: Array
    sd: float
    ask: str


def worth(foreseen: Array, sd: float, loss: Array, noise: Array) -> float:
    """Return the expected fall of the loss from one reading.

    Parameters
    ----------
    foreseen : ndarray, shape (M, c)
        What would be read on each draw, without error.
    sd : float
        Its error, same unit.
    loss : ndarray, shape (K, M)
        Loss of each course on each draw.
    noise : ndarray, shape (M, c)
        Standard-normal errors of the readings simulated, one a draw.
    """
    seen = foreseen + sd * noise
    off = (seen[:, None, :] - foreseen[None, :, :]) / sd
    log_w = -0.5 * np.sum(off**2, axis=-1)
    weights = np.exp(log_w - log_w.max(axis=1, keepdims=True))
    weights /= weights.sum(axis=1, keepdims=True)
    after = (loss @ weights.T).min(axis=0).mean()
    # Both sides use the same draws, so that knowing less never looks better by chance.
    before = loss.mean(axis=1).min()
    return float(max(before - after, 0.0))


def quick_readings(table: Table) -> Sequence[Quick]:
    """Return the quick readings of the pot as it is, foreseen on each of the table's draws."""
    world, draws = narrowed(table), Draws(table.unknowns, table.z)
    state = world.vessels[table.vessel]
    liquor, warm, name = state.liquor, state.temperature, table.vessel.replace("-", " ")
    ml = composition.volume(liquor, warm)
    residue = seen.dry_residue(liquor, draws) * ML_PER_L / np.maximum(ml, NOTHING)
    ink = one_ml(liquor, warm)
    film = film_laid(
        tool="",
        method="drop",
        viscosity=seen.viscosity(liquor, warm, draws),
        draws=draws,
        pen_kind=None,
    )
    plan = table.post.problem.plan
    chalk = chalk_under(table.hand, plan, draws)
    thinned = density(areal(ink * (1 / 8), film, 1.0, draws, chalk), table.goal.reflectance, draws)
    stroke = dry_stroke(state, table.hand, plan, table.goal.reflectance, draws).density
    e = "counsel.check."
    return (
        Quick(
            reading="ph",
            foreseen=seen.acidity(liquor, warm, draws)[:, None],
            sd=value(e + "ph"),
            ask=f"dip a pH strip in the {name}",
        ),
        Quick(
            reading="volume",
            foreseen=np.log(np.maximum(ml, 1e-9))[:, None],
            sd=value(e + "volume"),
            ask=f"read the {name} on a kitchen jug",
        ),
        Quick(
            reading="viscosity",
            foreseen=np.log(seen.viscosity(liquor, warm, draws))[:, None],
            sd=value(e + "viscosity"),
            ask=f"count how long ten drops of the {name} take, against water",
        ),
        Quick(
            reading="dry_residue",
            foreseen=np.log(np.maximum(residue, 1e-9))[:, None],
            sd=value(e + "residue"),
            ask=f"dry a measured spoonful of the {name} and weigh what stays",
        ),
        Quick(
            reading="photo",
            foreseen=stroke * table.luck[:, None],
            sd=value(e + "stroke"),
            ask=f"write one line with the {name}, let it dry for a day and photograph it",
        ),
        Quick(
            reading="drop",
            foreseen=thinned * table.luck[:, None],
            sd=value(e + "drop"),
            ask=f"put down a drop of the {name} thinned one in eight, and photograph it dry",
        ),
    )


def check_first(table: Table, actions: Sequence[Action], pool: Pool, seed: int) -> tuple[Check, ...]:
    """Return the checks worth doing before acting, the best first; empty where none is."""
    del actions
    rng = np.random.default_rng(np.random.SeedSequence([seed, len(pool.loss)]))
    found = []
    for quick in quick_readings(table):
        gain = worth(quick.foreseen, quick.sd, pool.loss, rng.standard_normal(quick.foreseen.shape))
        if gain >= value("counsel.gain"):
            found.append(Check(reading=quick.reading, gain=gain, sentence=_sentence(quick, gain)))
    return tuple(sorted(found, key=lambda c: -c.gain))


def _sentence(quick: Quick, gain: float) -> str:
    text = quick.ask[0].upper() + quick.ask[1:]
    return f"{text} first: knowing that should bring you {gain:.1f} steps of colour nearer the page."
