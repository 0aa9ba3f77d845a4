"""Reading reactions, changed constants, shapes and refusals of the speciation."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest

from inkhorn.chemistry.equilibria import COMPONENTS, charge, handbook_equilibria, side
from inkhorn.chemistry.speciation import Totals, solve
from inkhorn.errors import HandbookError, InkhornError


@pytest.mark.parametrize(
    ("name", "z"),
    [("Fe+2", 2), ("SO4-2", -2), ("Fe(Acetate)2+", 1), ("Fe2(OH)2+4", 4), ("FeSO4", 0), ("Fe(Cat)3-3", -3)],
)
def test_charge_of_a_name(name, z):
    """A species' name carries its charge at its end."""
    assert charge(name) == z


def test_side_of_a_reaction():
    """Counts stand before a blank; a formula's own digits are not counts."""
    assert side("2 H+ + CO3-2 + 3 H2O") == {"H+": 2, "CO3-2": 1, "H2O": 3}
    with pytest.raises(HandbookError, match="cannot be read"):
        side("2 H+ + a b c")


def test_every_reaction_balances():
    """Charge balances in every species over its components."""
    system = handbook_equilibria()
    assert np.array_equal(system.formula @ [charge(c) for c in COMPONENTS], system.charges)
    assert set(system.reactions) <= set(system.species)


def test_changed_constants_one_a_draw():
    """A constant given per draw gives each draw its own answer, row for row; unknown ones are named."""
    system = handbook_equilibria()
    pot = Totals(iron3=0.02, sulfate=0.03, pyrogallol=0.05)
    stronger = system.changed({"FePg+": np.array([-2.0, -0.4, 1.0])})
    many = solve(pot, constants=stronger)
    assert many.ph.shape == (3,)
    assert (np.diff(many.bound_iron3()[0]) > 0).all()
    assert (np.diff(many.ph) < 0).all()
    assert many.ph[2] == float(solve(pot, constants=system.changed({"FePg+": 1.0})).ph)
    with pytest.raises(HandbookError, match="FeXy"):
        system.changed({"FeXy+": 1.0})


def test_shapes_broadcast():
    """Scalars, rows and columns broadcast; temperature may differ by draw."""
    got = solve(
        Totals(iron2=np.array([[0.1], [0.2]]), sulfate=0.2), temperature=np.array([280.0, 298.15, 320.0])
    )
    assert got.ph.shape == got.species["FeSO4"].shape == (2, 3)
    alone = solve(Totals(iron2=0.2, sulfate=0.2), temperature=320.0)
    assert float(alone.ph) == got.ph[1, 2]
    assert solve(Totals(iron2=np.zeros(0))).ph.shape == (0,)


def test_pure_water_and_strong_alkali():
    """Water alone is neutral; 0.01 mol/kg alkali has pH 11.9 to 12; acid 0.01 has 2.0 to 2.1."""
    assert float(solve(Totals()).ph) == pytest.approx(6.997, abs=2e-3)
    got = solve(Totals(strong=np.array([0.01, -0.01]))).ph
    assert 11.9 < got[0] < 12.0
    assert 2.0 < got[1] < 2.1


def test_beyond_the_model_still_answers():
    """Brine far above the model's range is solved with its coefficients held, not refused."""
    got = solve(Totals(iron2=4.0, sulfate=5.0, iron3=1.0, pyrogallol=3.0))
    assert np.isfinite(got.ph)
    assert float(got.total("Fe+3")) == pytest.approx(1.0, rel=1e-8)


@pytest.mark.parametrize("bad", [{"iron2": -0.1}, {"sulfate": np.nan}, {"strong": np.inf}])
def test_refusals(bad):
    """Negative amounts and what is no number are refused in words."""
    with pytest.raises(InkhornError, match="speciation"):
        solve(Totals(**bad))


def test_import_compiles_nothing():
    """Importing the solver leaves every kernel uncompiled."""
    code = (
        "import inkhorn.chemistry.speciation, sys;"
        "mods = [m for n, m in sys.modules.items() if n.startswith('inkhorn.chemistry')];"
        "jitted = {id(f): f for m in mods for f in vars(m).values() if hasattr(f, 'nopython_signatures')};"
        "print(len(jitted), sum(len(f.signatures) for f in jitted.values()))"
    )
    out = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    kernels, compiled = out.stdout.split()
    assert int(kernels) >= 10
    assert int(compiled) == 0
