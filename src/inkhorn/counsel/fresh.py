"""Beginning afresh: a cup of another liquor, where the pot has been brought to what cannot be taken back.

Iron and gum do not come out of a pot again. Where another liquor with tannin
stands on the bench, plain or an ink, a cup of it is as much a beginning as the
pot itself, and the pot stays as it is.
"""

from __future__ import annotations

import re
from typing import Any

import attrs
import numpy as np

from inkhorn.counsel.actions import FIRST_NUMBER, ML, sensible, written
from inkhorn.counsel.plain import amount_words
from inkhorn.daybook.entries import Pour
from inkhorn.estimate.posterior import Posterior
from inkhorn.handbook.load import value
from inkhorn.quantities import Quantity
from inkhorn.replay import composition
from inkhorn.replay.steps.dispatch import apply

#: Number of the hypothetical pour, before any course of counsel.
# numbers-in-code: far below the numbers that counsel gives its own steps
_NUMBER = FIRST_NUMBER - 1000


@attrs.frozen(kw_only=True, eq=False)
class Cup:
    """A cup of plain liquor drawn for a fresh beginning.

    Attributes
    ----------
    source, name : str
        Vessel that it is drawn from, and what it is called.
    ml : float
        How much.
    post : Posterior
        The posterior with that done.
    """

    source: str
    name: str
    ml: float
    post: Posterior

    @property
    def entries(self) -> tuple[dict[str, Any], ...]:
        """Return it as entries without ``at``: drawn off, and kept shut, for so little soon dries up."""
        return (
            {"kind": "pour", "from": self.source, "into": self.name, "amount": written(self.ml, ML)},
            {"kind": "store", "vessel": self.name, "how": "stoppered jar"},
        )

    @property
    def drawn(self) -> str:
        """Return it in words: "draw 120 ml from the stock into a jar that shuts (pot 2)"."""
        source, name = self.source.replace("-", " "), self.name.replace("-", " ")
        return f"draw {amount_words(self.ml, 'ml')} from the {source} into a jar that shuts ({name})"

    @property
    def clause(self) -> str:
        """Return it as the beginning of a course."""
        return f"leave the pot and {self.drawn}"


def cups(post: Posterior, vessel: str, *, keep: float = 0.0) -> tuple[Cup, ...]:
    """Return a cup of each tannin liquor of which there is enough for one: plain ones first, the fullest first.

    Parameters
    ----------
    vessel : str
        The pot that it would stand in for; itself never drawn from.
    keep : float
        How much ink must be left, ml: a cup holds that at least, where there is so much.
    """
    world = post.played.world
    held = {
        name: float(np.median(composition.volume(state.liquor, state.temperature)))
        for name, state in world.vessels.items()
        if name != vessel and not state.withheld and state.marc is None
    }
    enough = value("counsel.cup.ml")
    bound = {name: _iron_and_capacity(post, name) for name in held if held[name] >= enough}

    def with_iron(name: str) -> bool:
        iron, capacity = bound[name]
        return iron >= value("counsel.fresh.plain") * capacity

    names = sorted((n for n in bound if bound[n][1] > 0), key=lambda n: (with_iron(n), -held[n]))
    return tuple(_draw(post, n, vessel, held[n], keep) for n in names)


def _iron_and_capacity(post: Posterior, name: str) -> tuple[float, float]:
    """Return the iron of a vessel, mol, and what its tannin can hold, in the middle."""
    held = composition.dry_binding(post.played.world.vessels[name].liquor, post.draws)
    return float(np.median(held.iron)), float(np.median(held.capacity))


def _draw(post: Posterior, source: str, vessel: str, held: float, keep: float) -> Cup:
    wanted = max(value("counsel.fresh.share") * held, value("counsel.cup.ml"), keep)
    ml = sensible(min(wanted, held), down=True)
    name, plan = free_name(post, vessel), post.problem.plan
    exactly = Quantity(text="", value=ml, unit="ml", sd=0.0, dimension="volume", how="exact")
    step = Pour(at=plan.start, from_=source, into=name, amount=exactly)
    world = apply(step, _NUMBER, post.played.world, post.draws, plan.shelf)
    played = attrs.evolve(post.played, world=world)
    return Cup(source=source, name=name, ml=ml, post=attrs.evolve(post, played=played))


def free_name(post: Posterior, vessel: str) -> str:
    """Return a name for a cup that nothing on the bench has: the pot's own with the next number."""
    return numbered(post, re.sub(r"-\d+$", "", vessel), 2)


def numbered(post: Posterior, stem: str, number: int) -> str:
    """Return ``stem`` with the first number from ``number`` on that no vessel on the bench has."""
    taken = {*post.played.world.vessels, *post.problem.plan.shelf.vessels}
    while f"{stem}-{number}" in taken:
        number += 1
    return f"{stem}-{number}"
