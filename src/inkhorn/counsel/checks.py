"""Which single check is worth doing first, and whether any is.

Each quick reading of the pot, of a stroke and of the page is foreseen on every
draw; `inkhorn.counsel.worth` tells what knowing it brings, in steps of colour
and in ml of ink. Everything is computed from the courses already tried.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel.actions import Action
from inkhorn.counsel.plain import steps_words
from inkhorn.counsel.result import Check
from inkhorn.counsel.saucer import darkness, with_more
from inkhorn.counsel.search import Pool, try_all
from inkhorn.counsel.trial_run import Outcome, Table, narrowed
from inkhorn.counsel.worth import chosen, weights_of
from inkhorn.daybook.entries import Mark, Reading
from inkhorn.estimate.contents import chalk_under, dry_stroke
from inkhorn.handbook.load import value
from inkhorn.replay import composition, ground, of_trial, seen, strokes
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
    "flow": ("freer", "stiffer"),
    "more_iron": ("paler", "darker"),
    "more_tannin": ("paler", "darker"),
}

#: What a reading tells that parts iron in excess from iron that is held.
_IRON = "whether the tannin holds the iron that is there"


@attrs.frozen(kw_only=True, eq=False)
class Quick:
    """A quick reading: what it would read on each draw, (M, c), and its error.

    ``shown`` turns a foreseen figure into words for a person; None where only
    less or more can be said. ``does`` are the entries, without ``at``, of what
    must be done before anything can be read.
    """

    reading: str
    foreseen: Array
    sd: float
    ask: str
    shown: Callable[[float], str] | None = None
    does: tuple[dict[str, Any], ...] = ()

    @property
    def cost(self) -> float:
        """Return the trouble of it, in units of CIEDE2000."""
        return value(f"counsel.check.{self.reading}.trouble")

    @property
    def serves(self) -> float:
        """Return how many strokes to come it serves: of the page what is learnt lasts, a pot is about to be changed."""
        return value("counsel.check.page.serves") if self.reading == "page" else 1.0


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
        *_flow(table),
        *_saucers(table),
    )


def _flow(table: Table) -> Iterator[Quick]:
    """Yield a word on how the last line of the pot flowed, where nobody has said."""
    plan, world = table.post.problem.plan, table.post.played.world
    said = {
        e.entry.subject[1] for e in plan.entries if isinstance(e.entry, Reading) and e.entry.what == "flow"
    }
    marks = [e.entry for e in plan.entries if isinstance(e.entry, Mark)]
    own = [
        m.trial
        for m in marks
        if m.vessel == table.vessel and m.thinned is None and m.method in ground.WITH_PEN
    ]
    last = world.trials.get(own[-1]) if own else None
    if last is None or last.withheld or own[-1] in said:
        return
    thick = of_trial.thickness(last, table.post.draws)[table.picks]
    yield Quick(
        reading="flow",
        foreseen=thick[:, None],
        sd=value("counsel.check.flow.error"),
        ask=f"say how the pen ran when you wrote {own[-1].upper()}: did it skip, run sparingly, well, wet, or flood",
    )


def _saucers(table: Table) -> Iterator[Quick]:
    """Yield strips of a little of the pot with more iron and with more tannin, where that can be had."""
    for more in ("iron", "tannin"):
        saucer = with_more(more, table)
        if saucer is not None:
            yield Quick(
                reading=f"more_{more}",
                foreseen=darkness(saucer, table) * table.luck[:, None],
                sd=value(f"counsel.check.more_{more}.error"),
                ask=saucer.ask,
                does=saucer.entries,
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


def check_first(
    table: Table,
    actions: Sequence[Action],
    every: Pool,
    readings: Sequence[Quick],
    said: Callable[[Array], str],
) -> tuple[Check, ...]:
    """Return the checks worth their trouble before acting, the best first; empty where none is.

    Parameters
    ----------
    table : Table
        Of all draws: on the few that courses are searched on, chance makes worthless checks look worth a tenth
        of a unit either way.
    every : Pool
        All courses tried, on whatever draws; those that could be the best are tried again on these.
    readings : sequence of Quick
        What can be read, foreseen on the table's draws (`quick_readings`).
    said : callable
        Returns in few words what a course of given amounts is, for telling what an outcome would change.
    """
    pool = try_all(table, actions, every.amounts[every.contenders()])
    rng = np.random.default_rng(np.random.SeedSequence([table.post.seed, every.tried]))
    found: list[tuple[float, Check]] = []
    matched, draws = (pool.distance <= table.match) & pool.safe, np.arange(pool.distance.shape[1])
    for quick in readings:
        picked = chosen(quick.foreseen, quick.sd, pool.judged, rng.standard_normal(quick.foreseen.shape))
        gain = picked.gain(pool.judged)
        ahead = quick.serves * gain - quick.cost
        if ahead < value("counsel.gain"):
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
            does=quick.does,
        )
        found.append((-ahead, check))
    return tuple(check for _, check in sorted(found, key=lambda f: f[0]))


def to_know(table: Table, following: Outcome, readings: Sequence[Quick]) -> tuple[Check, ...]:
    """Return the reading that tells most surely how far the next stroke is from a match; empty where none tells anything.

    For where no reading would by itself change what to do: what each leaves unsure of the difference in L*, a*, b*,
    of whether the ink flows and of whether the tannin holds its iron is reckoned as for normal numbers, by linear
    regression on what would be read. Only what can be had at the bench: a laboratory answers after the next trial.

    Parameters
    ----------
    following : Outcome
        Of what is done next, as course 0: the best course, or nothing. What is learnt of the pot counts as far as it
        tells of that; what is learnt of the page counts in full, for the page stays.
    readings : sequence of Quick
        What can be read, foreseen on the table's draws.
    """
    rgb = table.goal.bare_rgb
    colour = strokes.lab_on(following.density[0], rgb) - strokes.lab_on(table.aim, rgb)
    flows = value("counsel.weight.flow") * following.flow_ok[0]
    lasts = value("counsel.weight.permanence") * following.permanence_ok[0]
    apart = np.column_stack([colour, flows, lasts])
    return _most_telling(readings, apart, _how_far)


def about_iron(still: Outcome, readings: Sequence[Quick]) -> tuple[Check, ...]:
    """Return the reading that tells most whether the tannin holds the iron, where that is in doubt; else nothing.

    Reckoned as in `to_know`.
    """
    held = still.permanence_ok[0].astype(float)
    # Told in units of colour, as the trouble of a reading is.
    apart = value("counsel.weight.permanence") * held[:, None]
    return _most_telling(readings, apart, _of_iron) if held.std() >= value("counsel.doubt") else ()


def _most_telling(
    readings: Sequence[Quick], apart: Array, says: Callable[[Array, Array], str]
) -> tuple[Check, ...]:
    """Return the reading that takes most off what is unsure of ``apart`` (M, c), its trouble taken off.

    ``says`` puts into words what it makes surer, from the variance taken off each column and ``apart``; "" where
    that is too little.
    """
    apart = apart - apart.mean(axis=0)
    before = float(np.sqrt(np.mean(np.sum(apart**2, axis=1))))
    best: tuple[float, Check] | None = None
    for one in readings:
        if one.reading == "total_iron":
            continue
        seen = one.foreseen - one.foreseen.mean(axis=0)
        spread = seen.T @ seen / len(seen) + one.sd**2 * np.eye(seen.shape[1])
        shared = seen.T @ apart / len(seen)
        told = np.sum(shared * np.linalg.solve(spread, shared), axis=0)
        ahead = one.serves * (before - float(np.sqrt(max(before**2 - told.sum(), 0.0)))) - one.cost
        words = says(told, apart)
        if words and (best is None or ahead > best[0]):
            sentence = f"{one.ask[0].upper()}{one.ask[1:]}: that tells best {words}."
            best = (ahead, Check(reading=one.reading, gain=0.0, ml=0.0, sentence=sentence, does=one.does))
    return () if best is None else (best[1],)


def _less(told: float, apart: Array) -> float:
    """Return by how much the standard deviation of columns together falls by a variance."""
    before = float(np.mean(np.sum(apart**2, axis=1)))
    return float(np.sqrt(before) - np.sqrt(max(before - told, 0.0)))


def _how_far(told: Array, apart: Array) -> str:
    """Return in words what is surer: colour (columns 0 to 2), flow or iron."""
    if _less(float(told.sum()), apart) < value("counsel.surer"):
        return ""
    if told[4] > max(told[:3].sum(), told[3]):
        return _IRON
    if told[3] > told[:3].sum():
        return "whether the ink flows as it should"
    surer = _less(float(told[:3].sum()), apart[:, :3])
    return f"how far you still are from the page ({steps_words(surer)} surer)"


def _of_iron(told: Array, apart: Array) -> str:
    """Return what is told of the iron, in words, where that is a good part of the doubt."""
    enough = float(told[0]) >= value("counsel.iron_told") * float(np.mean(apart**2))
    return _IRON if enough else ""


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
                told.append((_ENDS[quick.reading][way], than, said(pool.amounts[best[j]])))
                break
    if len(told) == 2 and told[0][1:] == told[1][1:]:
        # The same is done either way: other than in the middle.
        told = [(f"{told[0][0]} or {told[1][0]}", *told[0][1:])]
    return (
        "If it is " + "; if ".join(f"{end} than {than}: {what}" for end, than, what in told) + "."
        if told
        else ""
    )
