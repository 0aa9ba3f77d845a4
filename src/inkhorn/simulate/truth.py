"""A make-believe workshop whose truth has its own physics: ``Truth.apply``, ``Truth.notice``, ``Truth.stroke``.

It shares with the rest of the package only colour arithmetic, the daybook's
words and the handbook's names. Everything else (how things steep, boil, bind
iron, flow, look and are misread) follows other laws with other numbers, so that
agreement between the two is a result and not a tautology.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from inkhorn.daybook.names import thing_name
from inkhorn.errors import EntryError, MissingKeyError, PictureError, TimeError, UnknownNameError
from inkhorn.simulate import nature, notices, optics, render
from inkhorn.simulate.bench import Bench, Exemplar
from inkhorn.simulate.draws import Draws
from inkhorn.simulate.liquor import Liquor
from inkhorn.simulate.maker import Maker
from inkhorn.simulate.optics import TrueStroke
from inkhorn.simulate.steps import STEPS
from inkhorn.simulate.things import Vessel


class Truth:
    """A workshop that knows what is really in its pots.

    Parameters
    ----------
    seed : int
        Every number of this workshop's nature, materials and maker follows from it.
    variant : str
        ``"default"``, or a group of ``simulate.variant`` in the handbook ("chalky", "loose", "careless").
    maker : Maker, optional
        How careful the maker is; by default one of ordinary clumsiness who makes no wrong entries.
    """

    def __init__(self, seed: int, *, variant: str = "default", maker: Maker | None = None) -> None:
        self.bench = Bench(n=Draws(seed=seed, variant=variant), maker=maker or Maker())

    @property
    def seed(self) -> int:
        """Return the seed."""
        return self.bench.n.seed

    @property
    def now(self) -> datetime:
        """Return the latest moment that anything was done."""
        return self.bench.now

    def copy(self) -> Truth:
        """Return an independent copy, for asking what would happen if."""
        return copy.deepcopy(self)

    def apply(self, entry: Mapping[str, Any]) -> None:
        """Do what an entry says (and a little otherwise, as this maker does).

        Parameters
        ----------
        entry : mapping
            An entry in its JSON form; without ``at`` it is done half an hour after the last thing.

        Raises
        ------
        EntryError
            Where the kind is unknown, a key is missing or an amount cannot be read.
        """
        kind = str(entry.get("kind", ""))
        if kind not in STEPS:
            raise EntryError(f"the invented truth knows no kind {kind!r}", where="simulate")
        b = self.bench
        entry = {k: thing_name(str(v)) if k in _NAMES else v for k, v in entry.items()}
        at = _moment(entry.get("at"), b.now)
        b.count += 1
        b.now = max(b.now, at)
        try:
            STEPS[kind](b, entry, at)
        except KeyError as missing:
            raise MissingKeyError(f"{kind} needs {missing.args[0]!r}", where="simulate") from None

    def notice(self, what: Mapping[str, Any], *, folder: Path | None = None) -> dict[str, Any]:
        """Complete a reading request with what this maker would write down.

        Parameters
        ----------
        what : mapping
            A reading entry without its value: ``{"at", "kind": "reading", "of", "what", "with"?, "against"?}``.
        folder : Path, optional
            Where pictures go; needed for ``photo`` of a trial or an exemplar only, whose value is the path.

        Returns
        -------
        dict
            The whole reading entry, ready for the daybook.
        """
        b = self.bench
        at = _moment(what.get("at"), b.now)
        b.count += 1
        b.now = max(b.now, at)
        sort, _, name = str(what["of"]).partition(":")
        if sort == "vessel" and name in b.vessels:
            b.settle(b.vessels[name], at)
        seen = self._photograph(sort, name, folder) if what["what"] == "photo" else notices.notice(b, what)
        return {"at": at.isoformat(timespec="minutes"), "kind": "reading", **what, **seen}

    def _photograph(self, sort: str, name: str, folder: Path | None) -> dict[str, Any]:
        if folder is None or sort not in {"trial", "exemplar"}:
            raise PictureError(f"no picture of {sort}:{name}", where="simulate", mend="Give a folder for it")
        path = folder / f"{name}-{self.bench.count}.jpg"
        draw = render.trial if sort == "trial" else render.page
        return {"value": str(draw(self.bench, name, path))}

    def stroke(
        self, thing: str, support: str | None = None, *, method: str = "pen", pen: str | None = None,
        hours: float | None = None,
    ) -> TrueStroke:  # fmt: skip
        """Return the true colours of a trial's stroke, or of one written from a vessel.

        Parameters
        ----------
        thing : str
            ``"trial:t1"``, ``"vessel:tub"`` or the bare name.
        support : str, optional
            Support to see it on; a trial's own by default.
        method, pen : str
            How a vessel's stroke is made ("pen", "dip", "drop"); the last pen used by default.
        hours : float, optional
            Its age; by default dry and fully dark.
        """
        return self.bench.stroke(thing, support=support, method=method, pen=pen, hours=hours)

    def distance(
        self, vessel: str, exemplar: str, *, method: str = "pen", pen: str | None = None,
        celsius: float | None = None,
    ) -> float:  # fmt: skip
        """Return the true CIEDE2000 of the dried stroke against the exemplar's intact ink, both on its bare skin.

        ``celsius`` is the warmth at which the stroke is written; the room's if left out.
        """
        self._need(vessel, exemplar)
        return self.bench.distance(vessel, exemplar, method=method, pen=pen, celsius=celsius)

    def viscosity(self, vessel: str, celsius: float | None = None) -> float:
        """Return the true viscosity of a vessel's liquor in mPa s, at the room's warmth unless told."""
        self._need(vessel)
        b = self.bench
        warm = b.n("air.room") if celsius is None else celsius
        return nature.viscosity(b.vessels[vessel.removeprefix("vessel:")].liquor, b.n, celsius=warm)

    def original(self, exemplar: str) -> TrueStroke:
        """Return the true intact ink of an exemplar on its own skin."""
        return self.bench.original(exemplar)

    def true(self, vessel: str) -> dict[str, Any]:
        """Return what is truly in a vessel, under the names and units of an estimate's JSON answer."""
        self._need(vessel)
        return self.bench.true(vessel)

    def _need(self, vessel: str, exemplar: str | None = None) -> None:
        if vessel.removeprefix("vessel:") not in self.bench.vessels:
            raise UnknownNameError(f"there is no vessel {vessel!r}", where="simulate")
        if exemplar is not None and exemplar.removeprefix("exemplar:") not in self.bench.exemplars:
            raise UnknownNameError(f"there is no exemplar {exemplar!r}", where="simulate")

    def exemplar(
        self,
        name: str,
        ink: str | Vessel | Liquor,
        *,
        support: str = "goat-parchment",
        ageing: float = 1.0,
        pen: str = "reed",
    ) -> dict[str, Any]:
        """Make an invented original: ink of this truth's physics, written long ago, aged and worn.

        Parameters
        ----------
        name : str
            Its name.
        ink : str, Vessel or Liquor
            The hidden reference ink: a vessel's name (as it is now) or a liquor.
        support : str
            Handbook name of its skin or sheet; the skin itself is drawn under the exemplar's name.
        ageing : float
            How far it has aged: 0 is as new, 1 the table's typical fade and browning.
        pen : str
            What it was written with.

        Returns
        -------
        dict
            Facts as a maker could have measured them: ``optical_density``, ``sd``, ``lab``, ``support_lab``.
        """
        b, n = self.bench, self.bench.n
        if isinstance(ink, str):
            self._need(ink)
            ink = b.vessels[ink.removeprefix("vessel:")]
        liquor = (ink.liquor if isinstance(ink, Vessel) else ink).take(0.0)
        liquor.amounts = dict((ink.liquor if isinstance(ink, Vessel) else ink).amounts)
        key = f"exemplar {name}"
        skin = b.new_skin(support, key, age=1.0 + ageing * (n("age.yellow", key) - 1.0))
        film = optics.film_of(liquor, n, chalk=skin.chalk)
        old = optics.aged(film, fade=ageing * n("age.fade", key), brown=ageing * n("age.brown", key))
        b.exemplars[name] = Exemplar(
            film=old,
            um=b.wet_film(liquor, "pen", b.pen(pen)),
            bare=skin.bare,
            surface=b.surface(key),
            intact=n("age.intact", key),
            flaked=n("age.bare", key),
            key=key,
        )
        facts = {what: notices.notice(b, {"of": f"exemplar:{name}", "what": what}) for what in _FACTS}
        return {
            "name": name,
            "optical_density": facts["optical_density"]["value"],
            "sd": facts["optical_density"]["sd"],
            "lab": facts["lab"]["value"],
            "support_lab": facts["support_lab"]["value"],
        }


_NAMES = frozenset({"lot", "marc_of", "vessel", "into", "from", "trial", "support", "pen", "name"})
_FACTS = ("optical_density", "lab", "support_lab")


def _moment(at: object, now: datetime) -> datetime:
    if at is None:
        return now + timedelta(minutes=30)
    if isinstance(at, datetime):
        return at.replace(tzinfo=None)
    try:
        return datetime.fromisoformat(str(at)).replace(tzinfo=None)
    except ValueError:
        raise TimeError(f"the invented truth cannot read the time {at!r}", where="simulate") from None


__all__ = ["Maker", "Truth"]
