"""From densities to a film that can be laid elsewhere."""

from __future__ import annotations

from typing import ClassVar

import numpy as np
import pytest

from inkhorn.colour.difference import ciede2000
from inkhorn.handbook.load import value
from inkhorn.optics import ageing, film, observe, support
from inkhorn.optics.portable import absorbance_from_density, channel_hats, surface_seen
from inkhorn.optics.spectra import curves

HERE, THERE = support.reflectance([[86.0, 1, 14], [74, 4, 24]])


def _inks(n: int = 300) -> np.ndarray:
    rng = np.random.default_rng(4)
    gallate = rng.lognormal(np.log(1.2e-7), 0.6, n)
    return film.absorbance(
        gallate=gallate,
        catecholate=gallate * rng.uniform(0, 1, n),
        brown=rng.uniform(0, 8e-4, n),
        curves=curves(),
    )


def _density(absorbance: np.ndarray, skin: np.ndarray) -> np.ndarray:
    seen = observe.linear_rgb(film.reflectance(absorbance, skin, 0.04, 0.6))
    return observe.channel_density(seen, observe.linear_rgb(skin))


def test_hats_are_a_partition() -> None:
    """The three hats must add to one at every wavelength and each peak at its own channel's centre."""
    np.testing.assert_allclose(channel_hats().sum(axis=0), 1)
    peaks = channel_hats().argmax(axis=1)
    assert peaks[0] > peaks[1] > peaks[2]


def test_densities_come_back() -> None:
    """The film found must have the densities asked for, to 1e-6, where they are not at the gleam."""
    density = _density(_inks(), HERE)
    plain = density.max(axis=1) < 1.15
    found = absorbance_from_density(density[plain], HERE, 0.04, 0.6)
    np.testing.assert_allclose(_density(found, HERE), density[plain], atol=1e-6)
    assert (found >= 0).all()


def test_good_to_the_eye_on_another_skin() -> None:
    """Laid on a much browner skin the film must look as the true one does, within a difference of 1."""
    inks = _inks()
    found = absorbance_from_density(_density(inks, HERE), HERE, 0.04, 0.6)
    there = [observe.lab(film.reflectance(a, THERE, 0.04, 0.6)) for a in (inks, found)]
    assert np.quantile(ciede2000(*there), 0.99) < 1


def test_start_keeps_its_shape() -> None:
    """Started from the true spectrum the film must be that spectrum."""
    inks = _inks(40)
    density = _density(inks, HERE)
    plain = density.max(axis=1) < 1.1
    found = absorbance_from_density(density[plain], HERE, 0.04, 0.6, start=inks[plain])
    np.testing.assert_allclose(found, inks[plain], atol=1e-5)


def test_impossible_densities_get_the_nearest() -> None:
    """Below bare skin or beyond the gleam the answer must be finite and the nearest there is."""
    found = absorbance_from_density([[-0.1, -0.02, 0.0], [3.0, 3.0, 3.0]], HERE, 0.04, 0.6)
    assert np.isfinite(found).all()
    np.testing.assert_allclose(found[0], 0, atol=1e-6)
    assert (_density(found[1:], HERE) > 1.05).all()


def test_gleam_gives_way_to_a_dark_reading() -> None:
    """A stroke darker than the gleam allows must lower the gleam, a pale one must leave it."""
    bare = observe.linear_rgb(HERE)
    assert surface_seen([0.5, 0.5, 0.4], bare, 0.04) == 0.04
    assert surface_seen([2.0, 2.0, 2.0], bare, 0.04) == pytest.approx(bare.min() / 100 / 2)


def test_shape_of_leading_axes() -> None:
    """One density, many, or a grid of them must give the same films."""
    density = _density(_inks(6), HERE)
    many = absorbance_from_density(density.reshape(2, 3, 3), HERE, 0.04, 0.6)
    assert many.shape == (2, 3, 36)
    np.testing.assert_allclose(many[1, 2], absorbance_from_density(density[5], HERE, 0.04, 0.6), atol=1e-7)


class TestAsNew:
    """Reading an old film as it may have been."""

    ROWS: ClassVar = {
        "brown_gain": value("optics.ageing.brown_gain"),
        "brown_scale": value("optics.scale.brown"),
    }

    def test_colorants_come_back(self) -> None:
        """Amounts laid must be the amounts read, and none may be negative."""
        rng = np.random.default_rng(0)
        amounts = rng.uniform(0, 1, (50, 3)) * [2e-7, 1e-7, 5e-4] * (rng.uniform(size=(50, 3)) > 0.3)
        laid = film.absorbance(
            gallate=amounts[:, 0], catecholate=amounts[:, 1], brown=amounts[:, 2], curves=curves()
        )
        read = ageing.colorants_of(laid, curves())
        for k, part in enumerate((read.gallate, read.catecholate, read.brown)):
            np.testing.assert_allclose(part, amounts[:, k], atol=1e-12)

    def test_ageing_is_undone(self) -> None:
        """A film without brown, aged, must come back where all of its brown is put down to age."""
        old = ageing.aged(gallate=1.5e-7, fraction=0.6, **self.ROWS)
        now = film.absorbance(gallate=old.gallate, brown=old.brown, curves=curves())
        new = ageing.film_as_new(now, share=1.0, curves=curves(), **self.ROWS)
        np.testing.assert_allclose(new, film.absorbance(gallate=1.5e-7, curves=curves()), rtol=1e-9)

    def test_no_share_no_change(self) -> None:
        """Where none of the brown is put down to age the film must stay as it is."""
        now = film.absorbance(gallate=1e-7, brown=4e-4, curves=curves())
        np.testing.assert_allclose(ageing.film_as_new(now, share=0.0, curves=curves(), **self.ROWS), now)
