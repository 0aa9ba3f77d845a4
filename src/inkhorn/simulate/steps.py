"""What each kind of entry does on the bench of the invented truth."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Any

from inkhorn.simulate import nature, raw
from inkhorn.simulate.amounts import dilution, said
from inkhorn.simulate.bench import Bench
from inkhorn.simulate.liquor import PARTS, TANNINS, Liquor
from inkhorn.simulate.things import Lot, Marc, Pen, Trial, Vessel, known, nib_width, resolve

Entry = Mapping[str, Any]
# numbers-in-code: molar masses from the IUPAC standard atomic masses
_IRON, _PYRITE_SALT, _VITRIOL = 55.845, 259.99, 278.01
_FERROUS_SULFATE, _SULFURIC, _OCHRE = 151.90, 98.07, 106.87
_WET = ("water", "ethanol", "acetic")


def gather(b: Bench, e: Entry, at: datetime) -> None:
    """Bring a lot to the bench; it weighs a little other than was said."""
    del at
    amount = b.taken(e["amount"], e["lot"]) if "amount" in e else None
    said_to_be = str(e.get("material", e["lot"]))
    liquid = resolve(said_to_be, "liquids")
    if liquid is not None:
        lot = raw.liquid_lot(liquid, b.n)
    else:
        lot = raw.lot_of(known(said_to_be, "materials"), str(e["lot"]), 0.0, b.n)
    grams = math.inf if amount is None else amount.value * (lot.bulk if amount.unit == "ml" else 1.0)
    lot.mass = lot.at_first = grams
    b.lots[str(e["lot"])] = lot


def prepare(b: Bench, e: Entry, at: datetime) -> None:
    """Dry, crush, grind or wash a lot."""
    del at
    lot, how = b.lot(str(e["lot"])), str(e["how"]).lower()
    if "dry" in how and not lot.dry:
        kept = 1.0 - (1.0 - b.n("lot.dried")) * lot.holds.get("moisture", 0.0)
        lot.dry, lot.mass, lot.at_first = True, lot.mass * kept, lot.at_first * kept
    for word, pieces in (
        ("crush", "crushed"),
        ("grind", "ground"),
        ("ground", "ground"),
        ("powder", "ground"),
    ):
        if word in how:
            lot.pieces = pieces


def bring(b: Bench, e: Entry, at: datetime) -> None:
    """Bring a liquor of unknown strength that was already to hand."""
    v = b.vessel(str(e["vessel"]))
    b.settle(v, at)
    ml = b.taken(e["amount"], "bring").value
    liquid = resolve(str(e["material"]), "liquids")
    if liquid is not None:
        v.liquor.put(raw.liquid_of(liquid, ml, b.n, celsius=b.n("air.room")))
        return
    key = known(str(e["material"]), "materials")
    lot = raw.lot_of(key, f"brought {e['vessel']}", math.inf, b.n)
    v.liquor.put(raw.liquid_of("spring-water", ml, b.n, celsius=b.n("air.room")))
    strength = b.n.jitter("film.uneven", b.key("strength"))
    if lot.role == "plant":
        grams = (
            b.n("lot.brought_tannin") / 1000.0 * ml * strength / max(sum(lot.holds[t] for t in TANNINS), 1e-6)
        )
        v.liquor.gain(**{p: grams * f for p, f in lot.holds.items() if p != "moisture"})
    else:
        _stir_in(b, v, lot, b.n("lot.brought_other") / 1000.0 * ml * strength)


def vessel(b: Bench, e: Entry, at: datetime) -> None:
    """Name a vessel, perhaps with its size."""
    v = b.vessel(str(e["name"]))
    v.clock = v.clock or at
    v.capacity = said(e["capacity"]).value if "capacity" in e else v.capacity


def support(b: Bench, e: Entry, at: datetime) -> None:
    """Name a skin or sheet."""
    del at
    name, side = str(e["name"]), str(e.get("side", ""))
    b.supports[name] = b.new_skin(known(str(e["material"]), "supports"), name, side=side)


def pen(b: Bench, e: Entry, at: datetime) -> None:
    """Name a pen, with its cut and width."""
    del at
    cut = {"goose-quill": "quill", "reed": "reed", "metal-nib": "metal"}[
        known(str(e.get("cut", "reed")), "pens")
    ]
    name = str(e["name"])
    width = said(e["width"]).value if "width" in e else (nib_width(name) or 2.0)
    b.pens[name] = Pen(cut=cut, width=width)


def steep(b: Bench, e: Entry, at: datetime) -> None:
    """Put solids into a liquid for some time."""
    into = b.vessel(str(e["into"]))
    b.settle(into, at)
    celsius = said(e["temperature"]).value if "temperature" in e else b.n("air.room")
    marc = _old_marc(b, str(e["marc_of"])) if "marc_of" in e else _fresh(b, e)
    liquid = known(str(e["liquid"]), "liquids")
    ml = b.taken(e["liquid_amount"], "liquid").value
    into.liquor.put(raw.liquid_of(liquid, ml, b.n, celsius=celsius))
    if marc.held is not None:
        into.liquor.put(marc.held)
        marc.held = None
    into.marc, into.standing = marc, 0.0
    into.liquor.temperature = celsius
    # A steep kept warm is kept warm: the marc gives at that warmth for its whole time.
    hours = b.hours(e["for"])
    b.steep(into, hours)
    into.marc, kept = None, into.marc
    b.pass_time(into, hours)
    into.marc, into.liquor.temperature = kept, celsius


def _fresh(b: Bench, e: Entry) -> Marc:
    name = str(e["lot"])
    grams = b.grams_from(name, e["amount"])
    return b.new_marc(b.lot(name), grams, str(e["pieces"]) if "pieces" in e else None)


def _old_marc(b: Bench, name: str) -> Marc:
    marc = b.vessel(name).marc
    if marc is None:
        return Marc(dry=0.0, form="bark", pieces="crushed", left={}, total={})
    b.vessel(name).marc = None
    marc.ready, marc.hours = {}, 0.0
    return marc


def strain(b: Bench, e: Entry, at: datetime) -> None:
    """Drain the liquor off; the marc keeps its share, the walls theirs."""
    v = b.vessel(str(e["vessel"]))
    b.settle(v, at)
    if v.marc is not None:
        keep = b.n("extract.hold") * v.marc.dry / max(v.liquor.mass(), 1e-9)
        v.marc.held = v.liquor.take(min(keep, 0.9))
    if str(e.get("into", e["vessel"])) != str(e["vessel"]):
        _pour(b, v, b.vessel(str(e["into"])), 1.0, at)


def _pour(b: Bench, v: Vessel, into: Vessel, share: float, at: datetime) -> None:
    b.settle(into, at)
    room = max(b.volume(v), 1e-9)
    stuck = min(b.n("pot.wall") + b.n("pot.wall_film") / room, 0.5) if share > 0.5 else 0.0
    stream = v.liquor.take(share * (1.0 - stuck))
    stream.take(b.maker.spilt(b.n, b.key("pour")))
    into.liquor.put(stream)
    into.standing = max(into.standing, v.standing)


def pour(b: Bench, e: Entry, at: datetime) -> None:
    """Pour a part of one vessel into another."""
    v = b.vessel(str(e["from"]))
    b.settle(v, at)
    _pour(b, v, b.vessel(str(e["into"])), b.share_of(v, e.get("amount", "all"), "pour"), at)


def reduce(b: Bench, e: Entry, at: datetime) -> None:
    """Boil down, to a level or for a time; froth, crust and browning take their part."""
    v = b.vessel(str(e["vessel"]))
    b.settle(v, at)
    n, liquor, full = b.n, v.liquor, b.volume(v)
    fire = _fire(b, e.get("heat", ""))
    if "to" in e:
        to = b.taken(e["to"], "level", level=True)
        target = to.value * (full if to.unit == "1" else 1.0)
    else:
        off = fire * b.hours(e["for"]) * 3600.0 / n("pot.latent")
        target = full - min(off, 0.95 * full)
    if target >= full or full <= 0:
        return
    liquor.take(b.maker.spilt(n, b.key("over")))
    folds = math.log(full / target)
    grams_off = full - target
    liquor.scale(math.exp(-n("pot.froth") * folds), tuple(p for p in PARTS if p not in _WET))
    liquor.scale((target / full) ** n("pot.spirit_power"), ("ethanol",))
    liquor.scale((target / full) ** n("pot.vinegar_power"), ("acetic",))
    liquor.temperature = n("pot.boil")
    _water_to(b, v, target)
    hours = grams_off * n("pot.latent") / fire / 3600.0
    _browned(b, liquor, folds, hours)
    v.standing = 0.0
    if v.clock is not None:
        v.clock += timedelta(hours=hours)
        b.now = max(b.now, v.clock)


def _fire(b: Bench, heat: object) -> float:
    """Return the heat into the pot in W: this maker's simmer, lower or harder, or what was stated."""
    word = str(heat).lower()
    if any(w in word for w in ("low", "gentle", "slow", "bare")):
        return b.n("pot.heat") * b.n("pot.low")
    if any(w in word for w in ("hard", "fierce", "rolling", "high", "fast")):
        return b.n("pot.heat") * b.n("pot.hard")
    stated = said(heat) if any(c.isdigit() for c in word) else None
    return stated.value if stated is not None and stated.unit == "W" else b.n("pot.heat")


