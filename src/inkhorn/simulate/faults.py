"""Make-believe workshops with one known fault each: the maker complains, and does not know why."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Any, NamedTuple

import attrs

from inkhorn.errors import InkhornError
from inkhorn.handbook.load import value
from inkhorn.simulate import grievances
from inkhorn.simulate.draws import Draws
from inkhorn.simulate.maker import Maker
from inkhorn.simulate.truth import Truth
from inkhorn.simulate.workshops import GUMS, PLANTS, SKINS, Diary

POT, TRIAL, SKIN = "pot", "t1", "skin-1"
_TRIES = 60


class Faulty(NamedTuple):
    """One make-believe workshop with a fault.

    Attributes
    ----------
    truth : Truth
        Everything in ``entries`` has happened to it.
    entries : list of dict
        What its maker wrote down.
    fault : str
        What is wrong; never written down as such.
    complaint : str
        What the maker complains of most, as the truth's own physics has it.
    trial : str or None
        The stroke that shows it; None where nothing was written yet.
    good : float
        Mean density of the same stroke had nothing been wrong: what the maker is used to.
    """

    truth: Truth
    entries: list[dict[str, Any]]
    fault: str
    complaint: str
    trial: str | None
    good: float

    def check(self, check: str) -> str:
        """Return what a check shows, under the handbook's key of its outcome."""
        return grievances.outcome(self.truth, POT, self.trial, self.complaint, check, good=self.good)


@attrs.frozen(kw_only=True)
class Recipe:
    """How a workshop is dealt: doses as they truly are, against what the maker writes."""

    plant: str
    gum: str
    skin: str
    pen: str
    water: str
    ml: float
    grams_per_litre: float
    written: bool
    fault: str | None


def _weak(truth: Truth, r: Recipe) -> None:
    lot = truth.bench.lots[r.plant]
    weak = truth.bench.n("fault.weak")
    lot.holds = {p: f * (weak if p != "moisture" else 1.0) for p, f in lot.holds.items()}


def _poor_gum(truth: Truth, r: Recipe) -> None:
    """Where the maker wrote a good dose, hardly any of it goes into solution."""
    if not r.written:
        lot = truth.bench.lots[r.gum]
        little = truth.bench.n("fault.little_gum")
        lot.holds = lot.holds | {"dissolving": lot.holds["dissolving"] * little}


def _old_salt(truth: Truth, r: Recipe) -> None:
    del r
    lot, turned = truth.bench.lots["vitriol"], truth.bench.n("fault.turned")
    iron = lot.holds["iron2"] + lot.holds["iron3"]
    acid = lot.holds["sulfate"] - lot.holds["iron2"] - 1.5 * lot.holds["iron3"]
    two, three = iron * (1.0 - turned), iron * turned
    # Air turns iron(II) sulfate to a basic salt: no more sulfate than there was.
    lot.holds = lot.holds | {"iron2": two, "iron3": three, "sulfate": iron + max(acid, 0.0)}


def _greasy(truth: Truth, r: Recipe) -> None:
    del r
    skin = truth.bench.skin(SKIN)
    truth.bench.supports[SKIN] = attrs.evolve(skin, sink=skin.sink * truth.bench.n("fault.grease"))


_IN_MATERIALS: Mapping[str, Callable[[Truth, Recipe], None]] = MappingProxyType(
    {
        "weak-extract": _weak,
        "too-little-gum": _poor_gum,
        "oxidised-salt": _old_salt,
        "greasy-skin": _greasy,
    }
)
#: The faults that a workshop can be dealt with, named as the causes of a complaint are.
FAULTS = (
    "weak-extract",
    "hard-water",
    "too-little-gum",
    "too-much-gum",
    "greasy-skin",
    "too-much-iron",
    "oxidised-salt",
    "mould",
)


def faulty_workshop(seed: int, fault: str, *, maker: Maker | None = None) -> Faulty:
    """Deal a workshop with a fault of which its maker complains, and which would be well without it.

    Parameters
    ----------
    seed : int
        Which one.
    fault : str
        One of `FAULTS`.

    Raises
    ------
    InkhornError
        If the fault is not known, or no such workshop is found.
    """
    if fault not in FAULTS:
        raise InkhornError(
            f"there is no fault {fault!r}", where="simulate", mend=f"Known: {', '.join(FAULTS)}"
        )
    for attempt in range(_TRIES):
        number = 10_000_000 + (1000 * seed + attempt) * len(FAULTS) + FAULTS.index(fault)
        sound, _ = _play(number, None, maker)
        good = grievances.density(sound.bench, TRIAL)
        if grievances.voiced(grievances.minded(sound, POT, TRIAL, good)) is not None:
            continue
        truth, entries = _play(number, fault, maker)
        trial = TRIAL if TRIAL in truth.bench.trials else None
        complaint = grievances.voiced(grievances.minded(truth, POT, trial, good))
        if complaint is not None:
            return Faulty(truth, entries, fault, complaint, trial, good)
    raise InkhornError(f"no fitting workshop in {_TRIES} deals", where=f"faulty_workshop({seed}, {fault})")


