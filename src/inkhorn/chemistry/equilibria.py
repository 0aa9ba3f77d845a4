"""The equilibria of the handbook as arrays: species, stoichiometry, constants.

Reactions are written in the handbook as in a database (``"Fe+3 + SO4-2 =
FeSO4+"``); here they become one matrix over *components*. Carbonate and acetate
are carried by CO2 and acetic acid, the forms they take in ink, so that a free
component is rarely many powers of ten below its total.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from types import MappingProxyType

import attrs
import numpy as np
from scipy.constants import R as GAS_CONSTANT

from inkhorn.chemistry.arrays import Array, Floats, floats
from inkhorn.errors import HandbookError
from inkhorn.handbook.grids import grid
from inkhorn.handbook.load import group, rows, value

COMPONENTS = (
    "H+",
    "Fe+2",
    "Fe+3",
    "SO4-2",
    "Cl-",
    "HAcetate",
    "CO2",
    "Ca+2",
    "Al+3",
    "H2Pg",
    "H2Cat",
    "HA",
)
_CARRIED_BY = {"Acetate-": "HAcetate", "CO3-2": "CO2"}
_TERM = re.compile(r"^(?:(\d+) )?(\S+)$")
_CHARGE = re.compile(r"[+-]\d*$")
_GROUP = "speciation.species"
# numbers-in-code: 25 degrees Celsius, at which constants are tabulated
_REFERENCE = 25 + 273.15


def charge(species: str) -> int:
    """Return the charge that a species' name carries: ``"Fe(Cat)3-3"`` gives -3.

    Parameters
    ----------
    species : str
        Its name, charge last.

    Returns
    -------
    int
        The charge.
    """
    mark = _CHARGE.search(species)
    if mark is None:
        return 0
    digits = mark.group()[1:] or "1"
    return int(mark.group()[0] + digits)


def side(text: str) -> dict[str, int]:
    """Return one side of a reaction as species and count: ``"2 H+ + CO3-2"``.

    Parameters
    ----------
    text : str
        Terms joined by `` + ``, each with an optional count and a blank before it.

    Returns
    -------
    dict
        Species and count.
    """
    out: dict[str, int] = {}
    for term in text.strip().split(" + "):
        match = _TERM.match(term.strip())
        if match is None:
            raise HandbookError(f"the term {term!r} of a reaction cannot be read", where=_GROUP)
        out[match.group(2)] = out.get(match.group(2), 0) + int(match.group(1) or 1)
    return out


@attrs.frozen(kw_only=True, eq=False)
class Equilibria:
    """All species over the components, with what their constants need.

    ``S`` species, ``C`` components, ``R`` reactions. A species' log10 K (from
    the components) is ``combine @ log10 K of the reactions``.
    """

    species: tuple[str, ...]
    reactions: tuple[str, ...]  # the species that each reaction forms
    formula: Array  # (S, C)
    water: Array  # (S,), water taken up
    combine: Array  # (S, R)
    charges: Array  # (S,)
    kind: Array  # (S,), 0 ion-size, 1 Davies, 2 neutral
    ion_size: Array  # (S,), angstrom
    linear: Array  # (S,), kg/mol
    log_k: Mapping[str, Floats]  # 25 C, each reaction
    enthalpy: Mapping[str, float]  # J/mol
    drift: Array  # (6, R), change with temperature
    davies: float
    salting: float
    water_activity: float
    limit: float

    def changed(self, log_k: Mapping[str, Floats]) -> Equilibria:
        """Return the same equilibria with some reactions' log10 K replaced.

        Parameters
        ----------
        log_k : mapping of str to float or ndarray
            By the species that the reaction forms; ``(N,)`` for one a draw.

        Returns
        -------
        Equilibria
            A changed copy.
        """
        unknown = sorted(set(log_k) - set(self.reactions))
        if unknown:
            raise HandbookError(f"there is no reaction that forms {unknown[0]!r}", where=_GROUP)
        return attrs.evolve(self, log_k=MappingProxyType({**self.log_k, **log_k}))

    def log_constants(self, temperature: Floats) -> Array:
        r"""Return log10 K of every species at a temperature.

        A fit where the handbook has one, else van 't Hoff,

        .. math:: \log K(T) = \log K - \frac{\Delta H}{R\ln10}\left(\frac1T - \frac1{298.15}\right)

        Parameters
        ----------
        temperature : float or ndarray
            K, ``()`` or ``(N,)``.

        Returns
        -------
        ndarray
            ``(N, S)``, N = 1 where nothing is given per draw.
        """
        t = np.atleast_1d(floats(temperature))
        sizes = {np.size(v) for v in self.log_k.values()}
        if sizes == {1}:
            at_25 = np.array([[float(self.log_k[r]) for r in self.reactions]])
        else:
            n = max(sizes)
            at_25 = np.stack([np.broadcast_to(floats(self.log_k[r]), (n,)) for r in self.reactions], axis=1)
        moved = _basis(t) - _basis(floats(_REFERENCE))
        return np.asarray(at_25 @ self.combine.T + moved @ (self.drift @ self.combine.T))


def drift(name: str, enthalpy: float) -> Array:
    """Return what log10 K of a reaction changes by, (6,), over the terms of the temperature fits.

    The handbook's fit of that name; else van 't Hoff with an enthalpy in J/mol,
    which is a term in 1/T alone.

    Parameters
    ----------
    name : str
        Reaction, by the species or mineral.
    enthalpy : float
        J/mol, used where there is no fit.

    Returns
    -------
    ndarray
        (6,), on the terms 1, T, 1/T, log10 T, 1/T^2, T^2.
    """
    fits = grid("speciation_analytic")
    if name in fits:
        return fits[name]
    return np.array([0, 0, -enthalpy / (GAS_CONSTANT * np.log(10)), 0, 0, 0])


def fitted_shift(name: str, temperature: Floats, *, enthalpy: float) -> Array:
    """Return log10 K(T) - log10 K(25 C) of one reaction; K and J/mol.

    Parameters
    ----------
    name : str
        Reaction, by the species or mineral.
    temperature : array_like
        K.
    enthalpy : float
        J/mol, used where there is no fit.

    Returns
    -------
    ndarray
        Shift of log10 K.
    """
    return np.asarray((_basis(floats(temperature)) - _basis(floats(_REFERENCE))) @ drift(name, enthalpy))


def _basis(t: Array) -> Array:
    """Return the terms 1, T, 1/T, log10 T, 1/T^2, T^2 on a last axis."""
    return np.stack([np.ones_like(t), t, 1 / t, np.log10(t), 1 / t**2, t**2], axis=-1)


@functools.cache
def handbook_equilibria() -> Equilibria:
    """Return the equilibria of the handbook's speciation tables."""
    known = group(_GROUP)
    reactions = {name: body["reaction"] for name, body in known.items() if "reaction" in body}
    names = tuple(reactions)
    masters = tuple(n for n, body in known.items() if body.get("master"))
    expanded: dict[str, tuple[dict[str, float], Array]] = {
        m: ({m: 1.0}, np.zeros(len(names))) for m in masters
    }
    for r, name in enumerate(names):
        expanded[name] = _expand(name, reactions[name], expanded, np.eye(len(names))[r])
    for old, new in _CARRIED_BY.items():
        _carry(old, new, expanded)
    return _arrays(names, expanded)


