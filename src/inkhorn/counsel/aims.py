"""The page as it looks now, or as it was when new: what the choice does to iron and acid, and when it would do harm."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel.actions import Action
from inkhorn.counsel.plain import steps_words
from inkhorn.counsel.search import Candidate, Pool
from inkhorn.counsel.trial_run import Table, lay_table, try_courses
from inkhorn.handbook.load import value
from inkhorn.replay import dissolve

Array = NDArray[np.float64]
# numbers-in-code: draws that the other aim is looked at on, a matter of time
_DRAWS = 96


def other(table: Table, actions: Sequence[Action], as_: str) -> Table:
    """Return the same pot and page with the other aim, on fewer draws."""
    aim = "new" if as_ == "now" else "now"
    return lay_table(
        table.post, table.vessel, table.goal, actions, as_=aim, draws=_DRAWS, keep=table.keep, on_a_cup=True
    )


def is_browned(table: Table) -> bool:
    """Say whether the page's ink has browned so far that fresh ink is another thing."""
    return float(np.median(table.goal.density[2] - table.goal.density[0])) > value("counsel.brown")


def choice_words(
    table: Table, actions: Sequence[Action], amounts: Array, theirs: Table, course: Array, as_: str
) -> str:
    """Return what aiming the other way would do: its iron and its chance of lasting against this one's.

    Parameters
    ----------
    amounts, course : ndarray, shape (A,)
        The best course for this aim and for the other.
    theirs : Table
        The table of the other aim.
    """
    here, there = try_courses(table, actions, amounts[None]), try_courses(theirs, actions, course[None])
    mine, other_ = (float(np.median(o.iron_ratio)) for o in (here, there))
    lasts, lasts_there = (float(o.permanence_ok.mean()) for o in (here, there))
    called = "as it was when new" if as_ == "now" else "as it looks now"
    iron = "about the same iron"
    # numbers-in-code: a tenth more or less iron is a difference
    if abs(other_ - mine) > 0.1 * max(mine, 0.1):
        iron = f"{'more' if other_ > mine else 'less'} iron ({other_:.1f} against {mine:.1f} of what the tannin holds)"
    text = f"Aimed at the page {called}, the ink would take {iron}"
    # numbers-in-code: chances that differ by a tenth are told
    if abs(lasts - lasts_there) > 0.1:
        text += f" and keep its iron bound with a chance of {100 * lasts_there:.0f} % instead of {100 * lasts:.0f} %"
    return text + "."


def harm_words(pool: Pool, actions: Sequence[Action], found: Sequence[Candidate]) -> str:
    """Return a warning where the nearest match by eye would ask for more iron than the tannin can hold.

    The course of least distance, limits aside, is held against the one
    counselled: where it would break the iron limit more likely than not, that
    and what reaches the colour honestly are said.
    """
    nearest = int(pool.distance.mean(axis=1).argmin())
    lasts = float(pool.lasting[nearest].mean())
    adds_iron = any(
        pool.amounts[nearest, i] > 0 and a.kind == "add-lot" and dissolve.role(a.material) == "iron salt"
        for i, a in enumerate(actions)
    )
    if lasts > 0.5 or not adds_iron:
        return ""
    kept = float(pool.distance[_row_of(pool, found)].mean()) if found else float("nan")
    given_up = kept - float(pool.distance[nearest].mean())
    cost = f" It gives up {steps_words(given_up)} for that." if given_up >= 1 else ""
    return (
        "By eye alone the nearest match would take more iron than the tannin can hold "
        f"(chance that it lasts: {100 * lasts:.0f} %), which browns the ink and eats the page: this counsel leaves it."
        f"{cost} An aged brown is reached honestly with less iron and more brown extract, or by waiting."
    )


def _row_of(pool: Pool, found: Sequence[Candidate]) -> int:
    return int(np.argmin(np.abs(pool.amounts - found[0].amounts).sum(axis=1)))
