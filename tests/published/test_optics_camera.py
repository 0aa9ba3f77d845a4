"""The camera model against cameras whose sensitivities were measured."""

from __future__ import annotations

import warnings

import attrs
import numpy as np
import pytest

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

from inkhorn.handbook.load import value
from inkhorn.optics import film, observe, support
from inkhorn.optics.camera import Camera, density_spread, draw_cameras
from inkhorn.optics.spectra import curves

TEN = colour.SpectralShape(380, 730, 10)
LAMP = colour.SDS_ILLUMINANTS["D65"].copy().align(TEN).values
CHART = np.array([s.copy().align(TEN).values for s in colour.SDS_COLOURCHECKERS["ISO 17321-1"].values()])
SKINS = [support.reflectance(np.array(lab)) for lab in ([88.0, 1, 12], [78.0, 3, 20], [72.0, 5, 26])]
#: mol, mol and g to the cm2: thin and full gallate, catecholate, brown, and two mixed inks.
FILMS = (
    (5e-8, 0, 0),
    (1.5e-7, 0, 0),
    (0, 1.5e-7, 0),
    (0, 0, 5e-4),
    (1e-7, 5e-8, 3e-4),
    (5e-8, 1e-7, 6e-4),
)


def _white_keeping_fit(raw: np.ndarray, rgb: np.ndarray) -> np.ndarray:
    """Return the 3x3 of rows that sum to 1 which best turns a chart's raw values into linear sRGB."""
    out = np.zeros((3, 3))
    for i in range(3):
        others = [j for j in range(3) if j != i]
        weights = np.linalg.lstsq(raw[:, others] - raw[:, [i]], rgb[:, i] - raw[:, i], rcond=None)[0]
        out[i, others] = weights
        out[i, i] = 1 - weights.sum()
    return out


class TestMeasuredSensitivities:
    """Two cameras measured by the National Physical Laboratory, as carried by colour-science 0.4.7."""

    @pytest.mark.parametrize("name", list(colour.MSDS_CAMERA_SENSITIVITIES))
    def test_what_they_do_to_ink_is_within_the_band(self, name: str) -> None:
        """Balanced and fitted to a chart, their errors on ink must be of the size that mixing is given.

        Between a quarter of the modelled spread and twice it, over 18 inks on skins and all channels.
        """
        sensitivity = np.clip(
            np.nan_to_num(colour.MSDS_CAMERA_SENSITIVITIES[name].copy().align(TEN).values), 0, None
        )
        weights = sensitivity * LAMP[:, None]
        weights = weights / weights.sum(axis=0)
        profile = _white_keeping_fit(CHART @ weights, observe.linear_rgb(CHART))
        drawn = draw_cameras(np.random.default_rng(0), 400)
        mixing = attrs.evolve(Camera.plain(400), mixing=drawn.mixing)
        k1, k2 = value("optics.surface.k1"), value("optics.surface.k2")
        seen, modelled = [], []
        for skin in SKINS:
            for gallate, catecholate, brown in FILMS:
                layer = film.absorbance(
                    gallate=gallate, catecholate=catecholate, brown=brown, curves=curves()
                )
                ink = film.reflectance(layer, skin, k1, k2)
                true = observe.channel_density(observe.linear_rgb(ink), observe.linear_rgb(skin))
                read = observe.channel_density(profile @ (ink @ weights), profile @ (skin @ weights))
                seen.append(read - true)
                doing = density_spread(observe.linear_rgb(ink), observe.linear_rgb(skin), mixing)
                modelled.append(np.diag(doing.covariance))
        ratio = np.sqrt(np.mean(np.square(seen)) / np.mean(modelled))
        assert 0.25 < ratio < 2


class TestSRGB:
    """IEC 61966-2-1, through colour-science's own functions."""

    def test_a_gamma_of_two_and_two_fifths_read_as_srgb(self) -> None:
        """A file written with a pure power of 1/2.4 and read as sRGB must be what a contrast and toe can follow.

        The two curves differ by the standard's linear foot; in the middle tones the log-slope
        of one on the other is the ratio 2.4 / 2.2-odd, well inside three sd of ``camera.contrast``.
        """
        light = np.linspace(0.05, 0.9, 30)
        read = colour.models.eotf_sRGB(light ** (1 / 2.4))
        slope = np.polyfit(np.log(light), np.log(read), 1)[0]
        spread = np.log1p(0.08)
        assert abs(np.log(slope)) < 3 * spread