def _expand(
    name: str, reaction: str, expanded: Mapping[str, tuple[dict[str, float], Array]], own: Array
) -> tuple[dict[str, float], Array]:
    """Write a species over the masters: left side minus the rest of the right side."""
    left, _, right = reaction.partition("=")
    counts = side(left)
    for species, n in side(right).items():
        if species != name:
            counts[species] = counts.get(species, 0) - n
    total: dict[str, float] = {}
    constants = own.copy()
    for species, n in counts.items():
        if species == "H2O":
            total["H2O"] = total.get("H2O", 0) + n
            continue
        if species not in expanded:
            raise HandbookError(
                f"the reaction {reaction!r} needs {species!r}, which comes later", where=_GROUP
            )
        parts, theirs = expanded[species]
        constants = constants + n * theirs
        for part, k in parts.items():
            total[part] = total.get(part, 0) + n * k
    return total, constants


def _carry(old: str, new: str, expanded: dict[str, tuple[dict[str, float], Array]]) -> None:
    """Replace a master by one of its species: old = new - (the rest of new)."""
    parts, constants = expanded[new]
    rest = {p: -k for p, k in parts.items() if p != old}
    for name, (have, theirs) in list(expanded.items()):
        n = have.get(old, 0)
        if n:
            merged = {p: k for p, k in have.items() if p != old}
            merged[new] = n
            for p, k in rest.items():
                merged[p] = merged.get(p, 0) + n * k
            expanded[name] = ({p: k for p, k in merged.items() if k}, theirs - n * constants)


def _arrays(names: tuple[str, ...], expanded: Mapping[str, tuple[dict[str, float], Array]]) -> Equilibria:
    species = tuple(expanded)
    have = rows()
    formula = np.array([[parts.get(c, 0) for c in COMPONENTS] for parts, _ in expanded.values()], dtype=float)
    charges = np.array([charge(s) for s in species], dtype=float)
    sized = np.array([f"{_GROUP}.{s}.ion_size" in have for s in species])
    carried = formula @ np.array([charge(c) for c in COMPONENTS], dtype=float)
    if not np.array_equal(carried, charges):
        wrong = species[int(np.flatnonzero(carried != charges)[0])]
        raise HandbookError(f"the reaction that forms {wrong!r} does not balance its charge", where=_GROUP)
    enthalpy = {n: value(f"{_GROUP}.{n}.enthalpy") * 1000 for n in names if f"{_GROUP}.{n}.enthalpy" in have}
    return Equilibria(
        species=species,
        reactions=names,
        formula=formula,
        water=np.array([parts.get("H2O", 0) for parts, _ in expanded.values()], dtype=float),
        combine=np.array([k for _, k in expanded.values()]),
        charges=charges,
        kind=np.where(sized, 0.0, np.where(charges == 0, 2.0, 1.0)),
        ion_size=np.array(
            [value(f"{_GROUP}.{s}.ion_size") if k else 0 for s, k in zip(species, sized, strict=True)]
        ),
        linear=np.array([value(f"{_GROUP}.{s}.b") if k else 0 for s, k in zip(species, sized, strict=True)]),
        log_k=MappingProxyType({n: value(f"{_GROUP}.{n}.log_k") for n in names}),
        enthalpy=MappingProxyType(enthalpy),
        drift=np.stack([drift(n, enthalpy.get(n, 0)) for n in names], axis=1),
        davies=value("speciation.davies"),
        salting=value("speciation.salting"),
        water_activity=value("speciation.water_activity"),
        limit=value("speciation.model_limit"),
    )