def _water_to(b: Bench, v: Vessel, target: float) -> None:
    """Set the water so that the liquor, once cool, stands at the level marked."""
    hot = v.liquor.temperature
    v.liquor.temperature = b.n("air.room")
    for _ in range(3):
        v.liquor.gain(water=target - b.volume(v))
    v.liquor.temperature = hot


def _browned(b: Bench, liquor: Liquor, folds: float, hours: float) -> None:
    burnt, sunk = -math.expm1(-b.n("pot.scorch") * folds), b.n("pot.sludge")
    for tannin in TANNINS:
        grams = liquor[tannin]
        liquor.gain(**{tannin: -grams * (burnt + sunk)}, brown=grams * burnt, sludge=grams * sunk)
    b.split(liquor, -math.expm1(-b.n("pot.split") * hours))


def add(b: Bench, e: Entry, at: datetime) -> None:
    """Put a lot or a liquid into a vessel."""
    v = b.vessel(str(e["into"]))
    b.settle(v, at)
    if "liquid" in e:
        if "up_to" in e:
            ml = b.taken(e["up_to"], "level", level=True).value - b.volume(v)
        else:
            ml = b.taken(e["amount"], "liquid").value
        v.liquor.put(
            raw.liquid_of(known(str(e["liquid"]), "liquids"), max(ml, 0.0), b.n, celsius=b.n("air.room"))
        )
        return
    name = str(e["lot"])
    _stir_in(b, v, b.lot(name), b.grams_from(name, e["amount"]))


