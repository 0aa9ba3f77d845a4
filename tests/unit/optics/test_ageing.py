"""Ageing of the colour."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.handbook.load import value
from inkhorn.optics import ageing, film, observe, support
from inkhorn.optics.spectra import curves

ROWS = {"brown_gain": value("optics.ageing.brown_gain"), "brown_scale": value("optics.scale.brown")}


def _lab(parts: ageing.Colorants) -> np.ndarray:
    absorbance = film.absorbance(
        gallate=parts.gallate, catecholate=parts.catecholate, brown=parts.brown, curves=curves()
    )
    return observe.lab(film.reflectance(absorbance, support.reflectance([86.0, 1, 14]), 0.04, 0.6))


def test_new_ink_is_unchanged() -> None:
    """At age fraction 0 nothing must change."""
    new = ageing.aged(gallate=1e-7, catecholate=2e-8, brown=1e-6, fraction=0, **ROWS)
    assert (new.gallate, new.catecholate, new.brown) == (1e-7, 2e-8, 1e-6)


def test_blue_black_turns_brown() -> None:
    """With age a thin blue-black stroke must turn steadily yellower, and from bluer than skin to browner."""
    fraction = np.linspace(0, 1, 9)
    b = _lab(ageing.aged(gallate=8e-8, catecholate=0.0, brown=0.0, fraction=fraction, **ROWS))[:, 2]
    assert (np.diff(b) > 0).all()
    assert b[0] < 0
    assert b[-1] > 10


def test_iron_is_accounted_for() -> None:
    """What leaves the complexes must be what was turned brown, in the strength at 400 nm that it gains."""
    old = ageing.aged(gallate=1e-7, catecholate=5e-8, brown=0.0, fraction=0.4, **ROWS)
    turned = 1.5e-7 - float(old.gallate + old.catecholate)
    assert turned == pytest.approx(0.4 * 1.5e-7)
    assert old.brown * ROWS["brown_scale"] == pytest.approx(turned * ROWS["brown_gain"])


def test_back_to_new() -> None:
    """Ageing then undoing it must give the film as new."""
    old = ageing.aged(gallate=1e-7, catecholate=3e-8, brown=2e-6, fraction=0.6, **ROWS)
    new = ageing.as_new(
        gallate=old.gallate, catecholate=old.catecholate, brown=old.brown, fraction=0.6, **ROWS
    )
    assert new.gallate == pytest.approx(1e-7)
    assert new.catecholate == pytest.approx(3e-8)
    assert new.brown == pytest.approx(2e-6)
