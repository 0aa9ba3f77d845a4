"""The wider variety of make-believe workshops: any plant, four ways to iron, originals that owe nothing to the pot.

What `random_workshop` deals is always in reach. Here nobody looked: some
originals cannot be reached with what is on the bench.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Any

import attrs

from inkhorn.errors import InkhornError
from inkhorn.handbook.load import value
from inkhorn.simulate.draws import Draws
from inkhorn.simulate.maker import Maker
from inkhorn.simulate.originals import KINDS, make_original
from inkhorn.simulate.truth import Truth
from inkhorn.simulate.workshops import GUMS, PLANTS, SKINS, Diary, exemplar_entries

IRONS = ("bought", "scraped", "weathered", "vinegar")
VARIANTS = ("default", "chalky", "loose", "careless", "violet", "slate", "tarry", "other")
BROWN = ("oak-bark", "alder-bark", "blackthorn-bark")
PENS: Mapping[str, tuple[str, str]] = {
    "reed-2mm": ("reed", "2 mm"), "quill-1": ("goose quill", "0.7 mm"), "nib-1": ("metal nib", "0.6 mm"),
}  # fmt: skip
#: What a maker reckons a steep draws out of what the handbook says is there.
_DRAWN = 0.5
_TRIES = 40


@attrs.frozen(kw_only=True)
class Nominal:
    """What the maker reckons with, from the handbook and the amounts written down.

    Parameters
    ----------
    tannin : mapping
        Of each vessel: tannin, g/L.
    iron : mapping
        Of each vessel: iron, g/L.
    gum : mapping
        Of each vessel: gum, g/L.
    """

    tannin: Mapping[str, float]
    iron: Mapping[str, float]
    gum: Mapping[str, float]


@attrs.frozen(kw_only=True)
class Dealt:
    """A make-believe workshop of the wider variety, at the moment before its first trial.

    Parameters
    ----------
    truth : Truth
        Everything in ``entries`` has happened to it.
    entries : tuple of dict
        What its maker wrote down, the measured facts of the original first.
    facts : mapping
        Those facts: ``name, optical_density, sd, lab, support_lab``.
    kind, iron, plant, gum, variant : str
        Kind of the original, way to iron, plant, gum, variant of the physics.
    pen, support : str
        What trials are written with, and on.
    nominal : Nominal
        What the maker reckons to have.
    """

    seed: int
    truth: Truth
    entries: tuple[dict[str, Any], ...]
    facts: Mapping[str, Any]
    kind: str
    iron: str
    plant: str
    gum: str
    variant: str
    pen: str
    support: str
    nominal: Nominal
    pot: str = "pot"
    page: str = "page"


def deal(seed: int, *, variant: str | None = None) -> Dealt:
    """Deal a workshop of the wider variety.

    Kinds of original and ways to iron go round with the seed, so that twenty
    seeds hold each pair once; the rest is drawn.

    Parameters
    ----------
    seed : int
        Which one.
    variant : str, optional
        Physics; drawn from all variants if left out.

    Raises
    ------
    InkhornError
        If no workshop whose pot is off its original is found in forty deals.
    """
    kinds = tuple(KINDS)
    kind, iron = kinds[seed % len(kinds)], IRONS[(seed // len(kinds)) % len(IRONS)]
    for attempt in range(_TRIES):
        number = 100_000 + 1000 * seed + attempt
        laws = variant or str(Draws(seed=number).rng("variant").choice(VARIANTS))
        n = Draws(seed=number, variant=laws)
        maker = Maker(clumsiness=n("dealt.clumsy"), wrong_entries=n("dealt.slips"), spills=n("dealt.spills"))
        truth = Truth(number, variant=laws, maker=maker)
        diary = Diary(truth=truth, at=datetime(2026, 9, 3, 8, 0) + timedelta(days=seed % 60))  # noqa: DTZ001
        brew = _Brew(d=diary, n=n, iron=iron, kind=kind)
        brew.all()
        facts = make_original(truth, "page", kind)
        truth.bench.last_pen = brew.pen
        if truth.distance("pot", "page") >= value("simulate.dealt.least_off"):
            told = (*exemplar_entries(facts, diary.entries[0]["at"]), *diary.entries)
            return Dealt(
                seed=seed, truth=truth, entries=told, facts=facts, kind=kind, iron=iron, plant=brew.plant,
                gum=brew.gum, variant=laws, pen=brew.pen, support="skin-1", nominal=brew.nominal(),
            )  # fmt: skip
    raise InkhornError(f"no fitting workshop in {_TRIES} deals", where=f"deal({seed})")


@attrs.define(kw_only=True)
class _Brew:
    """One maker at work: gather, draw iron, steep, boil down, season."""

    d: Diary
    n: Draws
    iron: str
    kind: str
    plant: str = ""
    gum: str = ""
    pen: str = ""
    tannin: dict[str, float] = attrs.field(factory=dict)
    irons: dict[str, float] = attrs.field(factory=dict)
    gums: dict[str, float] = attrs.field(factory=dict)

    def nominal(self) -> Nominal:
        return Nominal(tannin=dict(self.tannin), iron=dict(self.irons), gum=dict(self.gums))

    def all(self) -> None:
        pick = self.n.rng("wider deal")
        self.plant, self.gum = (str(pick.choice(x)) for x in (PLANTS, GUMS))
        self.pen = str(pick.choice(list(PENS)))
        d, cut = self.d, PENS[self.pen]
        d.do(kind="gather", lot=self.gum, material=_spoken(self.gum), amount="120 g")
        d.do(kind="support", name="skin-1", material=_spoken(str(pick.choice(SKINS))))
        d.do(kind="pen", name=self.pen, cut=cut[0], width=cut[1])
        _WAYS[self.iron](self)
        # Whoever aims at a brown page has mostly a brown liquor at hand.
        if pick.random() < (3 / 4 if "brown" in self.kind else 1 / 4):
            self.second(str(pick.choice([b for b in BROWN if b != self.plant])))
        self.liquor(keep=bool(pick.random() < 2 / 3))
        self.season()
        d.do(hours=12, kind="rest", vessel="pot", **_for("12 h"), covered=True)
        d.see("vessel:pot", "body")
        if pick.random() < 2 / 5:
            d.see("vessel:pot", str(pick.choice(["ph", "ten_drops", "specific_gravity", "volume"])))

    # -- iron ------------------------------------------------------------------------------------

    def bought(self) -> None:
        self.d.do(kind="gather", lot="vitriol", material="bought green vitriol", amount="250 g")

    def scraped(self) -> None:
        self.d.do(kind="gather", lot="vitriol", material="scraped green vitriol", amount="about 250 g")

    def weathered(self) -> None:
        d, n = self.d, self.n
        grams, days = _round(n("dealt.sulfide")), round(n("dealt.heap_days"))
        sulfide = str(n.rng("sulfide").choice(["pyrite", "marcasite"]))
        d.do(kind="gather", lot=sulfide, material=sulfide, amount=f"about {grams:g} g")
        d.do(kind="gather", lot="filings", material="iron filings", amount="100 g")
        d.do(
            kind="weather", lot=sulfide, amount="all", liquid="rainwater", liquid_amount="about 1 L", into="iron",
            **_for(f"{days} d"), temperature="18 degC",
        )  # fmt: skip
        d.do(kind="neutralise", vessel="iron", lot="filings", amount="30 g", **_for("3 d"))
        d.do(kind="add", into="iron", liquid="rainwater", up_to="about 1 L")
        self.irons["iron"] = n("dealt.heap_liquor")

    def vinegar(self) -> None:
        d, days = self.d, round(self.n("dealt.vinegar_days"))
        d.do(kind="gather", lot="filings", material="iron filings", amount="100 g")
        d.do(kind="add", into="iron", liquid="vinegar", amount="about 1 L")
        d.do(kind="neutralise", vessel="iron", lot="filings", amount="60 g", **_for(f"{days} d"))
        self.irons["iron"] = self.n("dealt.iron_liquor")

    # -- tannin ----------------------------------------------------------------------------------

    def second(self, plant: str) -> None:
        """Draw a second, browner liquor and set it aside."""
        wanted, d = 400.0, self.d
        strength = self.n("dealt.second")
        dose = _round(strength * wanted / 1000.0 / (_book(plant) * _DRAWN))
        d.do(kind="gather", lot=plant, material=_spoken(plant), amount=f"{dose:g} g")
        d.do(
            hours=12, kind="steep", lot=plant, amount="all", liquid="rainwater", liquid_amount="about 1.2 L",
            into="crock", **_for("12 h"), temperature="16 degC", pieces="crushed",
        )  # fmt: skip
        d.do(kind="strain", vessel="crock", into="brown")
        d.do(hours=1, kind="reduce", vessel="brown", to=f"about {wanted:g} ml")
        self.tannin["brown"] = strength

    def pour(self, source: str, amount: str) -> None:
        """Pour from a vessel into the pot."""
        words: dict[str, Any] = {"from": source, "into": "pot", "amount": amount}
        self.d.do(kind="pour", **words)

    def strength(self) -> float:
        """Return the tannin in g/L that this maker aims at for this original."""
        return self.n("deal.strength") * self.n(f"original.{self.kind}.aimed")

    def liquor(self, *, keep: bool) -> None:
        """Steep, strain and boil down; keep a part back as plain liquor, or make all of it the pot."""
        n, d = self.n, self.d
        deal, vessel = n.rng("liquor"), "stock" if keep else "pot"
        wanted, strength = n("deal.pot") * (1.7 if keep else 1.0), self.strength()
        dose = _round(strength * wanted / 1000.0 / (_book(self.plant) * _DRAWN))
        eye = "about " if deal.random() < 2 / 3 else ""
        hours = max(round(n("deal.soak")), 2)
        d.do(
            kind="gather", lot=self.plant, material=_spoken(self.plant),
            amount=f"{eye}{_round(n('deal.gathered') * dose):g} g",
        )  # fmt: skip
        d.do(
            hours=hours, kind="steep", lot=self.plant, amount=f"{eye}{dose:g} g",
            liquid=str(deal.choice(["spring water", "rainwater"])),
            liquid_amount=f"about {_round(wanted * n('deal.water')):g} ml", into="tub",
            **_for(f"{hours} h"), temperature=f"{deal.integers(12, 24)} degC", pieces="crushed",
        )  # fmt: skip
        d.do(kind="strain", vessel="tub", into=vessel)
        d.do(hours=1, kind="reduce", vessel=vessel, to=f"{eye}{_round(wanted):g} ml")
        d.at += timedelta(hours=3)
        self.tannin["pot"] = strength
        if keep:
            self.tannin["stock"] = strength
            part = _round(wanted * n("dealt.to_pot"))
            self.pour("stock", f"{eye}{part:g} ml")
            d.do(kind="store", vessel="stock", how="stoppered jar")
            wanted = part
        self.gums["litres"] = wanted / 1000.0

    def season(self) -> None:
        """Stir in iron and gum, each by the maker's own idea of how much."""
        n, d, litres = self.n, self.d, self.gums.pop("litres")
        vitriol = n("deal.vitriol") * n("dealt.cautious") * self.tannin["pot"] * litres
        iron = vitriol * value("materials.bought-green-vitriol.iron")
        if "iron" in self.irons:
            ml = _round(1000.0 * iron / self.irons["iron"])
            self.pour("iron", f"about {ml:g} ml")
            d.do(kind="store", vessel="iron", how="stoppered jar")
            litres_after = litres + ml / 1000.0
        else:
            d.do(kind="add", into="pot", lot="vitriol", amount=f"{_round(vitriol):g} g")
            litres_after = litres
        grams = n("deal.gum_arabic" if self.gum == "gum-arabic" else "deal.gum_tree") * litres
        if n.rng("gum").random() < 1 / 2:
            said = f"1/{max(round(120.0 / grams), 2)} of the {self.gum} jar"
        else:
            said = f"{_round(grams):g} g"
        d.do(kind="add", into="pot", lot=self.gum, amount=said)
        self.tannin["pot"] *= litres / litres_after
        self.irons["pot"], self.gums["pot"] = iron / litres_after, grams / litres_after


_WAYS: Mapping[str, Callable[[_Brew], None]] = {
    "bought": _Brew.bought,
    "scraped": _Brew.scraped,
    "weathered": _Brew.weathered,
    "vinegar": _Brew.vinegar,
}


def _for(long: str) -> dict[str, Any]:
    """Return how long, under a key that is no name in Python."""
    return {"for": long}


def _spoken(key: str) -> str:
    return key.replace("-", " ")


def _book(plant: str) -> float:
    """Return what a gram of a plant should give by the handbook."""
    return value(f"materials.{plant}.tannin") * (1.0 - value(f"materials.{plant}.moisture"))


def _round(x: float) -> float:
    return round(x, 1 - math.floor(math.log10(x)))


__all__ = ["IRONS", "KINDS", "VARIANTS", "Dealt", "Nominal", "deal"]
