"""What the invented maker notices: true values seen through instruments, eyes and words."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from inkhorn.errors import UnknownNameError
from inkhorn.handbook.load import group
from inkhorn.simulate import nature
from inkhorn.simulate.bench import Bench, mean_density
from inkhorn.simulate.liquor import TANNINS, water_density
from inkhorn.simulate.optics import TrueStroke, bare_lab
from inkhorn.simulate.things import Trial, Vessel

Request = Mapping[str, Any]


def notice(b: Bench, what: Request) -> dict[str, Any]:
    """Return the value (and sd) of a reading request; raise where it names nothing on the bench."""
    sort, _, name = str(what["of"]).partition(":")
    tables: Mapping[str, Mapping[str, Callable[[Bench, str, Request], dict[str, Any]]]] = {
        "vessel": _VESSEL, "lot": _LOT, "trial": _TRIAL, "support": _SUPPORT, "exemplar": _EXEMPLAR,
    }  # fmt: skip
    kind = str(what["what"])
    if kind not in tables.get(sort, {}):
        raise UnknownNameError(
            f"the invented maker cannot notice {kind!r} of a {sort or 'nothing'}", where="simulate"
        )
    return tables[sort][kind](b, name, what)


def words(scale: str) -> tuple[str, ...]:
    """Return the handbook's ordered words of a scale, the vocabulary that both sides share."""
    return tuple(str(w) for w in group(f"words.{scale}")["order"])


def _round(x: float, digits: int = 3) -> float:
    """Round to significant digits, as a maker writes a figure down."""
    return 0.0 if x == 0 else round(x, digits - 1 - math.floor(math.log10(abs(x))))


def _say(x: float, unit: str, digits: int = 3) -> dict[str, Any]:
    number = _round(x, digits)
    text = f"{number:g}" if abs(number) >= 1e-3 else f"{number:.6f}"
    return {"value": f"{text} {unit}".strip()}


# -- of a vessel ------------------------------------------------------------------------------------


def _pot(b: Bench, name: str) -> Vessel:
    if name not in b.vessels:
        raise UnknownNameError(f"there is no vessel {name!r}", where="simulate")
    return b.vessels[name]


