"""What a camera of unknown make may do to a density is in the exemplar that counsel aims at."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.colour.lab import lab_to_linear
from inkhorn.optics.camera import density_doubt
from inkhorn.replay.target import PhotoMeasure, default_support_lab, make_target

DENSITY = np.array([0.75, 0.82, 0.9])
OWN = 0.02**2 * np.eye(3)
BARE = np.clip(lab_to_linear(default_support_lab()), 0, 1)


def _photo(off: float = 0.0, camera: str = "", *, card: bool = False) -> PhotoMeasure:
    lab = default_support_lab() if card else None
    return PhotoMeasure(density=DENSITY + off, covariance=OWN, support_lab=lab, called="photo", camera=camera)


def _sd(*measures: PhotoMeasure) -> float:
    goal = make_target("roll", measures, None)
    assert goal is not None
    return float(np.sqrt(np.trace(goal.covariance) / 3))


def test_a_picture_without_a_card_carries_the_cameras_doubt() -> None:
    """Its band is its own error and the camera's together, and many times that of a picture with the card."""
    goal = make_target("roll", [_photo()], None)
    np.testing.assert_allclose(goal.covariance, OWN + density_doubt(DENSITY, BARE), atol=2e-6)
    assert _sd(_photo()) > 3 * _sd(_photo(card=True))
    assert _sd(_photo(card=True)) == pytest.approx(0.02, rel=0.01)


def test_one_cameras_doubt_does_not_average_out() -> None:
    """Nine pictures by one camera, named or not, are hardly surer than one; by nine cameras they are by a factor of two at least."""
    one = _sd(_photo())
    assert _sd(*[_photo(0.001 * n, "Alder A1") for n in range(9)]) > 0.9 * one
    assert _sd(*[_photo(0.001 * n) for n in range(9)]) > 0.9 * one
    assert _sd(*[_photo(0.001 * n, f"Alder A{n}") for n in range(9)]) < one / 2


def test_a_measured_density_outweighs_a_picture_without_a_card() -> None:
    """A densitometer of the same own error as a photograph is believed over it where they differ."""
    sure = PhotoMeasure(density=DENSITY + 0.1, covariance=OWN, called="optical density")
    goal = make_target("roll", [_photo(), sure], None)
    np.testing.assert_allclose(goal.density, DENSITY + 0.1, atol=0.03)
