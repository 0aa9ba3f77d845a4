"""What does not fit, in plain words: readings far off, and the slip that would explain them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.entries import Reading
from inkhorn.estimate import slips
from inkhorn.estimate.evidence.base import Array, Evidence
from inkhorn.estimate.problem import Problem
from inkhorn.estimate.result import Flag
from inkhorn.handbook.load import value
from inkhorn.quantities import Quantity
from inkhorn.replay import predict
from inkhorn.replay.fold import Played

#: Draws that are looked at for a slip.
ENOUGH = 256
MILLI = 1000.0


def found(problem: Problem, z: Array, played: Played) -> tuple[Flag, ...]:
    """Return what does not fit: readings far off their prediction, readings that teach nothing, what is withheld.

    Parameters
    ----------
    z : ndarray, shape (D, N)
        Draws of the unknowns, and ``played``, the replay that they give.
    """
    out = list(disagreements(problem, z, played, problem.evidence))
    for idle in problem.plan.idle:
        reading = idle.entry
        assert isinstance(reading, Reading)  # noqa: S101  (a plan's idle entries are readings)
        what = _named(reading)
        why = predict.why_idle(reading, problem.plan.scene)
        out.append(
            Flag(
                entry=idle.number,
                text=f"The {what} is kept, but it teaches the estimate nothing: {why}.",
            )
        )
    for goal in problem.plan.scene.targets.values():
        out += [Flag(entry=number, text=text) for number, text in goal.apart]
    for name, state in played.world.vessels.items():
        if state.withheld:
            out.append(Flag(entry=None, text=f"{name}: {state.withheld}."))
    return tuple(out)


def disagreements(
    problem: Problem, z: Array, played: Played, evidence: Sequence[Evidence]
) -> tuple[Flag, ...]:
    """Return a flag for each of some readings that lies too far off what the draws foresee."""
    by_number = {e.number: e for e in problem.plan.entries}
    far: list[tuple[Evidence, float]] = []
    for item in evidence:
        mu = played.predicted[item.number]
        off = item.surprise(mu) if np.isfinite(mu).any() else 0.0
        if off > value("readings.outlier"):
            far.append((item, off))
    if not far:
        return ()
    picks = np.linspace(0, z.shape[1] - 1, min(ENOUGH, z.shape[1])).astype(int)
    draws = problem.draws(np.ascontiguousarray(z[:, picks]))
    others = slips.elsewhere(problem.plan, [by_number[item.number] for item, _ in far], draws)
    out = []
    for item, off in far:
        line, mu = by_number[item.number], played.predicted[item.number]
        slip = slips.named(line, item, problem.plan, mu[:, picks], draws, others[item.number])
        out.append(Flag(entry=item.number, text=_disagrees(line, mu, off, slip)))
    return tuple(out)


def _disagrees(line: Recorded, mu: Array, off: float, slip: str) -> str:
    entry = line.entry
    assert isinstance(entry, Reading)  # noqa: S101  (evidence holds readings only)
    said = entry.value.text if isinstance(entry.value, Quantity) else _in_words(entry.value)
    text = f"The {_named(entry)} of {entry.of.partition(':')[2]} ({said}) disagrees with "
    text += f"everything else: it lies {off:.1f} of its own errors away"
    if isinstance(entry.value, Quantity):
        # numbers-in-code: the median and the 90 % band
        low, middle, high = np.nanpercentile(mu[0], (5, 50, 95))
        if entry.what in predict.LOGARITHMIC:
            low, middle, high = np.exp((low, middle, high))
        per, unit = _shown_in(entry, entry.value)
        text += f"; the rest says about {_plain(middle * per)} {unit}"
        text += f"(between {_plain(low * per)} and {_plain(high * per)})"
    text += ". It is weighed lightly, not dropped: "
    return text + (
        slip.rstrip(".") + ("" if slip.endswith("?") else ".")
        if slip
        else "was it read or written down wrongly?"
    )


def _named(reading: Reading) -> str:
    return "pH" if reading.what == "ph" else str(reading.what).replace("_", " ")


def _plain(number: float) -> str:
    """Write a number to three digits, without powers of ten where it can be helped."""
    return f"{float(f'{number:.3g}'):g}"


def _in_words(said: str | dict[str, float]) -> str:
    if isinstance(said, str):
        return said
    return ", ".join(f"{channel} {number:g}" for channel, number in said.items())


def _shown_in(reading: Reading, said: Quantity) -> tuple[float, str]:
    """Return the unit that a prediction is told in, with a space behind it, and how many of it one canonical unit is."""
    if predict.is_depth(reading):
        return 1.0, "ml "
    if said.dimension == "amount_conc" and "mol" not in said.text.casefold():
        return value("measures.iron_molar_mass") / MILLI, "g/L "
    return 1.0, "" if said.unit == "1" else f"{said.unit} "


def on_recording(problem: Problem, number: int) -> tuple[str, ...]:
    """Return plain-word doubts about one reading as it is recorded, from the prior alone.

    Quick and rough: a few hundred draws of the prior are replayed, and the
    reading is held against what they foresee. It is kept whatever comes out.
    """
    goals = problem.plan.scene.targets.values()
    told = tuple(text for goal in goals for n, text in goal.apart if n == number)
    mine = [item for item in problem.evidence if item.number == number]
    if not mine:
        return told
    z: Array = problem.prior(0, ENOUGH)
    played, _ = problem.played(z)
    return told + tuple(flag.text for flag in disagreements(problem, z, played, mine))