def _mass(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    grams = _pot(b, name).liquor.mass()
    return _say(b.maker.read(grams, "lot.scale_weight", b.n, b.key("mass"), relative=True), "g", 4)


def _volume(b: Bench, name: str, what: Request) -> dict[str, Any]:
    true = b.volume(_pot(b, name))
    if "eye" in str(what.get("with", "")):
        seen = true / b.n("maker.volume_bias") * b.n.jitter("maker.about", b.key("volume"))
        return {"value": f"about {_round(seen, 2):g} ml"}
    return _say(b.maker.read(true, "maker.measured", b.n, b.key("volume"), relative=True), "ml")


def _temperature(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    seen = b.maker.read(_pot(b, name).liquor.temperature, "maker.thermometer", b.n, b.key("temperature"))
    return {"value": f"{round(seen)} degC"}


def _ph(b: Bench, name: str, what: Request) -> dict[str, Any]:
    true = nature.ph(_pot(b, name).liquor, b.n)
    strip = "meter" not in str(what.get("with", "strip"))
    return {"value": f"{b.maker.ph(true, b.n, b.key('ph'), strip=strip):g}"}


def _gravity(b: Bench, name: str) -> float:
    liquor = _pot(b, name).liquor
    true = liquor.mass() / b.volume(_pot(b, name)) / water_density(liquor.temperature)
    return b.maker.read(1000.0 * (true - 1.0), "maker.hydrometer", b.n, b.key("gravity"))


def _specific_gravity(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    return {"value": f"{1.0 + _gravity(b, name) / 1000.0:.4f}"}


def _barkometer(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    return {"value": f"{_gravity(b, name):.1f} degBk"}


def _brix(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    liquor = _pot(b, name).liquor
    plain = 100.0 * liquor.organic() * b.n("maker.brix_over") + 100.0 * (liquor.gum() + liquor.salts())
    seen = b.maker.read(plain / max(liquor.mass(), 1e-9), "maker.clock", b.n, b.key("brix"), relative=True)
    return {"value": f"{seen:.1f} degBx"}


def _thick(b: Bench, name: str) -> float:
    return nature.viscosity(_pot(b, name).liquor, b.n)


def _viscosity(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    return _say(b.maker.read(_thick(b, name), "maker.laboratory", b.n, b.key("visc"), relative=True), "mPa s")


def _ten_grams(b: Bench, name: str) -> float:
    liquor = _pot(b, name).liquor
    organic = liquor.organic() + liquor.gum()
    spirit = liquor["ethanol"] / max(liquor["water"], 1e-9)
    tension = 1.0 - (1.0 - b.n("flow.tension")) * -math.expm1(
        -1000.0 * organic / max(b.volume(_pot(b, name)), 1e-9) / b.n("flow.tension_at")
    )
    return b.n("flow.water_drop") * tension * math.exp(-b.n("flow.tension_spirit") * spirit)


def _ten_drops(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    return {"value": f"{b.maker.read(_ten_grams(b, name), 'maker.drops', b.n, b.key('drops')):.2f} g"}


def _drop_mass(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    return {"value": f"{b.maker.read(_ten_grams(b, name), 'maker.drops', b.n, b.key('drops')) / 10.0:.4f} g"}


def run_time(b: Bench, viscosity: float, density: float) -> float:
    """Return the seconds in which the workshop's syringe lets a liquid out: a viscous and an exit part."""
    whole, water = b.n("flow.water_run"), nature.water_viscosity(20.0, b.n)
    exit_part = b.n("flow.exit") * whole
    viscous = (whole - exit_part) * viscosity / density / water
    return viscous + exit_part * whole / max(viscous + exit_part, 1e-9)


def _discharge(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    pot = _pot(b, name)
    true = run_time(b, _thick(b, name), pot.liquor.mass() / b.volume(pot))
    return {"value": f"{b.maker.read(true, 'maker.clock', b.n, b.key('run'), relative=True):.0f} s"}


def _laboratory(per_litre: Callable[[Bench, Vessel], float], unit: str) -> Callable[..., dict[str, Any]]:
    def ask(b: Bench, name: str, what: Request) -> dict[str, Any]:
        del what
        true = per_litre(b, _pot(b, name))
        return _say(b.maker.read(true, "maker.laboratory", b.n, b.key(unit), relative=True), unit)

    return ask


def _per_litre(b: Bench, pot: Vessel, amount: float) -> float:
    return amount / max(nature.litres(pot.liquor, b.n), 1e-12)


def _residue(b: Bench, pot: Vessel) -> float:
    return _per_litre(b, pot, pot.liquor.solids() + pot.liquor["sludge"])


def _phenols(b: Bench, pot: Vessel) -> float:
    return _per_litre(b, pot, sum(pot.liquor[t] * b.n(f"maker.phenol_{t}") for t in TANNINS))


def _body(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    steps = math.log(_thick(b, name) / b.n("maker.body_middle")) / math.log(b.n("maker.step_body"))
    return {"value": b.maker.word(words("body"), steps, b.n, b.key("body"))}


def _top(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    pot = _pot(b, name)
    if pot.liquor.iron() > 0:
        level = 1.0 if pot.liquor["iron3"] > b.n("air.filmed") * pot.liquor.iron() else 0.0
    else:
        level = pot.standing / b.n("air.mould_lag") * 1.5
    return {"value": b.maker.word(words("surface"), level - 1.5, b.n, b.key("surface"))}


_VESSEL = {
    "mass": _mass, "volume": _volume, "temperature": _temperature, "ph": _ph,
    "specific_gravity": _specific_gravity, "barkometer": _barkometer, "brix": _brix, "dry_residue": _laboratory(_residue, "g/L"),
    "viscosity": _viscosity, "drop_mass": _drop_mass, "ten_drops": _ten_drops, "discharge": _discharge,
    "total_iron": _laboratory(lambda b, v: _per_litre(b, v, v.liquor.iron() * 1000.0), "mmol/L"),
    "total_phenols": _laboratory(_phenols, "g/L"),
    "gum": _laboratory(lambda b, v: _per_litre(b, v, v.liquor.all_gum()), "g/L"),
    "body": _body, "surface": _top,
}  # fmt: skip


# -- of a lot ---------------------------------------------------------------------------------------


def _lot_mass(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    return _say(b.maker.read(b.lot(name).mass, "lot.scale_weight", b.n, b.key("mass"), relative=True), "g", 4)


_LOT = {"mass": _lot_mass}


# -- of a trial -------------------------------------------------------------------------------------


def trial_of(b: Bench, name: str) -> Trial:
    """Return a trial, or say that there is none."""
    if name not in b.trials:
        raise UnknownNameError(f"there is no trial {name!r}", where="simulate")
    return b.trials[name]


def age_hours(b: Bench, trial: Trial) -> float:
    """Return how long ago a trial was made."""
    return max((b.now - trial.at).total_seconds() / 3600.0, 0.0)


def _seen(b: Bench, name: str) -> TrueStroke:
    return b.stroke(f"trial:{name}", hours=age_hours(b, trial_of(b, name)))


def _densities(b: Bench, stroke: TrueStroke, key: str) -> dict[str, Any]:
    sd, common = b.n("maker.density"), b.n("maker.density_common")
    noise = np.array([b.n.normal(f"density {c}", b.key(key)) for c in ("all", *"RGB")])
    out = {}
    for i, c in enumerate("RGB", start=1):
        error = math.sqrt(common) * float(noise[0]) + math.sqrt(1.0 - common) * float(noise[i])
        out[c] = round(stroke.optical_density[c] + sd * error, 3)
    return {"value": out, "sd": round(sd * b.n("maker.density_said"), 3)}


def _optical_density(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    return _densities(b, _seen(b, name), name)


def _lab_of(b: Bench, lab: Any, key: str) -> dict[str, Any]:
    sd = b.n("maker.lab")
    return {
        "value": {
            c: round(float(x) + sd * b.n.normal(f"lab {c}", b.key(key)), 1)
            for c, x in zip("Lab", lab, strict=True)
        },
        "sd": round(sd, 2),
    }


def _trial_lab(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    return _lab_of(b, _seen(b, name).lab, name)


def line_width(b: Bench, trial: Trial) -> float:
    """Return the true width of a line in mm: thin ink spreads, thick ink stays."""
    nib = b.pen(trial.pen).width
    return nib * (1.0 + b.n("film.spread") * math.log(b.n("film.at") / trial.viscosity)) + b.n("film.rim")


def _line_width(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    seen = b.maker.read(line_width(b, trial_of(b, name)), "maker.ruler", b.n, b.key("width"))
    return {"value": f"{max(seen, 0.05):.2f} mm"}


def raggedness(b: Bench, trial: Trial) -> float:
    """Return the true raggedness of an edge in mm: thinner ink runs more."""
    return float(b.n("film.ragged") * (b.n("film.at") / trial.viscosity) ** b.n("film.ragged_power"))


def _raggedness(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    true = raggedness(b, trial_of(b, name))
    return {"value": f"{b.maker.read(true, 'maker.about', b.n, b.key('ragged'), relative=True):.3f} mm"}


def _target(b: Bench, what: Request) -> TrueStroke:
    name = str(what.get("against", "")).removeprefix("exemplar:") or next(iter(b.exemplars), "")
    if name not in b.exemplars:
        raise UnknownNameError("there is no exemplar to hold the trial against", where="simulate")
    return b.original(name)


def _depth(b: Bench, name: str, what: Request) -> dict[str, Any]:
    steps = (mean_density(_seen(b, name)) - mean_density(_target(b, what))) / b.n("maker.step_depth")
    return {"value": b.maker.word(words("depth"), steps, b.n, b.key("depth"))}


def balance(stroke: TrueStroke) -> float:
    """Return how much more blue than red light a stroke takes: browner is more."""
    return float(stroke.optical_density["B"] - stroke.optical_density["R"])


def _hue(b: Bench, name: str, what: Request) -> dict[str, Any]:
    steps = (balance(_seen(b, name)) - balance(_target(b, what))) / b.n("maker.step_hue")
    return {"value": b.maker.word(words("hue"), steps, b.n, b.key("hue"))}


def _flow(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    thick = trial_of(b, name).viscosity
    steps = -math.log(thick / b.n("maker.body_middle")) / math.log(b.n("maker.step_body"))
    return {"value": b.maker.word(words("flow"), steps, b.n, b.key("flow"))}


def _than(b: Bench, name: str, what: Request) -> dict[str, Any]:
    other = str(what.get("value", what.get("against", ""))).split(" ")[-1].removeprefix("trial:")
    steps = (mean_density(_seen(b, name)) - mean_density(_seen(b, other))) / b.n("maker.step_depth")
    steps += 0.5 * b.n("maker.words") * b.n.normal("than", b.key(name))
    word = "same" if abs(steps) < 0.5 else ("darker" if steps > 0 else "paler")
    return {"value": f"{word} {other}"}


_TRIAL = {
    "optical_density": _optical_density, "lab": _trial_lab, "line_width": _line_width, "raggedness": _raggedness,
    "depth": _depth, "hue": _hue, "flow": _flow, "than": _than,
}  # fmt: skip


# -- of a support or an exemplar ----------------------------------------------------------------------


def _support_lab(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    return _lab_of(b, bare_lab(b.skin(name).bare), name)


def _side(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    return {"value": "hair" if b.skin(name).hair else "flesh"}


def _absorbency(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    steps = (b.skin(name).sink - b.n.row("film.sink").value) / b.n.row("film.sink").spread
    return {"value": b.maker.word(words("absorbency"), steps, b.n, b.key("absorbency"))}


_SUPPORT = {"lab": _support_lab, "side": _side, "absorbency": _absorbency}


def _exemplar_density(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    return _densities(b, b.original(name), name)


def _exemplar_lab(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    return _lab_of(b, b.original(name).lab, name)


def _exemplar_support(b: Bench, name: str, what: Request) -> dict[str, Any]:
    del what
    return _lab_of(b, b.original(name).bare_lab, f"bare {name}")


_EXEMPLAR = {"optical_density": _exemplar_density, "lab": _exemplar_lab, "support_lab": _exemplar_support}
