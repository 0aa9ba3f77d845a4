"""Seeded make-believe workshops: a record of a dozen or two entries, a pot that is off, an original in reach."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from typing import Any, NamedTuple

import attrs

from inkhorn.errors import InkhornError
from inkhorn.handbook.load import value
from inkhorn.simulate import nature
from inkhorn.simulate.draws import Draws
from inkhorn.simulate.liquor import Liquor
from inkhorn.simulate.maker import Maker
from inkhorn.simulate.truth import Truth

Entry = dict[str, Any]
PLANTS = (
    "oak-galls", "marble-galls", "oak-bark", "alder-bark", "blackthorn-bark", "sumac-leaf", "alder-cones",
    "myrobalan", "pomegranate-rind",
)  # fmt: skip
GUMS = ("gum-arabic", "plum-gum", "cherry-gum")
SKINS = ("goat-parchment", "calf-parchment", "sheep-parchment", "rag-paper")
_TRIES = 40
#: Factors on strength and additions of iron (over the sites) that the search for a plan in reach goes through.
_STRENGTHS = tuple(2.0 ** (k / 4) for k in range(-7, 8))
_IRONS = (0, 1 / 20, 1 / 10, 1 / 5, 1 / 3, 1 / 2)


class Scenario(NamedTuple):
    """One make-believe workshop.

    Attributes
    ----------
    truth : Truth
        Ready for what-if: everything in ``entries`` has happened to it.
    entries : list of dict
        What its maker wrote down, in the JSON form of the daybook.
    exemplar : dict
        ``name, optical_density, sd, lab, support_lab`` as measured; ``pot``, the vessel to correct; ``now``,
        its true distance; ``best``, the least true distance of a small grid of plans; ``plan``, that plan.
    """

    truth: Truth
    entries: list[Entry]
    exemplar: dict[str, Any]


@attrs.define(kw_only=True)
class Diary:
    """Write entries down as they are done, hours apart."""

    truth: Truth
    at: datetime
    entries: list[Entry] = attrs.field(factory=list)

    def do(self, hours: float = 0.25, **entry: Any) -> None:
        """Do one thing, then let the clock run."""
        done = {"at": self.at.isoformat(timespec="minutes"), **entry}
        self.entries.append(done)
        self.truth.apply(done)
        self.at = max(self.at + timedelta(hours=hours), self._next_minute())

    def see(self, of: str, what: str, **how: Any) -> None:
        """Notice one thing."""
        at = self.at.isoformat(timespec="minutes")
        self.entries.append(self.truth.notice({"at": at, "kind": "reading", "of": of, "what": what, **how}))
        self.at += timedelta(minutes=10)

    def _next_minute(self) -> datetime:
        return (self.truth.now + timedelta(minutes=1)).replace(second=0, microsecond=0)


def random_workshop(seed: int, *, variant: str = "default", maker: Maker | None = None) -> Scenario:
    """Deal a workshop whose pot is clearly off and whose original is in reach.

    Parameters
    ----------
    seed : int
        Which one.
    variant, maker
        As for `Truth`.

    Returns
    -------
    Scenario

    Raises
    ------
    InkhornError
        If no such workshop is found in forty deals (it has not been seen to happen).
    """
    for attempt in range(_TRIES):
        n = Draws(seed=1000 * seed + attempt, variant=variant)
        truth = Truth(n.seed, variant=variant, maker=maker)
        diary = Diary(truth=truth, at=datetime(2026, 9, 3, 8, 0) + timedelta(days=seed % 60))  # noqa: DTZ001
        pen = _brew(diary, n)
        facts = _original(truth, n, pen)
        _compare(diary, n)
        facts["now"] = truth.distance("pot", "page")
        facts["best"], facts["plan"] = best_plan(truth, "pot", "page")
        if facts["now"] >= value("simulate.deal.least_off") and facts["best"] <= value(
            "simulate.deal.in_reach"
        ):
            return Scenario(truth, diary.entries, facts | {"pot": "pot"})
    raise InkhornError(f"no fitting workshop in {_TRIES} deals", where=f"random_workshop({seed})")


def exemplar_entries(facts: Mapping[str, Any], at: str) -> Iterator[Entry]:
    """Yield the daybook readings that carry the measured facts of an exemplar."""
    of = {"at": at, "kind": "reading", "of": f"exemplar:{facts['name']}"}
    yield {**of, "what": "optical_density", "value": facts["optical_density"], "sd": facts["sd"]}
    yield {**of, "what": "support_lab", "value": facts["support_lab"]}


def _round(x: float) -> float:
    """Round to two digits, as a maker weighs out."""
    return round(x, 1 - math.floor(math.log10(x)))


def _brew(d: Diary, n: Draws) -> str:
    """Gather, steep, strain, boil down, add iron and gum; return the pen used."""
    deal = n.rng("deal")
    plant, gum, skin = (str(deal.choice(x)) for x in (PLANTS, GUMS, SKINS))
    # The maker reckons with the handbook's strength; the lot has its own.
    book = value(f"materials.{plant}.tannin")
    wanted, grams_per_litre = n("deal.pot"), n("deal.strength")
    steep = wanted * n("deal.water")
    dose = _round(grams_per_litre * wanted / 1000.0 / (book * 0.5))
    d.do(
        kind="gather",
        lot=plant,
        material=plant.replace("-", " "),
        amount=f"{_round(n('deal.gathered') * dose):g} g",
    )
    d.do(kind="gather", lot="vitriol", material="bought green vitriol", amount="250 g")
    d.do(kind="gather", lot=gum, material=gum.replace("-", " "), amount="120 g")
    d.do(kind="support", name="skin-1", material=skin.replace("-", " "))
    pen = str(deal.choice(["reed-2mm", "quill-1"]))
    width = "2 mm" if pen.startswith("reed") else "0.7 mm"
    d.do(kind="pen", name=pen, cut="reed" if pen.startswith("reed") else "goose quill", width=width)
    hours = max(round(n("deal.soak")), 2)
    eye = "about " if deal.random() < 0.5 else ""
    d.do(
        hours=hours, kind="steep", lot=plant, amount=f"{dose:g} g", liquid=str(deal.choice(["spring water", "rainwater"])),
        liquid_amount=f"{eye}{_round(steep):g} ml", into="tub", **{"for": f"{hours} h"},
        temperature=f"{deal.integers(12, 24)} degC", pieces="crushed",
    )  # fmt: skip
    d.do(kind="strain", vessel="tub", into="pot")
    d.see("vessel:pot", "ph", **{"with": "strip"})
    d.do(hours=1, kind="reduce", vessel="pot", to=f"{eye}{_round(wanted):g} ml")
    d.at += timedelta(hours=2)
    if deal.random() < 0.6:
        d.see("vessel:pot", "volume", **{"with": "jug"})
    _season(d, n, gum, wanted, grams_per_litre)
    d.do(hours=12, kind="rest", vessel="pot", **{"for": "12 h"}, covered=True)
    for reading in deal.choice(
        ["ph", "ten_drops", "body", "specific_gravity", "total_iron"], size=2, replace=False
    ):
        d.see("vessel:pot", str(reading), **({"with": "strip"} if reading == "ph" else {}))
    d.do(kind="mark", vessel="pot", trial="t1", support="skin-1", method="pen", pen=pen)
    if deal.random() < 0.5:
        d.do(kind="mark", vessel="pot", trial="t2", support="skin-1", method="dip", thinned="1 in 8")
    return pen


def _season(d: Diary, n: Draws, gum: str, wanted: float, grams_per_litre: float) -> None:
    iron = _round(n("deal.vitriol") * grams_per_litre * wanted / 1000.0)
    d.do(kind="add", into="pot", lot="vitriol", amount=f"{iron:g} g")
    per_litre = n("deal.gum_arabic") if gum == "gum-arabic" else n("deal.gum_tree")
    grams = per_litre * wanted / 1000.0
    if n.rng("gum").random() < 0.4:
        parts = max(round(120.0 / grams), 2)
        d.do(kind="add", into="pot", lot=gum, amount=f"1/{parts} of the {gum} jar")
    else:
        d.do(kind="add", into="pot", lot=gum, amount=f"{_round(grams):g} g")


def _original(truth: Truth, n: Draws, pen: str) -> dict[str, Any]:
    """Make the hidden original: the pot's ink, changed as boiling down, water or iron would change it."""
    deal = n.rng("original")
    strength = math.exp(math.copysign(abs(n("deal.off")), deal.random() - 0.4))
    iron = n("deal.more_iron") if deal.random() < 0.4 else 0.0
    ink = tuned(truth.bench.vessels["pot"].liquor, n, strength=strength, iron=iron)
    skin = str(deal.choice(SKINS[:3]))
    return truth.exemplar("page", ink, support=skin, ageing=n("deal.ageing"), pen=pen)


