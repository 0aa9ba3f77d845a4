"""Why counsel says what it says: what it takes the pot to be, and which readings made it think so."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel.plain import volume_figure
from inkhorn.counsel.trial_run import Outcome, Table, narrowed
from inkhorn.daybook.entries import Reading
from inkhorn.estimate import pareto, taught
from inkhorn.handbook.load import value
from inkhorn.replay import seen, strokes
from inkhorn.replay.draws import Draws

Array = NDArray[np.float64]
# numbers-in-code: the middle and the 90 % band
_BAND = (5, 50, 95)
_TOLD = 2
#: How a reading is called in a sentence.
_CALLED = {
    "ph": "the pH",
    "volume": "the volume",
    "mass": "the weighing",
    "viscosity": "the thickness measured",
    "ten_drops": "the ten drops",
    "drop_mass": "the drops weighed",
    "discharge": "the time it took to run out",
    "specific_gravity": "the specific gravity",
    "barkometer": "the barkometer",
    "brix": "the refractometer",
    "dry_residue": "the dried spoonful",
    "total_iron": "the laboratory's iron",
    "total_phenols": "the laboratory's phenols",
    "gum": "the laboratory's gum",
    "optical_density": "the density",
    "photo": "the photograph",
    "lab": "the colour measured",
    "depth": "your word on how dark it is",
    "hue": "your word on its hue",
    "body": "your word on its body",
    "flow": "your word on how it flows",
    "than": "your comparison",
    "surface": "what you saw on its surface",
    "line_width": "the width of the line",
    "raggedness": "the raggedness of the line",
}


def beliefs(table: Table, still: Outcome) -> tuple[str, ...]:
    """Return what counsel takes the pot to be, in a few plain sentences, with bands.

    Parameters
    ----------
    still : Outcome
        Of doing nothing, as course 0.
    """
    low, middle, high = np.percentile(still.volume[0], _BAND)
    out = [
        f"The pot holds about {volume_figure(float(middle))} ({volume_figure(float(low))} to {volume_figure(float(high))})."
    ]
    out.append(_looks(table, still))
    out.append(_iron(still))
    out.append(_flows(table, still))
    out.append(_sour(table))
    return tuple(s for s in out if s)


def _looks(table: Table, still: Outcome) -> str:
    mine = strokes.lab_on(still.density[0], table.goal.bare_rgb)
    theirs = strokes.lab_on(table.aim, table.goal.bare_rgb)
    off = mine - theirs
    paler = float((off[:, 0] > 0).mean())
    browner = float((off[:, 2] > 0).mean())
    depth = _sure(paler, "paler", "darker")
    hue = _sure(browner, "browner", "bluer")
    return f"Dry, its usual stroke is {depth} than the page and {hue}."


def _sure(chance: float, yes: str, no: str) -> str:
    """Return a comparison with how sure it is: "surely paler", "as likely paler as darker"."""
    # numbers-in-code: chances in words
    if 0.35 < chance < 0.65:
        return f"as likely {yes} as {no}"
    word, sure = (yes, chance) if chance >= 0.5 else (no, 1 - chance)
    # numbers-in-code: nineteen in twenty, in words
    return f"surely {word}" if sure > 0.95 else f"probably {word}"


def _iron(still: Outcome) -> str:
    low, middle, high = (float(v) for v in np.percentile(still.iron_ratio[0], _BAND))
    if high <= 0:
        return "There is no iron in it yet."
    limit = value("permanence.iron_to_capacity.limit")
    kept = "within" if middle <= limit else "above"
    return (
        f"Its iron is about {middle:.1f} of what its tannin can hold ({low:.1f} to {high:.1f}), "
        f"{kept} the limit of {limit:g} for ink that lasts."
    )


def _flows(table: Table, still: Outcome) -> str:
    thick = still.viscosity[0]
    low, high = table.flow_band
    thin, slow = float((thick < low).mean()), float((thick > high).mean())
    if max(thin, slow) < 1 - value("counsel.enough"):
        return "It flows as your pen wants."
    word = "thin" if thin > slow else "thick"
    return f"It may be too {word} for your pen (chance {100 * max(thin, slow):.0f} %)."


def _sour(table: Table) -> str:
    state = narrowed(table).vessels[table.vessel]
    ph = seen.acidity(state.liquor, state.temperature, Draws(table.unknowns, table.z))
    low, high = (float(v) for v in np.percentile(ph, (_BAND[0], _BAND[2])))
    # numbers-in-code: a pH below which people call an ink harsh
    sour = " Ink so sour eats skin and steel in time." if high < 2 else ""
    return f"Its pH lies between {low:.1f} and {high:.1f}.{sour}"


def because(table: Table, still: Outcome) -> tuple[str, ...]:
    """Return the readings that did most to settle how the stroke stands to the page, in a sentence each.

    For each reading, how much wider the distance's band would be without it
    (weights of one over its likelihood, smoothed: `inkhorn.estimate.taught`).
    """
    post = table.post
    mine = strokes.lab_on(still.density[0], table.goal.bare_rgb)
    depth = mine[:, 0] - strokes.lab_on(table.aim, table.goal.bare_rgb)[:, 0]
    with_it = float(np.std(depth))
    found: list[tuple[float, str]] = []
    by_number = {e.number: e.entry for e in post.problem.plan.evidence}
    for number, height in taught.alone(post.problem, post.played, post.draws).items():
        entry = by_number.get(number)
        share = pareto.smooth(-height).share[table.picks]
        if not isinstance(entry, Reading) or not share.sum() > 0:
            continue
        share = share / share.sum()
        centre = float(share @ depth)
        without = float(np.sqrt(share @ (depth - centre) ** 2))
        moved = abs(centre - float(depth.mean()))
        found.append((np.hypot(max(without - with_it, 0.0), moved), _told(entry, number, without, with_it)))
    found = [f for f in sorted(found, key=lambda f: -f[0]) if f[0] > value("counsel.because")]
    return tuple(text for _, text in found[:_TOLD])


def _told(entry: Reading, number: int, without: float, now: float) -> str:
    sort, name = entry.subject
    called = _CALLED.get(str(entry.what), f"the {entry.what}")
    whose = f"of {name.replace('-', ' ')}" if sort != "trial" else f"of trial {name}"
    text = f"{called[0].upper()}{called[1:]} {whose} (entry {number})"
    # numbers-in-code: a narrowing that a person would call one
    if without > 1.15 * now:
        return f"{text}: without it the lightness of the stroke would be known to {without:.1f} steps, not {now:.1f}."
    return f"{text} moved the estimate most."


def change(turns: Sequence[str]) -> str:
    """Return what would change the counsel, from what its checks could show."""
    told = [t for t in turns if t]
    return told[0] if told else "No single quick check is likely to change this."
