"""Timed discharge and flow cups."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.flow import cups, discharge, water
from inkhorn.handbook.load import value


def _seconds(nu: np.ndarray) -> np.ndarray:
    """5 ml through a needle of 0.25 mm radius, 25 mm long, under 50 mm, by the full law."""
    return 5000 / discharge.capillary_rate(nu, radius=0.25, length=25, head=50, loss=1.1)


def test_poiseuille_without_loss() -> None:
    """Without exit loss the rate must be ``pi r^4 g h / (8 nu L)`` (Poiseuille's law)."""
    ours = discharge.capillary_rate(1.0034, radius=0.25, length=25, head=50, loss=0)
    assert ours == pytest.approx(np.pi * 0.25**4 * 9806.65 * 50 / (8 * 1.0034 * 25), rel=1e-12)


def test_water_at_two_temperatures_calibrates_any_ink() -> None:
    """Constants from water at 20 and 45 degC must read back inks the full law discharges, exactly.

    That the two-constant form is exact follows from the law's algebra; the time ratio alone is
    3 to 5 % low for the same inks.
    """
    kelvin = np.array([293.15, 318.15])
    nu = water.viscosity(kelvin) / water.density(kelvin)
    times = _seconds(nu)
    a, b = discharge.constants(times=(times[0], times[1]), kinematic=(nu[0], nu[1]))
    inks = np.array([1.7476, 2.8846, 4.8077])
    np.testing.assert_allclose(discharge.kinematic_viscosity(_seconds(inks), a=a, b=b), inks, rtol=1e-9)
    by_ratio = nu[0] * _seconds(inks) / times[0]
    assert (by_ratio < 0.97 * inks).all()


def test_time_inverts_viscosity() -> None:
    """The time for a viscosity must give that viscosity back."""
    nu = np.geomspace(0.5, 50, 20)
    back = discharge.kinematic_viscosity(discharge.discharge_time(nu, a=0.006, b=8.75), a=0.006, b=8.75)
    np.testing.assert_allclose(back, nu, rtol=1e-12)


@pytest.mark.parametrize(
    ("jet", "seconds", "nu"),
    [("3mm", 57, 21.742), ("4mm", 40, 49.8), ("5mm", 60, 193.13), ("6mm", 30, 188.0)],
)
def test_iso_2431_cups(jet: str, seconds: float, nu: float) -> None:
    """The cups must read as ISO 2431's equations ``nu = A t - B/t`` do (as quoted in public code)."""
    rows = {"a": value(f"flow.cup.{jet}.a"), "b": value(f"flow.cup.{jet}.b")}
    assert cups.cup_viscosity(seconds, **rows) == pytest.approx(nu, rel=3e-4)
    assert cups.cup_time(cups.cup_viscosity(seconds, **rows), **rows) == pytest.approx(seconds)


def test_no_cup_suits_writing_ink() -> None:
    """Ink of 1.5 to 6 mm2/s must fall outside the times in which even the narrowest cup may be used."""
    seconds = cups.cup_time(np.array([1.5, 3, 6]), a=value("flow.cup.3mm.a"), b=value("flow.cup.3mm.b"))
    assert not cups.in_range(seconds).any()