def _stir_in(b: Bench, v: Vessel, lot: Lot, grams: float) -> None:
    liquor, holds = v.liquor, lot.holds
    if lot.role == "plant":
        if v.marc is None:
            v.marc = b.new_marc(lot, grams, None)
        else:
            _merge(v.marc, b.new_marc(lot, grams, None))
    elif lot.role == "gum":
        gum = raw.gum_kind(lot.material)
        gel, swell = grams * holds["gel"], holds["swell"]
        liquor.add_gum(gum, dissolving=grams * holds["dissolving"], gel=gel, swell=swell)
    elif lot.role == "metal":
        _eat(b, liquor, grams * holds["iron"] / _IRON, hours=24.0)
    elif lot.role == "sulfide":
        _rinse(b, liquor, lot, grams)
    else:
        liquor.gain(**{p: grams * f for p, f in holds.items() if p != "moisture"})


def _merge(old: Marc, new: Marc) -> None:
    old.dry += new.dry
    for part, grams in new.total.items():
        old.left[part] = old.left.get(part, 0.0) + grams
        old.total[part] = old.total.get(part, 0.0) + grams
    old.ready, old.hours = {}, 0.0


def _rinse(b: Bench, liquor: Liquor, lot: Lot, grams: float) -> None:
    moles, ferric = grams * lot.holds["crust"] / _PYRITE_SALT, b.n("iron.crust_ferric")
    liquor.gain(iron2=(1 - ferric) * moles, iron3=ferric * moles, sulfate=(1 + ferric / 2) * moles)