def _compare(d: Diary, n: Draws) -> None:
    """Come back after a day and look at the trials, against the page too."""
    d.at += timedelta(hours=26)
    for trial in d.truth.bench.trials:
        d.see(f"trial:{trial}", "optical_density")
    if n.rng("compare").random() < 0.6:
        d.see("trial:t1", "depth", against="page")


def tuned(liquor: Liquor, n: Draws, *, strength: float = 1.0, iron: float = 0.0) -> Liquor:
    """Return a liquor as it would be boiled down (strength above 1) or watered, with iron added.

    ``iron`` is in units of the sites for iron, as plain ferrous sulfate. Nothing is lost or browned.
    """
    out = Liquor(amounts=dict(liquor.amounts), temperature=liquor.temperature, swell=dict(liquor.swell))
    goal = nature.millilitres(liquor, n) / strength
    out.gain(water=goal - nature.millilitres(out, n))
    moles = iron * sum(nature.sites(out, n))
    out.gain(iron2=moles, sulfate=moles)
    return out


def best_plan(truth: Truth, vessel: str, exemplar: str) -> tuple[float, dict[str, float]]:
    """Return the least true distance over a small grid of strengths and irons that still flow, and its plan."""
    what_if = truth.copy()
    pot, n = what_if.bench.vessels[vessel], what_if.bench.n
    start = pot.liquor
    best, plan = math.inf, {"strength": 1.0, "iron": 0.0}
    for strength in _STRENGTHS:
        for iron in _IRONS:
            pot.liquor = tuned(start, n, strength=strength, iron=iron)
            if nature.viscosity(pot.liquor, n, celsius=n("air.room")) > value("simulate.deal.flow"):
                continue
            distance = what_if.distance(vessel, exemplar)
            if distance < best:
                best, plan = distance, {"strength": strength, "iron": float(iron)}
    return best, plan