def _play(number: int, fault: str | None, maker: Maker | None) -> tuple[Truth, list[dict[str, Any]]]:
    """Brew an ink with a fault, or the same without one."""
    truth = Truth(number, maker=maker)
    n = truth.bench.n
    d = Diary(truth=truth, at=datetime(2026, 3, 2, 8, 0) + timedelta(days=number % 200))  # noqa: DTZ001
    r = _recipe(n, fault)
    _gather(d, r)
    if fault is not None and fault in _IN_MATERIALS:
        _IN_MATERIALS[fault](truth, r)
    _steep(d, r)
    if fault == "mould":
        _forget(d, r)
        return truth, d.entries
    _season(d, r)
    d.do(hours=12, kind="rest", vessel=POT, **{"for": "12 h"}, covered=True)
    if n.rng("bodied").random() < 0.4:
        d.see(f"vessel:{POT}", str(n.rng("bodied by").choice(["body", "ten_drops"])))
    d.do(kind="mark", vessel=POT, trial=TRIAL, support=SKIN, method="pen", pen=r.pen)
    if fault == "greasy-skin":
        trial = truth.bench.trials[TRIAL]
        truth.bench.trials[TRIAL] = attrs.evolve(trial, film=trial.film * n("fault.cover"))
    if n.rng("taken").random() < 0.3:
        d.see(f"support:{SKIN}", "absorbency")
    d.at += timedelta(hours=26)
    if n.rng("measured").random() < 0.7:
        d.see(f"trial:{TRIAL}", "optical_density")
    if n.rng("sour").random() < 0.4:
        d.see(f"vessel:{POT}", "ph", **{"with": "strip"})
    return truth, d.entries


def _recipe(n: Draws, fault: str | None) -> Recipe:
    deal = n.rng("recipe")
    waters = ["spring water", "rainwater"]
    return Recipe(
        plant=str(deal.choice(PLANTS)),
        gum=str(deal.choice(GUMS)),
        skin=str(deal.choice(SKINS[:3])),
        pen=str(deal.choice(["reed-2mm", "quill-1"])),
        # Rain is never hard.
        water="spring water" if fault == "hard-water" else str(deal.choice(waters)),
        ml=n("fault.pot"),
        grams_per_litre=n("fault.strength"),
        # Of a dose gone wrong: whether the maker wrote what was put in, or what should have been.
        written=bool(deal.random() < 0.5),
        fault=fault,
    )


def _round(x: float) -> float:
    return round(x, 1 - math.floor(math.log10(x)))


def _gather(d: Diary, r: Recipe) -> None:
    d.do(kind="gather", lot=r.plant, material=r.plant.replace("-", " "), amount="2 kg")
    d.do(kind="gather", lot="vitriol", material="bought green vitriol", amount="250 g")
    d.do(kind="gather", lot=r.gum, material=r.gum.replace("-", " "), amount="120 g")
    d.do(kind="support", name=SKIN, material=r.skin.replace("-", " "))
    reed = r.pen.startswith("reed")
    d.do(kind="pen", name=r.pen, cut="reed" if reed else "goose quill", width="2 mm" if reed else "0.7 mm")


def _steep(d: Diary, r: Recipe) -> None:
    n = d.truth.bench.n
    dose = _round(r.grams_per_litre * r.ml / 1000.0 / (0.5 * value(f"materials.{r.plant}.tannin")))
    water = _round(r.ml * n("fault.water"))
    eye = "about " if n.rng("by eye").random() < 0.5 else ""
    d.do(
        hours=24, kind="steep", lot=r.plant, amount=f"{dose:g} g", liquid=r.water,
        liquid_amount=f"{eye}{water:g} ml", into="tub", **{"for": "24 h"}, temperature="17 degC", pieces="crushed",
    )  # fmt: skip
    if r.fault == "hard-water":
        alkalinity = n("fault.alkalinity") * water / 1e6
        calcium = n("fault.calcium") * alkalinity
        d.truth.bench.vessels["tub"].liquor.gain(
            carbonate=alkalinity, calcium=calcium, base=alkalinity - 2.0 * calcium
        )
    d.do(kind="strain", vessel="tub", into=POT)
    if n.rng("strip").random() < 0.5:
        d.see(f"vessel:{POT}", "ph", **{"with": "strip"})
    d.do(hours=1, kind="reduce", vessel=POT, to=f"{eye}{_round(r.ml):g} ml")
    d.at += timedelta(hours=2)


def _season(d: Diary, r: Recipe) -> None:
    n = d.truth.bench.n
    litre = r.ml / 1000.0
    good = n("fault.vitriol") * r.grams_per_litre * litre
    factor = n("fault.iron") if r.fault == "too-much-iron" else 1.0
    _dose(d, "vitriol", good, factor, written=r.written)
    good = litre * (n("deal.gum_arabic") if r.gum == "gum-arabic" else n("deal.gum_tree"))
    factor = n("fault.much_gum") if r.fault == "too-much-gum" else 1.0
    if r.fault == "too-little-gum" and r.written:
        factor = n("fault.little_gum")
    _dose(d, r.gum, good, factor, written=r.written)


def _dose(d: Diary, lot: str, good: float, factor: float, *, written: bool) -> None:
    """Put a dose in; the maker writes what it truly was, or what a good dose would have been."""
    true, said = _round(good * factor), _round(good)
    if written or factor == 1.0:
        d.do(kind="add", into=POT, lot=lot, amount=f"{true:g} g")
        return
    before = len(d.entries)
    d.do(kind="add", into=POT, lot=lot, amount=f"{true:g} g")
    d.entries[before]["amount"] = f"{said:g} g"


def _forget(d: Diary, r: Recipe) -> None:
    """Let the liquor stand open until mould is on it; the maker may have thought it covered."""
    n = d.truth.bench.n
    days = math.ceil(n("fault.open_days") * n("air.mould_lag"))
    d.do(hours=24.0 * days, kind="rest", vessel=POT, **{"for": f"{days} d"}, covered=False)
    if not r.written:
        d.entries[-1]["covered"] = True
