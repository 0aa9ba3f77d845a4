"""What is dissolved as what: pH, ionic strength and every species of a liquor.

Charge balance and mass action with activities by ion size, as PHREEQC does
them, and beside its minerals the acetic acid of vinegar, two classes of phenol
groups and a plain organic acid. Nothing precipitates here and no gas escapes;
iron(II) and iron(III) are given, not derived from a potential.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.chemistry.activity import debye_huckel
from inkhorn.chemistry.arrays import Array, Floats, floats
from inkhorn.chemistry.equilibria import COMPONENTS, Equilibria, handbook_equilibria
from inkhorn.chemistry.speciation_kernel import solve_rows
from inkhorn.errors import InkhornError

_FIELDS = {
    "iron2": "Fe+2",
    "iron3": "Fe+3",
    "sulfate": "SO4-2",
    "chloride": "Cl-",
    "acetate": "HAcetate",
    "carbonate": "CO2",
    "calcium": "Ca+2",
    "aluminium": "Al+3",
    "pyrogallol": "H2Pg",
    "catechol": "H2Cat",
    "organic_acid": "HA",
}
_LN_10 = float(np.log(10))
_NEGLIGIBLE = 1e-12


@attrs.frozen(kw_only=True, eq=False)
class Totals:
    """What a solution holds in all, mol per kg of water; each ``()`` or ``(N,)``.

    ``strong`` is the net charge of strong ions that are not tracked one by one
    (potassium, sodium, nitrate), eq/kg, positive for cations: adding sulfuric
    acid adds sulfate only, adding potash adds ``strong``. ``pyrogallol`` and
    ``catechol`` count free phenol groups with two acidic protons each; the
    acid protons that come with acids and groups are implied.
    """

    iron2: Floats = 0
    iron3: Floats = 0
    sulfate: Floats = 0
    chloride: Floats = 0
    acetate: Floats = 0
    carbonate: Floats = 0
    calcium: Floats = 0
    aluminium: Floats = 0
    strong: Floats = 0
    pyrogallol: Floats = 0
    catechol: Floats = 0
    organic_acid: Floats = 0


@attrs.frozen(kw_only=True, eq=False)
class Speciation:
    """A solved solution: pH, ionic strength (mol/kg) and each species (mol/kg water)."""

    ph: Array
    ionic_strength: Array
    species: Mapping[str, Array]
    bracketed: int  # rows that needed the slow, certain way

    def total(self, component: str) -> Array:
        """Return all of one component that the species hold, mol/kg; ``"SO4-2"``, ``"Fe+3"``, ..."""
        system = handbook_equilibria()
        column = system.formula[:, COMPONENTS.index(component)]
        parts = [k * self.species[s] for s, k in zip(system.species, column, strict=True) if k]
        return np.asarray(sum(parts[1:], start=parts[0]))

    def charge(self) -> Array:
        """Return the net charge of all tracked species, eq/kg; minus ``strong`` where charges balance."""
        system = handbook_equilibria()
        parts = [z * self.species[s] for s, z in zip(system.species, system.charges, strict=True)]
        return np.asarray(sum(parts[1:], start=parts[0]))

    def bound_iron3(self) -> tuple[Array, Array]:
        """Return iron(III) held by pyrogallol-type and by catechol-type groups, mol/kg."""
        return self._iron3_with("H2Pg"), self._iron3_with("H2Cat")

    def _iron3_with(self, ligand: str) -> Array:
        system = handbook_equilibria()
        iron, group = COMPONENTS.index("Fe+3"), COMPONENTS.index(ligand)
        parts = [
            f[iron] * self.species[s]
            for s, f in zip(system.species, system.formula, strict=True)
            if f[iron] and f[group]
        ]
        return np.asarray(sum(parts[1:], start=parts[0]))


# numbers-in-code: 25 degrees Celsius, at which constants are tabulated
def solve(
    totals: Totals,
    *,
    temperature: Floats = 25 + 273.15,
    constants: Equilibria | None = None,
    robust: bool = False,
) -> Speciation:
    r"""Solve charge and mass balances with mass action for every draw.

    .. math:: m_s = \frac{K_s}{\gamma_s} a_w^{w_s} \prod_c a_c^{\nu_{sc}}, \quad
              \sum_s \nu_{sc} m_s = T_c, \quad \sum_s z_s m_s + q_{strong} = 0

    Parameters
    ----------
    totals : Totals
        What is there, mol/kg of water.
    temperature : float or ndarray, optional
        K, 273-370.
    constants : Equilibria, optional
        The handbook's, or changed ones (`Equilibria.changed`).
    robust : bool, optional
        Take the bracketed way for every draw: slow, and only to check the
        usual one against.

    Returns
    -------
    Speciation
        In the broadcast shape of what was given.

    Raises
    ------
    InkhornError
        If a total is negative or not a number.

    Notes
    -----
    Constants as in phreeqc.dat [PARKHURST2013]_, acetate [MINTEQ4]_, phenols
    from memory: five measured inks [DIAZ2018]_ are met to 0.5 pH. Good to about 0.5 mol/kg of ionic strength; coefficients are
    held above the row ``speciation.model_limit``. Checked against PHREEQC in
    ``tests/published/test_chemistry_speciation.py``.
    """
    system = constants or handbook_equilibria()
    named = {field: floats(getattr(totals, field)) for field in (*_FIELDS, "strong")}
    shape = np.broadcast_shapes(floats(temperature).shape, *(v.shape for v in named.values()), _draws(system))
    n = int(np.prod(shape, dtype=int))
    table = np.zeros((n, len(COMPONENTS)))
    for field, component in _FIELDS.items():
        table[:, COMPONENTS.index(component)] = _checked(field, named[field], shape)
    strong = np.ascontiguousarray(np.broadcast_to(named["strong"], shape).reshape(-1))
    if not np.isfinite(strong).all():
        raise InkhornError("the charge of the strong ions is not a number", where="speciation")
    t = (
        np.ravel(np.broadcast_to(temperature, shape))
        if np.ndim(temperature)
        else np.ravel(floats(temperature))
    )
    a, b = debye_huckel(t)
    ln_k = np.ascontiguousarray(system.log_constants(t) * _LN_10)
    first, which = _runs(table, strong[:, None], ln_k, a[:, None], b[:, None])
    amounts, ln_h, strength, slow = solve_rows(
        table[first],
        strong=strong[first],
        ln_k=ln_k[first] if len(ln_k) == n else ln_k,
        a=a[first] if len(a) == n else a,
        b=b[first] if len(b) == n else b,
        table=_kernel_table(system),
        masters=_masters(system),
        robust=robust,
    )
    amounts, ln_h, strength = amounts[which], ln_h[which], strength[which]
    species = {s: amounts[:, i].reshape(shape) for i, s in enumerate(system.species)}
    return Speciation(
        ph=(-ln_h / _LN_10).reshape(shape),
        ionic_strength=strength.reshape(shape),
        species=MappingProxyType(species),
        bracketed=slow,
    )


def _runs(*inputs: Array) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the rows that differ from the one before, and for each row which of them it is like.

    Slopes by differences ask again and again for a solution that an unknown has no part in.
    """
    n = len(inputs[0])
    new = np.ones(n, dtype=bool)
    if n > 1:
        each = [x for x in inputs if len(x) == n]
        new[1:] = np.any([(x[1:] != x[:-1]).any(axis=1) for x in each], axis=0)
    return np.flatnonzero(new), np.cumsum(new) - 1


