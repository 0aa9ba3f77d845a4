"""Quick checks: their outcomes, how often each comes with each cause, and what a check tells on average."""

from __future__ import annotations

import difflib
import functools
import re
from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType

import attrs
import numpy as np

from inkhorn.counsel.wrong.causes import CAUSES
from inkhorn.errors import CounselError
from inkhorn.handbook.load import group, rows, value
from inkhorn.replay.liquor import Array

#: Checks of the iron salt, where there is one.
_OF_SALT = ("look-at-the-salt", "vitriol-in-water")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")


@attrs.frozen(kw_only=True)
class Outcome:
    """One outcome of a check: its key, what is seen, other wordings."""

    key: str
    means: str
    names: tuple[str, ...]


@attrs.frozen(kw_only=True)
class Check:
    """A quick check: what to do, the readings that say the same, its cautions and outcomes."""

    key: str
    ask: str
    readings: tuple[str, ...]
    cautions: tuple[str, ...]
    outcomes: tuple[Outcome, ...]


@attrs.frozen(kw_only=True)
class Found:
    """What a check found."""

    check: str
    outcome: str


@functools.cache
def checks() -> Mapping[str, Check]:
    """Return the checks of the handbook, by key."""
    return MappingProxyType(
        {
            key: Check(
                key=key,
                ask=str(node["ask"]),
                readings=tuple(node["readings"]),
                cautions=tuple(node["cautions"]),
                outcomes=tuple(
                    Outcome(key=name, means=str(one["means"]), names=tuple(one["names"]))
                    for name, one in node["outcome"].items()
                ),
            )
            for key, node in group("checks").items()
            if isinstance(node, Mapping) and "ask" in node
        }
    )


def chance_rows(check: str, outcome: str, cause: str) -> tuple[tuple[str, ...], bool]:
    """Return the rows that give the probability of an outcome with a cause, and whether it is what they leave."""
    keys = [o.key for o in checks()[check].outcomes]
    rest = outcome == keys[-1]
    return tuple(_row(check, key, cause) for key in (keys[:-1] if rest else (outcome,))), rest


def _row(check: str, outcome: str, cause: str) -> str:
    own = f"checks.{check}.outcome.{outcome}.with.{cause}"
    return own if own in rows() else f"checks.{check}.outcome.{outcome}.with.usual"


@functools.cache
def table(check: str) -> Array:
    """Return the probability of each outcome with each cause, (C, O), at the values of the rows."""
    keys = [o.key for o in checks()[check].outcomes]
    listed = np.array([[value(_row(check, key, cause)) for key in keys[:-1]] for cause in CAUSES])
    left = np.maximum(1.0 - listed.sum(axis=1, keepdims=True), value("complaints.usual"))
    out = np.concatenate([listed, left], axis=1)
    return np.asarray(out / out.sum(axis=1, keepdims=True))


def information(odds: Array, chances: Array) -> float:
    """Return what a check is expected to tell about the cause, in bits.

    Parameters
    ----------
    odds : ndarray, shape (C,)
        Probabilities of the causes, which sum to one.
    chances : ndarray, shape (C, O)
        Probability of each outcome with each cause; rows sum to one.

    Returns
    -------
    float
        Mutual information of cause and outcome: the sum over both of
        P(c) P(o|c) log2(P(o|c) / P(o)) (Cover and Thomas 2006, section 2.3).
    """
    overall = odds @ chances
    with np.errstate(divide="ignore", invalid="ignore"):
        terms = odds[:, None] * chances * np.log2(chances / overall)
    return float(np.nansum(terms))


def best(odds: Array, left_out: Iterable[str]) -> tuple[Check, float] | None:
    """Return the check that is expected to tell most about the cause, with its bits; None where none is worth it."""
    without = set(left_out)
    told = [(information(odds, table(key)), check) for key, check in checks().items() if key not in without]
    if not told:
        return None
    bits, check = max(told, key=lambda pair: pair[0])
    return (check, bits) if bits >= value("checks.worth") else None


def known_already(taken: frozenset[str], salts: bool, found: Sequence[Found]) -> tuple[str, ...]:
    """Return the checks that would tell nothing new: made, read into the estimate, or without an object."""
    done = {f.check for f in found}
    return tuple(
        key
        for key, check in checks().items()
        if key in done or taken & set(check.readings) or (key in _OF_SALT and not salts)
    )


def resolve_found(said: str) -> Found:
    """Return the check and the outcome that ``CHECK: OUTCOME`` means.

    Raises
    ------
    CounselError
        If either is not known; those that are known are listed.
    """
    head, colon, tail = said.partition(":")
    if not colon:
        raise CounselError(
            f"what was found is not clear from {said!r}", where="--found", mend="Say it as CHECK: OUTCOME"
        )
    check = _check_named(head)
    outcome = _outcome_named(check, tail)
    return Found(check=check.key, outcome=outcome.key)


def _plain(text: str) -> str:
    return re.sub(r"[^a-z0-9.]+", " ", text.casefold()).strip()


def _check_named(said: str) -> Check:
    names = {_plain(key): check for key, check in checks().items()}
    names |= {_plain(check.ask): check for check in checks().values()}
    names |= {_plain(reading): check for check in checks().values() for reading in check.readings}
    near = difflib.get_close_matches(_plain(said), names, n=1)
    if not near:
        known = ", ".join(checks())
        raise CounselError(f"there is no check {said.strip()!r}", where="--found", mend=f"Known: {known}")
    return names[near[0]]


def _outcome_named(check: Check, said: str) -> Outcome:
    text = _plain(said)
    if check.key == "ph-strip" and _NUMBER.fullmatch(text):
        return _by_ph(check, float(text))
    names = {_plain(name): o for o in check.outcomes for name in (o.key, o.means, *o.names)}
    if text in names:
        return names[text]
    within = [name for name in names if re.search(rf"\b{re.escape(name)}\b", text)]
    if within:
        return names[max(within, key=len)]
    near = difflib.get_close_matches(text, names, n=1)
    if not near:
        known = ", ".join(o.key for o in check.outcomes)
        raise CounselError(
            f"{check.key} has no outcome {said.strip()!r}", where="--found", mend=f"Known: {known}"
        )
    return names[near[0]]


def _by_ph(check: Check, ph: float) -> Outcome:
    key = "middling"
    if ph <= value("checks.bound.sour"):
        key = "sour"
    elif ph > value("checks.bound.mild"):
        key = "mild"
    return next(o for o in check.outcomes if o.key == key)
