"""How much iron the phenols can hold, and which reagent runs short."""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry.arrays import Array, Floats, floats, ratio


def phenol_groups(
    *,
    gallotannin: Floats = 0,
    gallic: Floats = 0,
    ellagitannin: Floats = 0,
    condensed: Floats = 0,
    gallotannin_groups: Floats,
    gallic_groups: Floats,
    ellagitannin_groups: Floats,
    condensed_groups: Floats,
) -> tuple[Array, Array]:
    """Phenol groups by class.

    Parameters
    ----------
    gallotannin, gallic, ellagitannin, condensed : array_like
        g.
    gallotannin_groups, gallic_groups, ellagitannin_groups, condensed_groups : array_like
        Groups per gram, mol/g (rows ``binding.groups``).

    Returns
    -------
    tuple of ndarray
        Pyrogallol-type and catechol-type groups, mol.
    """
    pyrogallol = (
        floats(gallotannin) * gallotannin_groups
        + floats(gallic) * gallic_groups
        + floats(ellagitannin) * ellagitannin_groups
    )
    return np.asarray(pyrogallol), np.asarray(floats(condensed) * condensed_groups)


def capacity(
    *,
    gallotannin: Floats = 0,
    gallic: Floats = 0,
    ellagitannin: Floats = 0,
    condensed: Floats = 0,
    gallotannin_sites: Floats,
    gallic_sites: Floats,
    ellagitannin_sites: Floats,
    condensed_sites: Floats,
) -> Array:
    """Iron that the phenols of a liquor can hold in the dry film.

    Parameters
    ----------
    gallotannin, gallic, ellagitannin, condensed : array_like
        g.
    gallotannin_sites, gallic_sites, ellagitannin_sites, condensed_sites : array_like
        Iron held per gram, mol/g (rows ``binding.sites``).

    Returns
    -------
    ndarray
        mol of iron.

    Notes
    -----
    The government writing ink of 1936 (NBS Circular C413) and the best ink of
    William Lewis (1763) both come out at one iron a site with 4.5-5 sites a
    molecule of tannic acid.
    """
    return np.asarray(
        floats(gallotannin) * gallotannin_sites
        + floats(gallic) * gallic_sites
        + floats(ellagitannin) * ellagitannin_sites
        + floats(condensed) * condensed_sites
    )


def bound(iron: Floats, capacity: Floats, slack: Floats) -> Array:
    r"""Iron held, with a soft bend where iron meets capacity.

    The smaller root of :math:`(I - x)(C - x) = s\sqrt{IC}\,x`,

    .. math:: x = \frac{2IC}{b + \sqrt{b^2 - 4IC}}, \qquad b = I + C + s\sqrt{IC}

    Parameters
    ----------
    iron, capacity : array_like
        Same unit (mol, or mol/L), >= 0.
    slack : array_like
        Dimensionless softness ``s`` >= 0; 0 is the sharp minimum.

    Returns
    -------
    ndarray
        Iron held: never more than either, growing with both, proportional
        when both are scaled together.
    """
    i, c = np.broadcast_arrays(floats(iron), floats(capacity))
    product = i * c
    soft = floats(slack) * np.sqrt(product)
    # b**2 - 4 product, written without the cancellation where iron meets capacity
    discriminant = (i - c) ** 2 + soft * (2 * (i + c) + soft)
    held = ratio(2 * product, i + c + soft + np.sqrt(discriminant))
    return np.asarray(np.minimum(held, np.minimum(i, c)))


def iron_to_capacity(iron: Floats, capacity: Floats) -> Array:
    """Iron over capacity; infinite where there is iron and no capacity, 0 where there is neither.

    Parameters
    ----------
    iron, capacity : array_like
        Same unit.

    Returns
    -------
    ndarray
        The ratio.
    """
    i, c = np.broadcast_arrays(floats(iron), floats(capacity))
    return np.asarray(np.where(c > 0, ratio(i, c), np.where(i > 0, np.inf, 0.0)))


def iron_share_of_tannate(per_molecule: Floats, *, iron: float, tannin: float, hydrogen: float) -> Array:
    r"""Mass fraction of iron in a tannate of ``n`` iron(III) a molecule.

    .. math:: w = \frac{n M_{Fe}}{M_{tannin} + n (M_{Fe} - 2 M_H)}

    Parameters
    ----------
    per_molecule : array_like
        ``n``; each iron displaces two protons.
    iron, tannin, hydrogen : float
        Molar masses, g/mol.

    Returns
    -------
    ndarray
        Mass fraction, 0-1.
    """
    n = floats(per_molecule)
    return np.asarray(n * iron / (tannin + n * (iron - 2 * hydrogen)))
