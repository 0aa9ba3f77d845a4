"""The viscosity of a whole ink."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.flow import mixture, water
from inkhorn.handbook.load import value

INK = {
    "solids": 8.0,
    "gum": 3.0,
    "gel": 0.1,
    "intrinsic": 0.18,
    "martin": 0.35,
    "solids_coefficient": value("gum.solids_coefficient"),
    "gel_coefficient": value("gum.gel_coefficient"),
    "activation": value("gum.activation"),
}


@pytest.mark.parametrize("kelvin", [278.15, 293.15, 318.15, 353.15])
def test_plain_water_stays_water(kelvin: float) -> None:
    """With nothing in it the liquor must have exactly water's viscosity at every temperature."""
    plain = INK | {"solids": 0, "gum": 0, "gel": 0}
    assert mixture.viscosity(temperature=kelvin, **plain) == water.viscosity(kelvin)


def test_ordinary_ink_is_in_the_writing_range() -> None:
    """8 % solids and 3 % gum arabic must land where quills write: 1.5 to 4.5 mPa s (common practice)."""
    assert 1.5 < mixture.viscosity(temperature=293.15, **INK) < 4.5


def test_ten_per_cent_sugar() -> None:
    """A 10 % sugar solution is 1.336 mPa s at 20 degC (CRC Handbook, sucrose; from memory).

    10 % by mass is 10.38 g/dl; the coefficient for sucrose is ln(1.336/1.0016)/10.38 = 0.0278.
    """
    plain = INK | {"solids": 10.38, "gum": 0, "gel": 0, "solids_coefficient": 0.0278, "activation": 0}
    assert mixture.viscosity(temperature=293.15, **plain) == pytest.approx(1.336, rel=3e-3)


def test_warming_follows_the_activation_energy() -> None:
    """A very thick liquor from 20 to 45 degC must thin by water's factor times exp(E/R (1/T1 - 1/T2))."""
    thick = INK | {"gum": 60.0}
    cold = mixture.viscosity(temperature=293.15, **thick)
    warm = mixture.viscosity(temperature=318.15, **thick)
    extra = np.exp(INK["activation"] / 8.314462618 * (1 / 293.15 - 1 / 318.15))
    expected = water.viscosity(293.15) / water.viscosity(318.15) * extra
    assert cold / warm == pytest.approx(expected, rel=1e-3)


def test_one_draw_is_a_row_of_many() -> None:
    """Row k of many draws must be the single value for the same numbers."""
    rng = np.random.default_rng(3)
    many = {k: v * rng.lognormal(0, 0.2, 50) for k, v in INK.items()}
    out = mixture.viscosity(temperature=300.0, **many)
    assert out.shape == (50,)
    one = mixture.viscosity(temperature=300.0, **{k: v[7] for k, v in many.items()})
    assert one == pytest.approx(out[7], rel=1e-13)
