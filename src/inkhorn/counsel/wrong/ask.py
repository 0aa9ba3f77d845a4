"""A complaint in the maker's words, answered: causes with their odds, and the one check that tells them apart."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Protocol

import numpy as np

from inkhorn.counsel.wrong import checks, sentences
from inkhorn.counsel.wrong.answer import Advised, Branch, Cause, Why
from inkhorn.counsel.wrong.asked import Asked, look, vessel_meant
from inkhorn.counsel.wrong.causes import CAUSES, Sign
from inkhorn.counsel.wrong.complaints import Complaint, resolve_complaint
from inkhorn.counsel.wrong.odds import Weighed, weigh
from inkhorn.daybook.inventory import Inventory
from inkhorn.estimate.figures import figure
from inkhorn.estimate.posterior import Posterior
from inkhorn.handbook.cautions import caution
from inkhorn.handbook.load import group
from inkhorn.replay.liquor import Array

Progress = Callable[[float], None]
#: Causes whose cautions are told: the likeliest few.
_WARNED = 3


class Shop(Protocol):
    """Whoever has posterior draws of a daybook, and what stands in it."""

    def _posterior(self, seed: int, progress: Progress | None = None) -> Posterior: ...

    def inventory(self) -> Inventory:
        """Return what there is."""
        ...


def why(
    self: Shop,
    complaint: str,
    *,
    vessel: str | None = None,
    trial: str | None = None,
    found: Sequence[str] = (),
    seed: int = 0,
    progress: Progress | None = None,
) -> Why:
    """Say what is wrong, from a complaint in the maker's words; the parameters are those of `ask_why`."""
    return ask_why(
        self._posterior,
        self.inventory(),
        complaint,
        vessel=vessel,
        trial=trial,
        found=found,
        seed=seed,
        progress=progress,
    )


def ask_why(
    posterior: Callable[[int, Progress | None], Posterior],
    things: Inventory,
    complaint: str,
    *,
    vessel: str | None = None,
    trial: str | None = None,
    found: Sequence[str] = (),
    seed: int = 0,
    progress: Progress | None = None,
) -> Why:
    """Say what is wrong.

    Parameters
    ----------
    posterior : callable
        Gives the estimate's draws for a seed; only asked where there is a vessel.
    things : Inventory
        What the daybook has.
    complaint : str
        In the maker's words.
    vessel, trial : str, optional
        What it is about; may be left out where only one vessel was written with.
    found : sequence of str
        Outcomes of checks already made, each ``CHECK: OUTCOME``.

    Raises
    ------
    CounselError
        If the complaint, the vessel, the trial, a check or an outcome is not known.
    """
    meant = resolve_complaint(complaint)
    told = tuple(checks.resolve_found(said) for said in found)
    name = vessel_meant(things, vessel, trial)
    post = None if name is None else posterior(seed, progress)
    pot = None if post is None or name is None else look(post, name, trial)
    signs = {} if pot is None else signs_of(pot)
    weighed = weigh(meant.key, signs, told, seed=seed)
    causes = _causes(weighed, signs)
    advised = _advised(weighed.mean, pot, told)
    return Why(
        complaint=meant.key,
        said=complaint,
        vessel=name,
        trial=trial,
        basis="common practice" if pot is None else "pot",
        note=sentences.note_words(
            name, known=pot is not None, readings=0 if post is None else len(post.problem.plan.evidence)
        ),
        sentence=sentences.answer_sentence(meant, causes),
        causes=causes,
        check=advised,
        found=told,
        cautions=_cautions(meant, causes),
    )


def signs_of(pot: Asked) -> dict[str, Sign | None]:
    """Return what the draws of a pot say of every cause."""
    return {cause: sign(pot) for cause, sign in CAUSES.items()}


def _causes(weighed: Weighed, signs: Mapping[str, Sign | None]) -> tuple[Cause, ...]:
    out = [
        Cause(
            key=key,
            words=sentences.words_of(key),
            chance=float(weighed.mean[i]),
            probability=figure(weighed.draws[i], "1"),
            lift=weighed.lift.get(key),
            because=sentences.because_words(signs.get(key), weighed.lift.get(key)),
        )
        for i, key in enumerate(CAUSES)
    ]
    # What is none of the known faults is no answer: it comes last, however likely.
    return tuple(sorted(out, key=lambda c: (c.key == sentences.OTHER, -c.chance)))


def _advised(odds: Array, pot: Asked | None, found: Sequence[checks.Found]) -> Advised | None:
    taken = frozenset[str]() if pot is None else pot.taken
    left_out = checks.known_already(taken, pot is None or bool(pot.salts), found)
    got = checks.best(odds, left_out)
    if got is None:
        return None
    check, bits = got
    branches = branches_of(check, odds)
    return Advised(
        key=check.key,
        bits=bits,
        sentence=sentences.check_sentence(check, branches),
        outcomes=branches,
        cautions=_closed(check.cautions),
    )


def branches_of(check: checks.Check, odds: Array) -> tuple[Branch, ...]:
    """Return what each outcome of a check would mean."""
    keys, chances = tuple(CAUSES), checks.table(check.key)
    out = []
    for i, outcome in enumerate(check.outcomes):
        joint = odds * chances[:, i]
        then = joint / joint.sum()
        named = then.copy()
        named[keys.index(sentences.OTHER)] = -1
        first = int(np.argmax(named))
        out.append(
            Branch(
                outcome=outcome.key,
                means=outcome.means,
                chance=float(joint.sum()),
                cause=keys[first],
                then=float(then[first]),
            )
        )
    return tuple(out)


def _cautions(complaint: Complaint, causes: Sequence[Cause]) -> tuple[str, ...]:
    keys = list(complaint.cautions)
    for cause in causes[:_WARNED]:
        keys.extend(group(f"causes.{cause.key}").get("cautions", ()))
    return _closed(keys)


def _closed(keys: Sequence[str]) -> tuple[str, ...]:
    texts = tuple(caution(key) for key in dict.fromkeys(keys))
    return (*texts, caution("closing")) if texts else ()
