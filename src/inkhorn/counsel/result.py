"""Counsel as plain typed objects; ``to_dict()`` is the documented JSON."""

from __future__ import annotations

from typing import Any

import attrs

from inkhorn.estimate.figures import Figure


@attrs.frozen(kw_only=True)
class Standing:
    """How a pot does as it is: distance to the page, and the chances that limits are kept."""

    distance: Figure
    flow_ok: float
    permanence_ok: float

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "distance": self.distance.to_dict(),
            "flow_ok": round(self.flow_ok, 4),
            "permanence_ok": round(self.permanence_ok, 4),
        }


@attrs.frozen(kw_only=True)
class Course:
    """One course of action with its expected result.

    Parameters
    ----------
    vessel : str
        Where the ink then is: the pot, or a fresh cup.
    actions : tuple of dict
        Complete entries without ``at``.
    cup : tuple of dict
        The same on a cup of the pot first; empty where all of it can be taken back.
    sentence : str
        What to do, in plain words.
    why : str
        What it does and what it costs.
    match : float
        Chance that the dry stroke then matches the page, with flow and iron in order.
    density_band : dict
        5-95 % of each channel's density of the next dry strip, which is what
        the strip must land in.
    """

    vessel: str
    actions: tuple[dict[str, Any], ...]
    cup: tuple[dict[str, Any], ...]
    sentence: str
    why: str
    standing: Standing
    match: float
    density_band: dict[str, Figure]
    cautions: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "vessel": self.vessel,
            "actions": [dict(a) for a in self.actions],
            "cup": [dict(a) for a in self.cup],
            "sentence": self.sentence,
            "why": self.why,
            **self.standing.to_dict(),
            "match": round(self.match, 4),
            "optical_density": {c: f.to_dict() for c, f in self.density_band.items()},
            "cautions": list(self.cautions),
        }


@attrs.frozen(kw_only=True)
class Check:
    """One quick reading and what it would be worth: steps of CIEDE2000 nearer, ml of ink saved.

    ``turns`` says which outcome would change the counsel, and to what; empty where none would. ``does`` are
    the entries, without ``at``, of what is to be done before it can be read; mostly none.
    """

    reading: str
    gain: float
    ml: float
    sentence: str
    turns: str = ""
    does: tuple[dict[str, Any], ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "reading": self.reading,
            "gain": round(self.gain, 4),
            "ml": round(self.ml, 1),
            "sentence": self.sentence,
            "turns": self.turns,
            "does": list(self.does),
        }


@attrs.frozen(kw_only=True)
class Series:
    """Small cups split from the pot, each with its own addition, written side by side.

    Parameters
    ----------
    cups : tuple of tuple of dict
        The entries of each cup, without ``at``: what is drawn off, what is done to it, the mark.
    gain : float
        What it brings over working on the pot straight away, in units of CIEDE2000.
    """

    cups: tuple[tuple[dict[str, Any], ...], ...]
    sentence: str
    gain: float

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "cups": [[dict(a) for a in cup] for cup in self.cups],
            "sentence": self.sentence,
            "gain": round(self.gain, 4),
        }


@attrs.frozen(kw_only=True)
class Fetch:
    """Something not on the bench that would bring the page into reach, with the chance that it does."""

    material: str
    chance: float
    sentence: str

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {"material": self.material, "chance": round(self.chance, 4), "sentence": self.sentence}


@attrs.frozen(kw_only=True)
class Counsel:
    """What to do with one pot to come to one page.

    Parameters
    ----------
    match : float
        Chance that it matches as it is.
    stop : bool
        Whether neither a change nor a check is worth the ink and the time any more.
    series : Series or None
        A split-pot series, where that teaches more than one pot.
    would_reach : tuple of Fetch
        Where the page is out of reach: what would bring it near, best first.
    believes, because : tuple of str
        What this rests on, and which readings made it so.
    would_change : str
        What would change it.
    """

    vessel: str
    exemplar: str
    as_: str
    now: Standing
    match: float
    courses: tuple[Course, ...]
    reachable: float
    check_first: tuple[Check, ...]
    stop: bool
    series: Series | None
    would_reach: tuple[Fetch, ...]
    believes: tuple[str, ...]
    because: tuple[str, ...]
    would_change: str
    note: str
    tried: int

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "vessel": self.vessel,
            "exemplar": self.exemplar,
            "as": self.as_,
            "now": {**self.now.to_dict(), "match": round(self.match, 4)},
            "courses": [c.to_dict() for c in self.courses],
            "reachable": round(self.reachable, 4),
            "check_first": [c.to_dict() for c in self.check_first],
            "stop": self.stop,
            "series": None if self.series is None else self.series.to_dict(),
            "would_reach": [f.to_dict() for f in self.would_reach],
            "believes": list(self.believes),
            "because": list(self.because),
            "would_change": self.would_change,
            "note": self.note,
            "tried": self.tried,
        }
