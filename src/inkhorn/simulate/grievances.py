"""What the invented maker minds of an ink, and what the quick checks show: the truth's own physics.

A grievance is how far a thing lies beyond what this maker puts up with, in
steps of minding; above nothing it is voiced. None of it is known to the floors
that answer complaints.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType

import attrs

from inkhorn.errors import UnknownNameError
from inkhorn.simulate import nature, notices
from inkhorn.simulate.bench import Bench, mean_density
from inkhorn.simulate.liquor import GUMS, Liquor
from inkhorn.simulate.things import Trial, Vessel
from inkhorn.simulate.truth import Truth


def swollen(liquor: Liquor, b: Bench) -> float:
    """Return the volume share of dissolved gum as it swells."""
    fat = sum(liquor[g] * liquor.swell.get(g, b.n(f"flow.{g}")) for g in GUMS)
    return fat / max(nature.millilitres(liquor, b.n), 1e-9)


def free_iron(liquor: Liquor, b: Bench) -> float:
    """Return the iron on no site, mol/l."""
    return nature.bound(liquor, b.n).free / max(nature.litres(liquor, b.n), 1e-12)


def turned(liquor: Liquor, b: Bench, days: float = 1.0) -> float:
    """Return the iron(III) of a pot once mild acidity has had its days too, mol."""
    rate = b.n("voice.mud_air") * math.pow(10.0, nature.ph(liquor, b.n) - 4.5)
    return liquor["iron3"] + liquor["iron2"] * -math.expm1(-min(rate * days, 50.0))


def mud(liquor: Liquor, b: Bench) -> float:
    """Return what lies on the bottom of a pot, g/l: iron(III) that met its tannin there, less what gum keeps up."""
    n = b.n
    off = n("voice.mud_slope") * (n("voice.mud_ph") - nature.ph(liquor, n))
    met = 1.0 / (1.0 + math.pow(10.0, off))
    fallen = min(turned(liquor, b), sum(nature.sites(liquor, n))) * met * n("voice.mud_mass")
    loose = math.exp(-swollen(liquor, b) / n("voice.mud_gum"))
    return fallen * loose / max(nature.litres(liquor, n), 1e-12)


def drawn_back(b: Bench, skin: str, viscosity: float) -> float:
    """Return how far ink draws back on a skin: fall of its uptake (ln), and a little for thickness."""
    usual = b.n.row("film.sink").value
    return math.log(usual / b.skin(skin).sink) + b.n("voice.stiff") * math.log(viscosity / b.n("film.at"))


def minded(truth: Truth, vessel: str, trial: str | None, good: float) -> dict[str, float]:
    """Return how much the maker minds each thing, by the handbook's key of the complaint; above 0 it is voiced.

    Parameters
    ----------
    vessel : str
        Whose ink.
    trial : str or None
        The stroke that was made with it; None where none was made yet.
    good : float
        Mean density of a stroke as this maker's ink has it when nothing is wrong.
    """
    b = truth.bench
    out = _of_pot(b, b.vessels[vessel])
    if trial is not None:
        out |= _of_stroke(b, b.trials[trial], trial, good)
    return {key: far + b.n("voice.wavers") * b.n.normal("minds", key) for key, far in out.items()}


#: Complaints that only weeks and months bring.
LATE = ("eats-the-nib", "browned-in-months")


def voiced(minds: Mapping[str, float]) -> str | None:
    """Return the complaint that is made: of what shows at once, else of what time brings; None where all is well."""
    early = {key: far for key, far in minds.items() if far > 0 and key not in LATE}
    late = {key: far for key, far in minds.items() if far > 0 and key in LATE}
    among = early or late
    return max(among, key=lambda key: among[key]) if among else None


def _of_pot(b: Bench, pot: Vessel) -> dict[str, float]:
    n, step = b.n, b.n("voice.step")
    out = {"mould-within-a-week": math.log(max(pot.standing, 0.01) / n("air.mould_lag")) / step}
    if pot.liquor.iron() > 0:
        # A pot of ink is looked into from the top; its bottom only shows once it has iron.
        out["sediment-in-the-pot"] = math.log(mud(pot.liquor, b) / n("voice.mud")) / step
        bites = 10.0 ** -nature.ph(pot.liquor, n) + free_iron(pot.liquor, b) / 3.0
        out["eats-the-nib"] = math.log(bites / n("voice.bites")) / step
        out.pop("mould-within-a-week")
    return out


def _of_stroke(b: Bench, trial: Trial, name: str, good: float) -> dict[str, float]:
    n, step = b.n, b.n("voice.step")
    seen = density(b, name)
    gum, thick = swollen(trial.ink, b), trial.viscosity
    ends = nature.bound(trial.ink, n)
    pale = math.log(n("voice.pale") * good / max(seen, 1e-3)) / step
    watery = thick < n("voice.watery")
    runs = math.log(n("film.at") / thick) + math.log(b.skin(trial.support).sink / n.row("film.sink").value)
    rust = ends.free / max(ends.blue + ends.green, 1e-12)
    first = mean_density(b.stroke(f"trial:{name}", hours=1.0))
    return {
        "pale-and-watery" if watery else "crisp-but-pale": pale,
        "beads-on-the-skin": (drawn_back(b, trial.support, thick) - n("voice.beads")) / step,
        # What is pale is not called dark but blotchy.
        "dark-but-blotchy": (runs - n("voice.blots")) / step - max(pale, 0.0),
        "purple-then-black": (1.0 - first / max(seen, 1e-3) - n("voice.slow")) / step,
        "browned-in-months": math.log(rust / n("voice.rust")) / step,
        "flakes-off": max(math.log(gum / n("voice.crack")), math.log(n("voice.powder") / max(gum, 1e-6)))
        / step,
    }


def density(b: Bench, trial: str) -> float:
    """Return the mean density of a trial as it is now."""
    return mean_density(b.stroke(f"trial:{trial}", hours=notices.age_hours(b, b.trials[trial])))


# -- what a check shows -------------------------------------------------------------------------------


@attrs.frozen(kw_only=True)
class Case:
    """A bench with the pot and the stroke complained of, and what is complained of."""

    bench: Bench
    pot: Vessel
    trial: str | None
    complaint: str
    good: float


def outcome(truth: Truth, vessel: str, trial: str | None, complaint: str, check: str, *, good: float) -> str:
    """Return what a check shows, under the handbook's key of its outcome; ``good`` as for `minded`.

    Raises
    ------
    UnknownNameError
        If the invented maker does not know the check.
    """
    if check not in _CHECKS:
        raise UnknownNameError(f"the invented maker knows no check {check!r}", where="simulate")
    what_if = truth.copy()
    what_if.bench.count += 1
    b = what_if.bench
    return _CHECKS[check](Case(bench=b, pot=b.vessels[vessel], trial=trial, complaint=complaint, good=good))


def _eye(c: Case, what: str) -> float:
    """Return the factor by which this look is off."""
    return c.bench.n.jitter("voice.wavers", c.bench.key(f"eye {what}"))


def _strip(c: Case) -> str:
    seen = c.bench.maker.ph(nature.ph(c.pot.liquor, c.bench.n), c.bench.n, c.bench.key("why"), strip=True)
    return "sour" if seen <= 2 else "mild" if seen > 4 else "middling"


def _still(c: Case, trial: Trial, support: str) -> bool:
    """Tell whether a stroke made otherwise still gives cause for the same complaint."""
    b = c.bench
    b.trials["again"] = attrs.evolve(trial, support=support)
    minds = _of_stroke(b, b.trials["again"], "again", c.good)
    return minds.get(c.complaint, 1.0) > 0


def _cured(c: Case, trial: Trial, support: str) -> str:
    return "the-same" if _still(c, trial, support) else "cured"


def _chalked(c: Case) -> str:
    if c.trial is None:
        return "the-same"
    b, trial = c.bench, c.bench.trials[c.trial]
    skin, usual = b.skin(trial.support), b.n.row("film.sink").value
    greasy = skin.sink < usual / 2.0
    # Chalk takes grease off and roughens a little; it does nothing for a clean skin.
    b.supports["chalked"] = attrs.evolve(skin, sink=usual if greasy else skin.sink)
    film = trial.film / b.n("fault.cover") if greasy else trial.film
    return _cured(c, attrs.evolve(trial, film=film), "chalked")


def _elsewhere(c: Case) -> str:
    if c.trial is None:
        return "the-same"
    b, trial = c.bench, c.bench.trials[c.trial]
    b.supports["another"] = b.new_skin("calf-parchment", "another")
    greasy = b.skin(trial.support).sink < b.n.row("film.sink").value / 2.0
    film = trial.film / b.n("fault.cover") if greasy else trial.film
    return _cured(c, attrs.evolve(trial, film=film), "another")


def _other_pen(c: Case) -> str:
    if c.trial is None:
        return "the-same"
    b, trial = c.bench, c.bench.trials[c.trial]
    film = trial.film * b.n.jitter("film.hand", b.key("other pen"))
    return _cured(c, attrs.evolve(trial, film=film), trial.support)


def _looks(c: Case, liquor: Liquor, *, method: str = "pen") -> float:
    """Return the mean density of a dry stroke of some ink on the skin complained of, or the first skin."""
    b = c.bench
    skin = b.skin(b.trials[c.trial].support if c.trial else next(iter(b.supports)))
    um = b.wet_film(liquor, method, b.pen(None)) * b.n.jitter("film.hand", b.key(f"look {len(liquor.swell)}"))
    return mean_density(b.look(liquor, um, skin))


def _copy(liquor: Liquor) -> Liquor:
    return Liquor(amounts=dict(liquor.amounts), temperature=liquor.temperature, swell=dict(liquor.swell))


def _thinned(c: Case) -> str:
    thin = _copy(c.pot.liquor)
    thin.gain(water=7.0 * nature.millilitres(thin, c.bench.n))
    seen = _looks(c, thin, method="drop") * _eye(c, "tint")
    return "pale" if seen < c.bench.n("voice.tint") else "strong"


def _drops(c: Case) -> str:
    b = c.bench
    ratio = nature.viscosity(c.pot.liquor, b.n) / nature.water_viscosity(c.pot.liquor.temperature, b.n)
    ratio *= b.n.jitter("maker.measured", b.key("drops"))
    return "like-water" if ratio < b.n("voice.runs") else "slow" if ratio > b.n("voice.hangs") else "like-ink"


def _pinch(c: Case, **parts: float) -> str:
    new = _copy(c.pot.liquor)
    new.gain(**parts)
    darker = _looks(c, new) - _looks(c, c.pot.liquor) > c.bench.n("voice.noticed") * _eye(c, "pinch")
    return "darker" if darker else "the-same"


def _fresh_iron(c: Case) -> str:
    moles = c.bench.n("voice.spoonful") * sum(nature.sites(c.pot.liquor, c.bench.n))
    return _pinch(c, iron2=moles, sulfate=moles)


def _fresh_tannin(c: Case) -> str:
    n = c.bench.n
    grams = n("voice.spoonful") * n("fault.strength") * nature.litres(c.pot.liquor, n)
    return _pinch(c, gallotannin=grams)


def _tomorrow(c: Case) -> str:
    if c.trial is None:
        return "the-same"
    b, trial = c.bench, c.bench.trials[c.trial]
    hours = notices.age_hours(b, trial)
    gain = mean_density(b.stroke(f"trial:{c.trial}", hours=hours + 24.0)) - density(b, c.trial)
    return "darker" if gain > b.n("voice.noticed") * _eye(c, "later") else "the-same"


def _paper(c: Case) -> str:
    seen = free_iron(c.pot.liquor, c.bench) * _eye(c, "paper")
    return "strong" if seen > c.bench.n("voice.strip") else "faint"


def _settled(c: Case) -> str:
    b, liquor = c.bench, c.pot.liquor
    if mud(liquor, b) * _eye(c, "mud") < b.n("voice.mud"):
        return "no-mud"
    sites = sum(nature.sites(liquor, b.n))
    return "rusty-mud" if turned(liquor, b) > 2.0 * sites else "black-mud"


def _rubbed(c: Case) -> str:
    b, gum = c.bench, swollen(c.pot.liquor, c.bench) * _eye(c, "rub")
    if gum > b.n("voice.crack"):
        return "flakes"
    return "powders" if gum < 2.0 * b.n("voice.powder") else "holds"


def _in_water(c: Case) -> str:
    """Look at vitriol in plain water: an old salt is brown at once; a hard water turns and clouds a fresh one within the hour."""
    if _jar(c) == "brown":
        return "brown-at-once"
    return "clouds-slowly" if _kettle(c) == "furred" else "stays-clear"


def _jar(c: Case) -> str:
    for lot in c.bench.lots.values():
        if lot.role == "iron salt":
            iron3 = lot.holds["iron3"] / max(lot.holds["iron2"] + lot.holds["iron3"], 1e-12)
            return "brown" if iron3 * _eye(c, "jar") > c.bench.n("voice.brown_salt") else "green"
    return "green"


def _kettle(c: Case) -> str:
    """Fur is what the water was: bicarbonate of the pot over the water that went in, boiled down or not."""
    b = c.bench
    went_in = max(b.n("fault.water") * nature.litres(c.pot.liquor, b.n), 1e-9)
    seen = 1000.0 * c.pot.liquor["carbonate"] / went_in * _eye(c, "fur")
    return "furred" if seen > b.n("voice.fur") else "clean"


def _warmed(c: Case) -> str:
    b = c.bench
    cold = nature.viscosity(c.pot.liquor, b.n) / b.n("film.at")
    warm = nature.viscosity(c.pot.liquor, b.n, celsius=35.0) / b.n("film.at")
    return "better" if cold > 2.0 > warm else "the-same"


def _top(c: Case) -> str:
    seen = notices.notice(c.bench, {"of": f"vessel:{_name(c)}", "what": "surface"})["value"]
    return "mould" if str(seen).startswith("mould") else "clean"


def _name(c: Case) -> str:
    return next(name for name, pot in c.bench.vessels.items() if pot is c.pot)


_CHECKS: Mapping[str, Callable[[Case], str]] = MappingProxyType(
    {
        "ph-strip": _strip,
        "chalk-the-skin": _chalked,
        "another-support": _elsewhere,
        "another-pen": _other_pen,
        "thinned-drop": _thinned,
        "ten-drops": _drops,
        "fresh-vitriol": _fresh_iron,
        "fresh-tannin": _fresh_tannin,
        "look-tomorrow": _tomorrow,
        "iron-strip": _paper,
        "settle": _settled,
        "rub": _rubbed,
        "look-at-the-salt": _jar,
        "vitriol-in-water": _in_water,
        "kettle": _kettle,
        "warm-a-spoonful": _warmed,
        "look-at-the-top": _top,
    }
)
