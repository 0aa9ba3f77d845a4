"""How likely each cause is: common practice times what the estimate says of the pot, times what checks found.

For the cause c, a complaint k, and outcomes o found by checks,

    P(c | k, pot, o)  is in proportion to  [(1 - b_c) p_c + b_c u_c] . L_kc . product of P(o | c)

with u_c how often a pot that somebody complains of has the fault (row `usual`),
p_c the probability from the estimate's draws that this pot has it, b_c how
often the figures cannot show it (row `hidden`), and L_kc how often the fault is
complained of in these words. Where nothing is known of the pot, p_c = u_c.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import attrs
import numpy as np

from inkhorn.counsel.wrong.causes import CAUSES, Sign
from inkhorn.counsel.wrong.checks import Found, chance_rows
from inkhorn.handbook.load import row, rows
from inkhorn.replay.draws import standard_normal
from inkhorn.replay.liquor import Array

# numbers-in-code: draws of the handbook's own doubt about its rows, a matter of time
DRAWS = 2000


@attrs.frozen(kw_only=True, eq=False)
class Weighed:
    """Probabilities of the causes, in the order of `CAUSES`.

    Parameters
    ----------
    draws : ndarray, shape (C, M)
        One column a draw of the handbook's rows; each sums to one.
    lift : mapping
        By how much the pot's figures raise or lower each cause, where they speak of it.
    """

    draws: Array
    lift: Mapping[str, float]

    @property
    def mean(self) -> Array:
        """Return the probability of each cause, (C,)."""
        return np.asarray(self.draws.mean(axis=1))


def said_row(complaint: str, cause: str) -> str:
    """Return the name of the row that says how often a cause is complained of in these words."""
    own = f"complaints.{complaint}.from.{cause}"
    return own if own in rows() else "complaints.usual"


def weigh(
    complaint: str, signs: Mapping[str, Sign | None], found: Sequence[Found] = (), *, seed: int = 0
) -> Weighed:
    """Return how likely each cause of a complaint is.

    Parameters
    ----------
    complaint : str
        Its key.
    signs : mapping
        What the draws of the pot say of each cause; empty where nothing is known of it.
    found : sequence of Found
        Outcomes of checks already made.
    """
    columns, lift = [], {}
    for cause in CAUSES:
        usual, hidden = _drawn(f"causes.{cause}.usual", seed), _drawn(f"causes.{cause}.hidden", seed)
        sign = signs.get(cause)
        here = usual
        if sign is not None:
            shown = float(sign.degree.mean())
            here = (1.0 - hidden) * shown + hidden * usual
            lift[cause] = float(here.mean() / usual.mean())
        # A row that several causes share is drawn for each: they are not wrong together.
        column = here * _drawn(said_row(complaint, cause), seed, cause)
        for outcome in found:
            column = column * _chance(outcome, cause, seed)
        columns.append(column)
    weights = np.stack(columns)
    return Weighed(draws=weights / weights.sum(axis=0), lift=lift)


def _chance(outcome: Found, cause: str, seed: int) -> Array:
    """Return draws of the probability of an outcome where a cause is at work, (M,)."""
    listed, rest = chance_rows(outcome.check, outcome.outcome, cause)
    drawn = sum((_drawn(name, seed, cause) for name in listed), np.zeros(DRAWS))
    # The last outcome has what the others leave; their draws may together exceed one, it is never below the least.
    return np.asarray(np.clip(1.0 - drawn, row("complaints.usual").value, 1.0) if rest else drawn)


def _drawn(name: str, seed: int, whose: str = "") -> Array:
    return row(name).at(standard_normal(seed, f"wrong {name} {whose}", DRAWS))
