"""Which single check is worth doing first, and whether any is.

Each quick reading of the pot, of a stroke and of the page is foreseen on every
draw; `inkhorn.counsel.worth` tells what knowing it brings, in steps of colour
and in ml of ink. Everything is computed from the courses already tried.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel.plain import steps_words
from inkhorn.counsel.result import Check
from inkhorn.counsel.search import Pool
from inkhorn.counsel.trial_run import Outcome, Table, narrowed
from inkhorn.counsel.worth import chosen, weights_of
from inkhorn.estimate.contents import chalk_under, dry_stroke
from inkhorn.handbook.load import value
from inkhorn.replay import composition, seen, strokes
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING
from inkhorn.replay.predict import ML_PER_L
from inkhorn.replay.strokes import areal, density, film_laid, one_ml
from inkhorn.replay.world import VesselState

Array = NDArray[np.float64]
#: What the outcomes of a reading are called, low and high.
_ENDS = {
    "ph": ("sourer", "milder"),
    "volume": ("less", "more"),
    "discharge": ("quicker", "slower"),
    "specific_gravity": ("lighter", "heavier"),
    "dry_residue": ("less", "more"),
    "photo": ("paler", "darker"),
    "drop": ("paler", "darker"),
    "depth": ("paler", "darker"),
    "hue": ("bluer", "browner"),
    "page": ("paler", "darker"),
    "total_iron": ("less", "more"),
}


@attrs.frozen(kw_only=True, eq=False)
class Quick:
    """A quick reading: what it would read on each draw, (M, c), and its error.

    ``shown`` turns a foreseen figure into words for a person; None where only
    less or more can be said.
    """

    reading: str
    foreseen: Array
    sd: float
    ask: str
    shown: Callable[[float], str] | None = None

    @property
    def cost(self) -> float:
        """Return the trouble of it, in units of CIEDE2000."""
        return value(f"counsel.check.{self.reading}.trouble")


def quick_readings(table: Table) -> Sequence[Quick]:
    """Return the quick readings of the pot as it is, foreseen on each of the table's draws."""
    world, draws = narrowed(table), Draws(table.unknowns, table.z)
    state = world.vessels[table.vessel]
    liquor, warm, name = state.liquor, state.temperature, table.vessel.replace("-", " ")
    ml = composition.volume(liquor, warm)
    litres = np.maximum(ml, NOTHING) / ML_PER_L
    plan = table.post.problem.plan
    stroke = dry_stroke(state, table.hand, plan, table.goal.reflectance, draws).density
    # What the strip is more than the page: how much darker (L*), how much browner (b*).
    beside = strokes.lab_on(stroke, table.goal.bare_rgb) - strokes.lab_on(table.aim, table.goal.bare_rgb)

    def quick(reading: str, foreseen: Array, ask: str, shown: Callable[[float], str] | None = None) -> Quick:
        flat = foreseen if foreseen.ndim == 2 else foreseen[:, None]
        return Quick(
            reading=reading, foreseen=flat, sd=value(f"counsel.check.{reading}.error"), ask=ask, shown=shown
        )

    def log(x: Array) -> Array:
        return np.log(np.maximum(x, NOTHING))

    return (
        quick(
            "ph", seen.acidity(liquor, warm, draws), f"dip a pH strip in the {name}", lambda x: f"pH {x:.1f}"
        ),
        quick("volume", log(ml), f"read the {name} on a kitchen jug", lambda x: f"{np.exp(x):.0f} ml"),
        quick(
            "discharge",
            log(seen.viscosity(liquor, warm, draws)),
            f"time a dropper or syringe of the {name} running out, and the same of water",
        ),
        quick(
            "specific_gravity",
            seen.specific_gravity(liquor, warm, draws),
            f"weigh a measured glass of the {name}, or float a hydrometer in it",
            lambda x: f"{x:.3f}",
        ),
        quick(
            "dry_residue",
            log(seen.dry_residue(liquor, draws) / litres),
            f"dry a measured spoonful of the {name} and weigh what stays",
            lambda x: f"{np.exp(x):.0f} g in a litre",
        ),
        quick(
            "photo",
            stroke * table.luck[:, None],
            f"write one line with the {name}, let it dry for a day and photograph it",
        ),
        quick(
            "drop",
            _thinned(table, state, draws) * table.luck[:, None],
            f"put down a drop of the {name} thinned one in eight, and photograph it dry",
        ),
        *(
            (
                quick(
                    "depth", -beside[:, 0], "hold your last dry strip beside the page and say which is darker"
                ),
                quick(
                    "hue", beside[:, 2], "hold your last dry strip beside the page and say which is browner"
                ),
            )
            if table.post.played.world.trials
            else ()
        ),
        quick("page", table.aim, "photograph the page once more, in other light"),
        quick(
            "total_iron",
            log(composition.iron_total(liquor) / litres),
            f"send a spoonful of the {name} to a laboratory for its iron",
        ),
    )


