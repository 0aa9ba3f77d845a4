"""What the bare paper of the card is, and Lab with its doubt from everything that was measured."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.colour.lab import lab_to_linear, linear_to_lab
from inkhorn.handbook.load import row

Array = NDArray[np.float64]


@attrs.frozen(kw_only=True, eq=False)
class Paper:
    """The card's paper: CIE Lab under D65 and its covariance (3, 3)."""

    lab: Array
    covariance: Array

    @property
    def linear(self) -> Array:
        """Return it in linear sRGB, (3,)."""
        return lab_to_linear(self.lab)


def usual_paper() -> Paper:
    """Return white office paper, of which nothing more is known."""
    rows = [row(f"card.paper.{name}") for name in ("lightness", "a", "b")]
    return Paper(
        lab=np.array([r.value for r in rows], dtype=np.float64),
        covariance=np.diag([r.spread**2 for r in rows]),
    )


def measured_paper(lab: Array) -> Paper:
    """Return paper that the maker measured."""
    return Paper(lab=lab, covariance=np.eye(3) * row("card.paper.measured").spread ** 2)


def lab_doubt(
    *,
    support: Array,
    density: Array,
    covariance: Array,
    paper: Paper,
    field: float,
    mixing: float,
    rng: np.random.Generator,
    draws: int = 1000,
) -> tuple[Array, Array]:
    """Return the covariances (3, 3) of the Lab of ink and of support.

    Parameters
    ----------
    support : ndarray (3,)
        Linear sRGB of the bare support.
    density, covariance : ndarrays (3,), (3, 3)
        Of the ink against it.
    paper : Paper
    field : float
        Spread of the light on the strip that the card does not tell, as a share.
    mixing : float
        Spread of the share of one channel's light that a camera's matrix puts into another.
    """
    white = paper.linear
    papers = lab_to_linear(rng.multivariate_normal(paper.lab, paper.covariance, draws)) / white
    even = np.exp(rng.normal(0, field, (draws, 1)))
    bare = support * papers * even
    dark = bare * 10 ** -rng.multivariate_normal(density, covariance, draws)
    mix = rng.normal(0, mixing, (draws, 3, 3))
    mix -= mix * np.eye(3)
    mix += np.eye(3) * (1 - mix.sum(axis=2, keepdims=True))  # the paper's own grey stays as it is
    out = []
    for light in (dark, bare):
        seen = np.einsum("nij,nj->ni", mix, light / white) * white
        out.append(np.cov(linear_to_lab(np.maximum(seen, 1e-5)).T))
    return out[0], out[1]
