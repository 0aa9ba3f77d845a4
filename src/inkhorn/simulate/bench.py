"""The bench of the invented truth: everything on it, what time does to it, and how it truly looks."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from typing import Any

import attrs
import numpy as np

from inkhorn.colour.difference import ciede2000
from inkhorn.errors import UnknownNameError
from inkhorn.handbook.load import group
from inkhorn.simulate import nature, optics, raw
from inkhorn.simulate.amounts import Said, said
from inkhorn.simulate.draws import Draws
from inkhorn.simulate.liquor import GUMS, TANNINS, Liquor, cool, water_density
from inkhorn.simulate.maker import Maker
from inkhorn.simulate.optics import Array, Film, Pigments, Surface, TrueStroke
from inkhorn.simulate.things import Lot, Marc, Pen, Skin, Trial, Vessel, known, nib_width, resolve

_START = datetime(2026, 9, 1, 9, 0)  # noqa: DTZ001 - the daybook's own times carry no zone
_CUTS = {"goose-quill": "quill", "reed": "reed", "metal-nib": "metal"}


@attrs.frozen(kw_only=True)
class Exemplar:
    """An invented original: the film that its ink left, aged, on a skin of its own, and its wear."""

    film: Film
    um: float
    bare: Array
    surface: Surface
    intact: float
    flaked: float
    key: str


@attrs.define(kw_only=True)
class Bench:
    """The state of a make-believe workshop and the true looks of what is on it."""

    n: Draws
    maker: Maker = attrs.field(factory=Maker)
    vessels: dict[str, Vessel] = attrs.field(factory=dict)
    lots: dict[str, Lot] = attrs.field(factory=dict)
    supports: dict[str, Skin] = attrs.field(factory=dict)
    pens: dict[str, Pen] = attrs.field(factory=dict)
    trials: dict[str, Trial] = attrs.field(factory=dict)
    exemplars: dict[str, Exemplar] = attrs.field(factory=dict)
    now: datetime = _START
    count: int = 0
    last_pen: str | None = None

    # -- names -----------------------------------------------------------------------------------

    def lot(self, name: str) -> Lot:
        """Return a lot; one that nobody declared is taken for the material it is named after."""
        if name not in self.lots:
            self.lots[name] = raw.lot_of(known(name, "materials"), name, math.inf, self.n)
        return self.lots[name]

    def vessel(self, name: str) -> Vessel:
        """Return a vessel, made empty on first mention."""
        return self.vessels.setdefault(name, Vessel())

    def skin(self, name: str) -> Skin:
        """Return a support, made on first mention of what its name says (goat, if nothing)."""
        if name not in self.supports:
            self.supports[name] = self.new_skin(_or(name, "supports", "goat-parchment"), name)
        return self.supports[name]

    def new_skin(self, material: str, key: str, *, side: str = "", age: float = 1.0) -> Skin:
        """Draw a skin or sheet of a handbook material under a key."""
        hair = side == "hair"
        bare = optics.skin_of(self.n, key, paper=material == "rag-paper", hair=hair, age=age)
        return Skin(
            material=material, bare=bare, chalk=self.n("skin.chalk", key), sink=self.n("film.sink", key),
            hair=hair, key=key,
        )  # fmt: skip

    def pen(self, name: str | None) -> Pen:
        """Return a pen, made on first mention of what its name says (a reed, if nothing)."""
        name = name or self.last_pen or "reed"
        if name not in self.pens:
            material = _or(name, "pens", "reed")
            book = float(group(f"pens.{material}")["width"]["value"])
            self.pens[name] = Pen(cut=_CUTS[material], width=nib_width(name) or book)
        return self.pens[name]

    # -- amounts ---------------------------------------------------------------------------------

    def key(self, name: str) -> str:
        """Return a key for a chance event in the present entry."""
        return f"{self.count}:{name}"

    def taken(self, text: object, name: str, *, level: bool = False) -> Said:
        """Return an amount as the maker truly took it."""
        what = said(text)
        return attrs.evolve(what, value=self.maker.amount(what, self.n, self.key(name), level=level))

    def grams_from(self, name: str, text: object) -> float:
        """Take an amount out of a lot and return its true grams."""
        lot, amount = self.lot(name), self.taken(text, name)
        whole = lot.at_first if math.isfinite(lot.at_first) else 0.0
        if amount.unit == "1":
            share_of_left = amount.of is None and said(text).value == 1
            grams = lot.mass if share_of_left and math.isfinite(lot.mass) else amount.value * whole
        else:
            grams = amount.value * (lot.bulk if amount.unit == "ml" else 1.0)
        grams = min(grams, lot.mass)
        lot.mass -= grams
        return grams

    def share_of(self, vessel: Vessel, text: object, name: str) -> float:
        """Return the share of a vessel's liquor that an amount truly is."""
        amount, full = self.taken(text, name), self.volume(vessel)
        if amount.unit == "1":
            return 1.0 if said(text).value == 1 else min(amount.value, 1.0)
        if amount.unit == "g":
            return min(amount.value / max(vessel.liquor.mass(), 1e-9), 1.0)
        return min(amount.value / max(full, 1e-9), 1.0)

    def volume(self, vessel: Vessel) -> float:
        """Return the volume of the liquor in ml."""
        return nature.millilitres(vessel.liquor, self.n)

    def hours(self, text: object) -> float:
        """Return a length of time in hours."""
        return said(text).value / 3600.0

    # -- time ------------------------------------------------------------------------------------

    def settle(self, vessel: Vessel, at: datetime) -> None:
        """Let a vessel stand until a moment: it dries, cools, turns, swells, steeps and moulds."""
        if vessel.clock is not None and at > vessel.clock:
            self.stand(vessel, (at - vessel.clock).total_seconds() / 3600.0)
        vessel.clock = at if vessel.clock is None else max(at, vessel.clock)

    def pass_time(self, vessel: Vessel, hours: float) -> None:
        """Let a step take its time on a vessel."""
        self.stand(vessel, hours)
        if vessel.clock is not None:
            vessel.clock += timedelta(hours=hours)
            self.now = max(self.now, vessel.clock)

    def stand(self, vessel: Vessel, hours: float) -> None:
        """Let a vessel stand for some hours."""
        n, liquor = self.n, vessel.liquor
        open_ = {"open": 1.0, "covered": n("air.covered"), "bottled": n("air.bottled")}[vessel.cover]
        if vessel.marc is not None:
            self.steep(vessel, hours)
        surface = n("air.shape") * (self.volume(vessel) * 1e-6) ** (2 / 3)
        liquor.gain(water=-min(n("air.drying") * surface * hours * open_ * 1000.0, 0.9 * liquor["water"]))
        turned = liquor["iron2"] * -math.expm1(
            -n("air.oxidation") * open_ * hours / 24.0 * self.reducing(liquor)
        )
        liquor.gain(iron2=-turned, iron3=turned)
        for gum in GUMS:
            gone = liquor[f"lump_{gum}"] * -math.expm1(-hours / n("flow.swelling"))
            liquor.gain(**{f"lump_{gum}": -gone, gum: gone})
        self.mould(vessel, hours * open_)
        liquor.temperature = cool(liquor.temperature, n("air.room"), hours, n("air.cooling"))

    @staticmethod
    def reducing(liquor: Liquor) -> float:
        """Return 1 where tannin helps iron to turn, a twentieth without any."""
        return 1.0 if sum(liquor[t] for t in TANNINS) > 0 else 1 / 20

    def mould(self, vessel: Vessel, open_hours: float) -> None:
        """Split gallotannin once a liquor without iron has stood open for long."""
        liquor = vessel.liquor
        if liquor.iron() > 0 or liquor["ethanol"] > self.n("air.spirit_keeps") * liquor["water"]:
            return
        before, vessel.standing = vessel.standing, vessel.standing + open_hours / 24.0
        days = vessel.standing - max(before, self.n("air.mould_lag"))
        if days > 0:
            self.split(liquor, -math.expm1(-self.n("air.mould") * days))

    @staticmethod
    def split(liquor: Liquor, share: float) -> None:
        """Turn a share of the gallotannin to gallic acid, gram for gram."""
        gone = liquor["gallotannin"] * share
        liquor.gain(gallotannin=-gone, gallic=gone)

    def steep(self, vessel: Vessel, hours: float) -> None:
        """Let marc give to the liquor on it: Peleg's hyperbola and a slow exponential."""
        marc, n, liquor = vessel.marc, self.n, vessel.liquor
        if marc is None or liquor["water"] <= 0:
            return
        celsius = liquor.temperature
        if not marc.ready:
            reach = min(n("extract.reach") + n("extract.reach_hot") * max(celsius - 20.0, 0.0), 0.97)
            wet = liquor["water"] / (liquor["water"] + n("extract.partition") * marc.dry)
            for part, total in marc.total.items():
                marc.ready[part] = wet * max(reach * total - (total - marc.left[part]), 0.0)
        half = (
            n(f"extract.k1_{marc.form}")
            * self.coarse(marc.pieces)
            * n("extract.q10") ** ((20.0 - celsius) / 10.0)
        )
        more = self.out(marc.hours + hours, half) - self.out(marc.hours, half)
        marc.hours += hours
        for part, ready in marc.ready.items():
            grams = min(ready * more, marc.left[part])
            marc.left[part] -= grams
            liquor.gain(**{part: grams})
            if part == "other":
                liquor.gain(plant=grams * n("acid.plant_load"), base=grams * n("extract.base"))

    def coarse(self, pieces: str) -> float:
        """Return the factor on extraction time for the size of the pieces, in words or millimetres."""
        word = pieces.lower()
        if any(w in word for w in ("powder", "ground", "grind", "fine")):
            return self.n("extract.ground")
        if "whole" in word:
            return self.n("extract.whole")
        if any(c.isdigit() for c in word):
            return float((said(pieces).value / self.n("extract.crushed")) ** self.n("extract.size_power"))
        return (
            self.n("extract.broken") if any(w in word for w in ("broken", "chop", "chip", "coarse")) else 1.0
        )

    def out(self, hours: float, half: float) -> float:
        """Return the share given after some hours at a half time, by Peleg's law or by Weibull's."""
        if self.n("law.steeping") > 0:
            return -math.expm1(-math.log(2) * (hours / half) ** self.n("extract.weibull"))
        slow, long = self.n("extract.slow"), self.n("extract.slow_time")
        return (1.0 - slow) * hours / (hours + half) + slow * -math.expm1(-hours / (long * half))

    def new_marc(self, lot: Lot, grams: float, pieces: str | None) -> Marc:
        """Return fresh solids of a plant lot, ready to steep."""
        dry = grams * (1.0 - lot.holds["moisture"] * (self.n("lot.dried") if lot.dry else 1.0))
        solubles = {p: dry * f for p, f in lot.holds.items() if p != "moisture"}
        return Marc(
            dry=dry, form=raw.form_of(lot.material), pieces=pieces or lot.pieces,
            left=dict(solubles), total=dict(solubles),
        )  # fmt: skip

    # -- looks -----------------------------------------------------------------------------------

    def wet_film(self, ink: Liquor, method: str, pen: Pen, *, celsius: float | None = None) -> float:
        """Return the mean wet film in um that a method leaves of an ink."""
        n = self.n
        thick = nature.viscosity(ink, n, celsius=n("air.room") if celsius is None else celsius)
        if method in {"dip", "drop"}:
            return float(n(f"film.{method}") * (thick / n("film.at")) ** n("film.dip_power"))
        wide = (pen.width / 2.0) ** n("film.width")
        return float(n(f"film.{pen.cut}") * (thick / n("film.at")) ** n("film.pen_power") * wide)

    def surface(self, key: str) -> Surface:
        """Return how films lie on the skin of that key."""
        n = self.n
        names = ("mirror", "gloss", "inner")
        optic = {k: max(n(f"optics.{k}"), 0.005) for k in names}
        return Surface(**optic, uneven=n("film.uneven"), sink=n("film.sink", key), sunk=n("film.sunk"))

    def look(self, ink: Liquor, um: float, skin: Skin, *, done: float = 1.0) -> TrueStroke:
        """Return the true look of an ink's film on a skin."""
        film = optics.film_of(ink, self.n, chalk=skin.chalk)
        return optics.stroke_of(
            optics.inked(film, um, skin.bare, Pigments.of(self.n), self.surface(skin.key), done=done),
            skin.bare,
        )

    def stroke(
        self, thing: str, *, support: str | None = None, method: str = "pen", pen: str | None = None,
        hours: float | None = None,
    ) -> TrueStroke:  # fmt: skip
        """Return the true stroke of a trial, or one that a vessel would give.

        Parameters
        ----------
        thing : str
            Name of a trial or vessel (``trial:`` or ``vessel:`` in front is allowed).
        support : str, optional
            Another support than the trial's, or the one to write on.
        method, pen : str
            For a vessel: how the stroke is made.
        hours : float, optional
            Age of the stroke; None means dry and fully dark.
        """
        sort, _, name = thing.rpartition(":")
        done = 1.0 if hours is None else self.darkened(hours)
        if name in self.trials and sort != "vessel":
            trial = self.trials[name]
            return self.look(trial.ink, trial.film, self.skin(support or trial.support), done=done)
        if name not in self.vessels:
            raise UnknownNameError(f"no trial or vessel {name!r}", where="simulate")
        ink = self.vessels[name].liquor
        um = self.wet_film(ink, method, self.pen(pen))
        return self.look(ink, um, self.skin(support or next(iter(self.supports), "goat-1")), done=done)

    def darkened(self, hours: float) -> float:
        """Return the share of the iron colour formed after some hours: two exponentials."""
        n = self.n
        quick, slow = (math.exp(-hours / n(f"darken.{k}")) for k in ("quick", "slow"))
        rest = n("darken.fast") * quick + (1.0 - n("darken.fast")) * slow
        return 1.0 - (1.0 - n("darken.start")) * rest

    def original(self, name: str) -> TrueStroke:
        """Return the intact ink of an exemplar on its own bare skin."""
        e = self.exemplars[name.removeprefix("exemplar:")]
        return optics.stroke_of(optics.inked(e.film, e.um, e.bare, Pigments.of(self.n), e.surface), e.bare)

    def distance(
        self, vessel: str, exemplar: str, *, method: str = "pen", pen: str | None = None,
        celsius: float | None = None,
    ) -> float:  # fmt: skip
        """Return the true CIEDE2000 between a vessel's dried stroke on the exemplar's skin and its intact ink."""
        lab = self.lab_on(vessel, exemplar, method=method, pen=pen, celsius=celsius)
        return float(ciede2000(lab, self.original(exemplar).lab))

    def lab_on(
        self, vessel: str, exemplar: str, *, method: str = "pen", pen: str | None = None,
        celsius: float | None = None,
    ) -> Array:  # fmt: skip
        """Return the Lab of a vessel's dried stroke on an exemplar's own skin."""
        e = self.exemplars[exemplar.removeprefix("exemplar:")]
        ink = self.vessels[vessel.removeprefix("vessel:")].liquor
        chalk = self.n("skin.chalk", e.key)
        film = optics.film_of(ink, self.n, chalk=chalk)
        um = self.wet_film(ink, method, self.pen(pen), celsius=celsius)
        mine = optics.inked(film, um, e.bare, Pigments.of(self.n), e.surface)
        return optics.stroke_of(mine, e.bare).lab

    def true(self, vessel: str) -> dict[str, Any]:
        """Return what is truly in a vessel, under the names and units of an estimate's answer."""
        pot = self.vessels[vessel.removeprefix("vessel:")]
        liquor, n = pot.liquor, self.n
        litres = max(nature.litres(liquor, n), 1e-12)
        blue, green = nature.sites(liquor, n)
        stroke = self.stroke(f"vessel:{vessel.removeprefix('vessel:')}")
        per = 1000.0 / litres
        return {
            "volume": 1000.0 * litres,
            "temperature": liquor.temperature,
            "iron_total": liquor.iron() * per,
            "iron_capacity": (blue + green) * per,
            "iron_to_capacity": liquor.iron() / max(blue + green, 1e-12),
            "free_iron": nature.bound(liquor, n).free * per,
            "ph": nature.ph(liquor, n),
            "viscosity": nature.viscosity(liquor, n),
            "gum": liquor.all_gum() / litres,
            "gum_dissolved": liquor.gum() / litres,
            "tannin": sum(liquor[t] for t in TANNINS) / litres,
            "dissolved_solids": liquor.solids() / litres,
            "specific_gravity": liquor.mass() / (1000.0 * litres) / water_density(liquor.temperature),
            "dry_optical_density": dict(stroke.optical_density),
            "dry_lab": {k: float(v) for k, v in zip("Lab", stroke.lab, strict=True)},
        }


def _or(name: str, table: str, otherwise: str) -> str:
    try:
        return known(name, table)
    except UnknownNameError:
        words = name.replace("-", " ").split()
        return next((k for w in words if (k := resolve(w, table))), otherwise)


def mean_density(stroke: TrueStroke) -> float:
    """Return the mean of the three channel densities."""
    return float(np.mean(list(stroke.optical_density.values())))