def weather(b: Bench, e: Entry, at: datetime) -> None:
    """Keep a sulfide wet: grains shrink after a lag, part of the iron goes to ochre."""
    v, lot, n = b.vessel(str(e["into"])), b.lot(str(e["lot"])), b.n
    b.settle(v, at)
    grams = b.grams_from(str(e["lot"]), e["amount"])
    ml = b.taken(e["liquid_amount"], "liquid").value
    celsius = said(e["temperature"]).value if "temperature" in e else n("air.room")
    v.liquor.put(raw.liquid_of(known(str(e["liquid"]), "liquids"), ml, n, celsius=celsius))
    _rinse(b, v.liquor, lot, grams)
    days = max(b.hours(e["for"]) / 24.0 - n("iron.weather_lag"), 0.0) * 2.0 ** ((celsius - 20.0) / 10.0)
    eaten = 1.0 - max(1.0 - days / n("iron.weather_life"), 0.0) ** 3
    moles = grams * lot.holds["iron"] / _IRON * eaten
    kept = moles * (1.0 - n("iron.ochre"))
    ferric = n("iron.weathered_ferric")
    v.liquor.gain(
        iron2=(1 - ferric) * kept, iron3=ferric * kept, sulfate=2 * moles, sludge=(moles - kept) * _OCHRE
    )
    b.pass_time(v, b.hours(e["for"]))


def neutralise(b: Bench, e: Entry, at: datetime) -> None:
    """Stand iron metal (or chalk) in an acid liquor, which eats it."""
    v, lot = b.vessel(str(e["vessel"])), b.lot(str(e["lot"]))
    b.settle(v, at)
    grams = b.grams_from(str(e["lot"]), e["amount"])
    if lot.role != "metal":
        _stir_in(b, v, lot, grams)
        return
    moles = grams * lot.holds["iron"] / _IRON
    hours = b.hours(e["for"]) if "for" in e else 24.0
    _eat(b, v.liquor, moles, hours=hours)
    b.pass_time(v, hours)


def _eat(b: Bench, liquor: Liquor, moles: float, *, hours: float) -> None:
    held = 2 * liquor["iron2"] + 3 * liquor["iron3"] + 2 * liquor["calcium"] + liquor["base"]
    mineral = max(2 * liquor["sulfate"] + liquor["chloride"] - held, 0.0)
    acid = mineral + 0.5 * liquor["acetic"] + liquor["iron3"]
    gone = min(moles, acid / 2) * -math.expm1(-hours / 24.0 / b.n("iron.dissolve"))
    ferric = min(liquor["iron3"], gone)
    liquor.gain(iron2=gone + ferric, iron3=-ferric)


def crystallise(b: Bench, e: Entry, at: datetime) -> None:
    """Grow green crystals from a strong liquor; they become a lot of their own."""
    v, name = b.vessel(str(e["vessel"])), str(e["lot"])
    b.settle(v, at)
    moles = v.liquor["iron2"] * b.n("iron.crop")
    acid = b.n("iron.carried", name)
    v.liquor.gain(iron2=-moles, sulfate=-moles, water=-moles * (_VITRIOL - _FERROUS_SULFATE))
    lot = raw.lot_of("scraped-green-vitriol", name, 0.0, b.n)
    ferric = b.n("iron.crystal_ferric")
    two = (1.0 - acid) / _VITRIOL
    lot.holds = {
        "iron2": two * (1 - ferric),
        "iron3": two * ferric,
        "sulfate": two + acid / _SULFURIC,
        "sludge": 0.0,
    }
    lot.mass = lot.at_first = moles * _VITRIOL / (1.0 - acid)
    b.lots[name] = lot