def _thinned(table: Table, state: VesselState, draws: Draws) -> Array:
    """Return the density of a dry drop of the pot thinned one in eight, (M, 3)."""
    ink = one_ml(state.liquor, state.temperature)
    film = film_laid(
        tool="",
        method="drop",
        viscosity=seen.viscosity(state.liquor, state.temperature, draws),
        draws=draws,
        pen_kind=None,
    )
    chalk = chalk_under(table.hand, table.post.problem.plan, draws)
    return density(areal(ink * (1 / 8), film, 1.0, draws, chalk), table.goal.reflectance, draws)


def check_first(table: Table, every: Pool, said: Callable[[Array], str]) -> tuple[Check, ...]:
    """Return the checks worth their trouble before acting, the best first; empty where none is.

    Parameters
    ----------
    every : Pool
        All courses tried.
    said : callable
        Returns in few words what a course of given amounts is, for telling what an outcome would change.
    """
    pool = every.only(every.contenders())
    rng = np.random.default_rng(np.random.SeedSequence([table.post.seed, every.tried]))
    found: list[tuple[float, Check]] = []
    matched, draws = (pool.distance <= table.match) & pool.safe, np.arange(pool.distance.shape[1])
    for quick in quick_readings(table):
        picked = chosen(quick.foreseen, quick.sd, pool.judged, rng.standard_normal(quick.foreseen.shape))
        gain = picked.gain(pool.judged)
        if gain - quick.cost < value("counsel.gain"):
            continue
        # More ink left is ink saved.
        ml = -picked.fall(pool.volume)
        before, after = (float(matched[k, draws].mean()) for k in (picked.not_knowing, picked.knowing))
        check = Check(
            reading=quick.reading,
            gain=gain,
            ml=ml,
            sentence=_sentence(quick, before, after, ml),
            turns=turning(quick, pool, said),
        )
        found.append((quick.cost - gain, check))
    return tuple(check for _, check in sorted(found, key=lambda f: f[0]))


def to_know(table: Table, still: Outcome) -> Check | None:
    """Return the reading that tells most surely how far the pot is from a match; None where none tells anything.

    For where no reading would by itself change what to do: what it leaves unsure of the difference in L*, a*, b*
    and of whether the ink flows is reckoned as for normal numbers, by linear regression on what would be read.

    Parameters
    ----------
    still : Outcome
        Of doing nothing, as course 0.
    """
    rgb = table.goal.bare_rgb
    colour = strokes.lab_on(still.density[0], rgb) - strokes.lab_on(table.aim, rgb)
    apart = np.column_stack([colour, value("counsel.weight.flow") * still.flow_ok[0]])
    apart = apart - apart.mean(axis=0)
    before = float(np.sqrt(np.mean(np.sum(apart**2, axis=1))))
    best: tuple[float, Check] | None = None
    for quick in quick_readings(table):
        seen = quick.foreseen - quick.foreseen.mean(axis=0)
        spread = seen.T @ seen / len(seen) + quick.sd**2 * np.eye(seen.shape[1])
        shared = seen.T @ apart / len(seen)
        told = float(np.sum(shared * np.linalg.solve(spread, shared)))
        surer = before - float(np.sqrt(max(before**2 - told, 0.0)))
        ahead = surer - quick.cost
        if surer >= value("counsel.surer") and (best is None or ahead > best[0]):
            sentence = (
                f"{quick.ask[0].upper()}{quick.ask[1:]}: that tells best how far you still are from the page "
                f"({steps_words(surer)} surer)."
            )
            best = (ahead, Check(reading=quick.reading, gain=0.0, ml=0.0, sentence=sentence))
    return None if best is None else best[1]


def _sentence(quick: Quick, before: float, after: float, ml: float) -> str:
    text = quick.ask[0].upper() + quick.ask[1:]
    # numbers-in-code: less than a spoonful is not worth telling
    ink = f" and save about {ml:.0f} ml of ink" if ml >= 5 else ""
    better = f"bring the next stroke nearer{ink}"
    # numbers-in-code: chances are told in hundredths
    if round(100 * after) > round(100 * before):
        better = f"raise the chance that the next stroke matches from {100 * before:.0f} to {100 * after:.0f} %{ink}"
    return f"{text}: knowing that should {better}."


def turning(quick: Quick, pool: Pool, said: Callable[[Array], str]) -> str:
    """Return which outcome of a reading would make another course the best, in a sentence; "" where none would.

    The outcome is walked over the middle nine tenths of what it may be; the
    first place on either side of the middle where the best course uses other
    means than at the middle is told.
    """
    line = quick.foreseen.mean(axis=1)
    # numbers-in-code: where the outcome is walked through, as shares of the draws
    places = np.quantile(line, np.linspace(0.05, 0.95, 13))
    rows = np.array([quick.foreseen[np.argmin(np.abs(line - p))] for p in places])
    best = pool.judged.expected(weights_of(rows, quick.foreseen, quick.sd)).argmin(axis=0)
    middle = len(places) // 2
    told = []
    for way, walk in ((0, range(middle - 1, -1, -1)), (1, range(middle + 1, len(places)))):
        for j in walk:
            if not np.array_equal(pool.amounts[best[j]] > 0, pool.amounts[best[middle]] > 0):
                than = quick.shown(float(places[j])) if quick.shown else "expected"
                told.append(f"{_ENDS[quick.reading][way]} than {than}: {said(pool.amounts[best[j]])}")
                break
    return "If it is " + "; if ".join(told) + "." if told else ""