def _draws(system: Equilibria) -> tuple[int, ...]:
    return np.broadcast_shapes(*(np.shape(v) for v in system.log_k.values()))


def _checked(field: str, amount: Array, shape: tuple[int, ...]) -> Array:
    if not np.isfinite(amount).all() or (amount < -_NEGLIGIBLE).any():
        raise InkhornError(
            f"the amount of {field.replace('_', ' ')} is negative or not a number", where="speciation"
        )
    return np.asarray(np.maximum(np.broadcast_to(amount, shape).reshape(-1), 0))


@functools.lru_cache(maxsize=8)
def _kernel_table(system: Equilibria) -> tuple[Any, ...]:
    numbers = np.array([system.davies, system.salting, system.water_activity, system.limit])
    width = int((system.formula != 0).sum(1).max())
    parts = np.full((len(system.species), width), -1)
    coefs = np.zeros(parts.shape)
    for s, formula in enumerate(system.formula):
        (have,) = np.nonzero(formula)  # H+ is component 0, so it comes first
        parts[s, : have.size] = have
        coefs[s, : have.size] = formula[have]
    return (
        parts,
        coefs,
        system.water,
        system.charges,
        system.kind,
        system.ion_size,
        system.linear,
        numbers,
    )


@functools.lru_cache(maxsize=8)
def _masters(system: Equilibria) -> NDArray[np.int64]:
    return np.array([system.species.index(c) for c in COMPONENTS])