def warm(b: Bench, e: Entry, at: datetime) -> None:
    """Warm a vessel."""
    v = b.vessel(str(e["vessel"]))
    b.settle(v, at)
    v.liquor.temperature = said(e["to"]).value
    if "for" in e:
        b.pass_time(v, b.hours(e["for"]))
        v.liquor.temperature = said(e["to"]).value


def rest(b: Bench, e: Entry, at: datetime) -> None:
    """Let a vessel stand for a time, covered or not."""
    v = b.vessel(str(e["vessel"]))
    b.settle(v, at)
    before, v.cover = v.cover, "covered" if e.get("covered") else "open"
    b.pass_time(v, b.hours(e["for"]))
    v.cover = before


def store(b: Bench, e: Entry, at: datetime) -> None:
    """Put a vessel away: stoppered, or only covered."""
    v = b.vessel(str(e["vessel"]))
    b.settle(v, at)
    how = str(e.get("how", ""))
    tight = any(w in how for w in ("bottle", "stopper", "cork", "seal", "full"))
    v.cover = "bottled" if tight else "covered"


def skim(b: Bench, e: Entry, at: datetime) -> None:
    """Take scum and sediment off, with a little liquor."""
    v = b.vessel(str(e["vessel"]))
    b.settle(v, at)
    v.liquor.take(b.n("pot.wall"))
    v.liquor.scale(b.n("pot.skimmed"), ("sludge",))


def discard(b: Bench, e: Entry, at: datetime) -> None:
    """Throw liquor away."""
    v = b.vessel(str(e["vessel"]))
    b.settle(v, at)
    v.liquor.take(b.share_of(v, e["amount"], "discard"))


def mark(b: Bench, e: Entry, at: datetime) -> None:
    """Make marks on a support: the ink as it is now becomes a trial."""
    v = b.vessel(str(e["vessel"]))
    b.settle(v, at)
    method = str(e.get("method", "pen"))
    spent = b.n(f"film.spent_{method}")
    ink = v.liquor.take(min(spent / max(b.volume(v), 1e-9), 0.5))
    if "thinned" in e:
        parts = dilution(e["thinned"])
        more = nature.millilitres(ink, b.n) * (parts - 1.0) * b.n.jitter("maker.measured", b.key("thin"))
        ink.put(raw.liquid_of("water", more, b.n, celsius=ink.temperature))
    name = str(e["pen"]) if "pen" in e else None
    b.last_pen = name or b.last_pen
    celsius = said(e["temperature"]).value if "temperature" in e else b.n("air.room")
    um = b.wet_film(ink, method, b.pen(name), celsius=celsius) * b.n.jitter("film.hand", b.key("film"))
    b.skin(str(e["support"]))
    b.trials[str(e["trial"])] = Trial(
        ink=ink, support=str(e["support"]), method=method, pen=name, at=at, film=um,
        viscosity=nature.viscosity(ink, b.n, celsius=celsius),
    )  # fmt: skip


def nothing(b: Bench, e: Entry, at: datetime) -> None:
    """Do nothing to a pot: readings, remarks and amendments are words on paper."""
    del b, e, at


STEPS: Mapping[str, Callable[[Bench, Entry, datetime], None]] = {
    f.__name__: f
    for f in (
        gather, prepare, bring, vessel, support, pen, steep, strain, reduce, weather, neutralise, crystallise,
        add, pour, warm, rest, skim, store, discard, mark,
    )
} | dict.fromkeys(("reading", "remark", "amend", "void"), nothing)  # fmt: skip
