"""What a film comes to on its support: its acid against the chalk there, what binds, what stays free.

In the pot an ink is sour and iron(III) is poorly held, by catechol-type tannin
least. As the film dries, turns in the air and meets the chalk of the skin,
binding follows: on chalk enough everything binds that the phenols can hold; on
a support that cannot take the acid up, binding stops where acid set free and
iron held come to terms.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from types import MappingProxyType

import attrs
import numpy as np

from inkhorn.chemistry import permanence
from inkhorn.chemistry.hydrates import molar_mass
from inkhorn.replay import acid, composition, uptake
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor

ML_PER_L = 1000.0
# numbers-in-code: halvings of a bracket of 6.5 units of pH, to a millionth of a unit
_ROUNDS = 23
_WASHED = re.compile(r"unchalked|no chalk|without chalk|washed|acid|unprepared|alum")
_POUNCED = re.compile(r"chalk|pounce|whiting")


def chalk_of(support: str, material: str | None, preparation: str | None, draws: Draws) -> Array:
    """Return the calcium carbonate that a support offers a film, g/m2, (N,).

    Parameters
    ----------
    support : str
        Its own name: each skin has its own chalk.
    material : str or None
        Handbook key of its kind; sheep parchment where nobody said.
    preparation : str or None
        In the maker's words: pounced, washed ...
    """
    offered = draws.of(f"support:{support}/chalk", f"supports.{material or 'sheep-parchment'}.chalk")
    words = (preparation or "").casefold()
    if _WASHED.search(words):
        return offered * draws.of("support/chalk.washed", "film.chalk.washed")
    if _POUNCED.search(words):
        return offered * draws.of("support/chalk.pounced", "film.chalk.pounced")
    return offered


@attrs.frozen(kw_only=True, eq=False)
class Held:
    """Iron in a dry film, mol per ml of the ink, each (N,): held by class, and free; the pH the film came to."""

    pyrogallol: Array
    catechol: Array
    free: Array
    ph: Array


@functools.cache
def _others() -> Mapping[str, float]:
    """Return the acid that each strong ion leaves over, all iron taken as free iron(II)."""
    iron = dict.fromkeys(("iron2", "iron3", "complex_iron"), -2.0)
    rest = {"sulfate": 2.0, "chloride": 1.0, "aluminium": -3.0, "calcium": -2.0, "strong": -1.0}
    return MappingProxyType({**iron, **rest})


def held_on(per_ml: Liquor, film: Array, chalk: Array | None, draws: Draws) -> Held:
    """Return what the phenols of a film hold once it is dry.

    Parameters
    ----------
    per_ml : Liquor
        One ml of the ink.
    film : ndarray, shape (N,)
        Wet film, um (ml/m2).
    chalk : ndarray, shape (N,), or None
        What the support offers, g/m2; None for as much as it takes.

    Notes
    -----
    Iron(II) that turns and binds as the neutral solid sets free
    ``binding.protons.solid`` protons. With ``A`` the acid left after the chalk
    and ``s`` the shares bound at a pH (`acid.bound_share`), the film's pH
    solves ``A(s(pH)) = h + S h / (h + K)``, rising on the left and falling on
    the right: one root, found by halving. Concentrations are those of the wet
    film. Tested in ``tests/unit/replay/test_skin.py``.
    """
    dry = composition.dry_binding(per_ml, draws)
    top = draws.of("film/chalked_ph", "film.chalked_ph")
    if chalk is None:
        return Held(pyrogallol=dry.pyrogallol, catechol=dry.catechol, free=dry.iron - dry.bound, ph=top)
    protons = draws.of("film/protons", "binding.protons.solid")
    base = per_ml.weighed(_others()) - 2.0 * chalk / molar_mass("CaCO3") / np.maximum(film, NOTHING)
    pyro_middle, pyro_slope = acid.binding_law("pyrogallol", draws)
    cat_middle, cat_slope = acid.binding_law("catechol", draws)
    constant = acid.dissociation(draws)
    sour = np.flatnonzero(base + protons * dry.bound > 0.0)
    if not len(sour):
        return Held(pyrogallol=dry.pyrogallol, catechol=dry.catechol, free=dry.iron - dry.bound, ph=top)
    ph = np.broadcast_to(top, (draws.n,)).copy()
    ph[sour] = uptake.settled_ph(
        base[sour] * ML_PER_L,
        (protons * dry.pyrogallol)[sour] * ML_PER_L,
        (protons * dry.catechol)[sour] * ML_PER_L,
        per_ml["sulfate"][sour] * ML_PER_L,
        constant[sour],
        top[sour],
        pyro_middle[sour],
        pyro_slope[sour],
        cat_middle[sour],
        cat_slope[sour],
        _ROUNDS,
    )
    pyro = dry.pyrogallol * acid.bound_share("pyrogallol", ph, draws)
    cat = dry.catechol * acid.bound_share("catechol", ph, draws)
    return Held(pyrogallol=pyro, catechol=cat, free=dry.iron - pyro - cat, ph=ph)


def ready_in_pot(per_ml: Liquor, draws: Draws) -> Array:
    """Return the share of an ink's iron that is oxidised, bound and coloured in the pot already, (N,)."""
    if not per_ml.has("complex_iron"):
        return np.zeros(draws.n)
    ph = acid.rough_ph(per_ml, np.ones(draws.n), draws)
    pyro, cat = per_ml["complex_pyrogallol"], per_ml["complex_catechol"]
    coloured = pyro * acid.bound_share("pyrogallol", ph, draws) + cat * acid.bound_share(
        "catechol", ph, draws
    )
    met = per_ml["complex_iron"] / np.maximum(composition.iron_total(per_ml), NOTHING**2)
    return np.asarray(met * coloured / np.maximum(pyro + cat, NOTHING**2))


@attrs.frozen(kw_only=True, eq=False)
class Permanence:
    """What a film does to its support, each (N,).

    ``free_share`` is the free iron over all iron; ``acid`` mol H+/m2 that the
    film brings if all binds that can; ``needed`` the chalk that meets it, g/m2;
    ``reserve`` how many times over the support's chalk does (inf where no acid).
    """

    free_share: Array
    acid: Array
    needed: Array
    reserve: Array


def lasting(per_ml: Liquor, film: Array, chalk: Array, draws: Draws) -> Permanence:
    """Return how a film of ``film`` um of an ink bears on a support that offers ``chalk`` g/m2."""
    held = held_on(per_ml, film, chalk, draws)
    dry = composition.dry_binding(per_ml, draws)
    brought = permanence.acid_per_area(
        film,
        iron=dry.bound * ML_PER_L,
        protons=draws.of("film/protons", "binding.protons.solid"),
        free_acid=per_ml.weighed(_others()) * ML_PER_L,
    )
    brought = np.maximum(brought, 0.0)
    needed = permanence.chalk_needed(brought, molar_mass=molar_mass("CaCO3"))
    return Permanence(
        free_share=permanence.free_share(dry.iron, dry.iron - held.free),
        acid=brought,
        needed=needed,
        reserve=permanence.chalk_reserve(areal_mass=1.0, chalk=chalk, needed=needed),
    )
