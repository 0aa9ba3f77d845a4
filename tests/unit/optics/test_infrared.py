"""Ink in the near infrared: what is left of it, and what kind it is."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from scipy import stats

from inkhorn.errors import InkhornError
from inkhorn.handbook.load import value
from inkhorn.optics import infrared
from inkhorn.optics.infrared import (
    NORMALS,
    brown_left,
    carbon_left,
    fading_index,
    index_of,
    iron_left,
    probability_of_type,
)
from inkhorn.optics.spectra import WAVELENGTHS, curves


def test_the_red_itself_is_one() -> None:
    """In the red all of the red's absorbance is left, whatever the kind."""
    assert iron_left(610, red=610, middle=800, width=70) == 1
    assert carbon_left(610, red=610, exponent=0.8) == 1
    assert brown_left(610, red=610, width=140) == 1


def test_iron_tannin_ink_is_nearly_clear_by_a_thousand() -> None:
    """Common practice: iron ink is nearly gone at 1000 nm and greys at 850 to 940; carbon does not."""
    middle = np.zeros((1, NORMALS))
    assert index_of("iron-tannin", 1000, middle, 1)[0] < 0.1
    assert 0.05 < index_of("iron-tannin", 940, middle, 1)[0] < 0.3
    assert index_of("carbon", 1000, middle, 1)[0] > 0.6


def test_infrared_goes_on_where_the_visible_curves_end() -> None:
    """At 730 nm what is left must lie between the two iron colorants' own curves (absorptivity.csv)."""
    red = np.interp(value("infrared.red"), WAVELENGTHS, np.arange(len(WAVELENGTHS)))
    ends = [np.interp(red, np.arange(len(c)), c) for c in (curves().gallate, curves().catecholate)]
    left = [c[-1] / end for c, end in zip((curves().gallate, curves().catecholate), ends, strict=True)]
    here = iron_left(730, red=610, middle=value("infrared.iron.middle"), width=value("infrared.iron.width"))
    assert min(left) < here < max(left)


def test_mixed_lies_between() -> None:
    """An ink of both kinds keeps less than carbon and more than iron-tannin ink, draw by draw."""
    z = np.random.default_rng(3).standard_normal((400, NORMALS))
    iron, carbon, mixed = (index_of(k, 940, z, 400) for k in ("iron-tannin", "carbon", "mixed"))
    assert ((np.minimum(iron, carbon) <= mixed) & (mixed <= np.maximum(iron, carbon))).all()


def test_an_index_and_its_error_by_hand() -> None:
    """0.30 +- 0.03 over 1.00 +- 0.05: Q = 0.30, sd = sqrt(0.03^2 + 0.3^2 0.05^2) = 0.03354."""
    q, sd = fading_index(1.0, 0.3, (0.05, 0.03))
    assert (q, sd) == (pytest.approx(0.3), pytest.approx(0.033541, abs=1e-6))


def test_gleam_is_taken_off() -> None:
    """Films of absorbance 2 and 0.4 under 5 % of gleam must come back with their true index, 0.2."""
    seen = [-np.log10(0.05 + 0.95 * 10 ** -(2 * a)) for a in (0.8, 0.16)]
    assert fading_index(*seen, (0.02, 0.02), gleam=0.05)[0] == pytest.approx(0.2)
    assert fading_index(*seen, (0.02, 0.02))[0] > 0.22


def test_clear_cases_are_named() -> None:
    """A stroke gone at 940 nm is iron-tannin; one as black as before is carbon; both nine to one at least."""
    assert probability_of_type(0.08, 0.03, 940)["iron-tannin"] > 0.9
    assert probability_of_type(0.85, 0.03, 940)["carbon"] > 0.8
    found = probability_of_type(np.array([0.1, 0.42, 0.8]), 0.04, 940)
    assert found["mixed"].argmax() == 1


@pytest.mark.parametrize("band", [600, 1400, float("nan")])
def test_a_band_elsewhere_is_refused(band: float) -> None:
    """A band that is not near infrared is an error that says what would do."""
    with pytest.raises(InkhornError, match="nm"):
        probability_of_type(0.3, 0.1, band)


def test_no_ink_is_refused() -> None:
    """Without ink in the red there is no index; an unknown kind names the known ones."""
    with pytest.raises(InkhornError, match="red"):
        fading_index([0.5, 0.0], 0.2, (0.1, 0.1))
    with pytest.raises(InkhornError, match="carbon"):
        index_of("graphite", 940, np.zeros((1, NORMALS)), 1)


def test_the_density_written_out_is_students_t() -> None:
    """The same as the library's, which stands apart from ours, over all tails that the handbook may take."""
    x = np.linspace(-30.0, 30.0, 301)
    for tail in (1.0, 2.5, 4.0, 30.0):
        np.testing.assert_allclose(infrared._student(x, tail), stats.t.pdf(x, tail), rtol=1e-12)


def test_the_library_of_distributions_is_loaded_only_for_infrared_pictures() -> None:
    """The bench and every command that asks about a pot start without it; with it they would wait a quarter of a second more."""
    code = "import sys, inkhorn.web.app; from inkhorn import Workshop; print('scipy.stats' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
    assert infrared.probability_of_type(0.1, 0.05, 940.0)
