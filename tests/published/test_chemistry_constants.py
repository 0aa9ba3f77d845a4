"""The equilibrium rows against phreeqc.dat itself, and the Debye-Hueckel parameters against references."""

from __future__ import annotations

import pathlib
import re

import iapws
import numpy as np
import phreeqpython
import pytest

from inkhorn.chemistry.activity import davies, debye_huckel, dielectric, log_gamma
from inkhorn.chemistry.equilibria import handbook_equilibria
from inkhorn.chemistry.saturation import MINERALS
from inkhorn.handbook.grids import grid
from inkhorn.handbook.load import group, row, rows
from support.phreeqc import solution

_KILOCALORIE = 4.184


def _database() -> dict[str, dict[str, list[float]]]:
    """Return the reactions of phreeqc.dat, blanks removed, with the numbers of each option."""
    path = pathlib.Path(phreeqpython.__file__).parent / "database" / "phreeqc.dat"
    text = path.read_text("latin-1")
    section = text[text.index("SOLUTION_SPECIES") : text.index("\nPHASES")]
    out: dict[str, dict[str, list[float]]] = {}
    current: dict[str, list[float]] = {}
    for line in (raw.split("#")[0].strip() for raw in section.splitlines()):
        if "=" in line:
            current = out.setdefault(re.sub(r"\s", "", line), {})
        elif line:
            key, *rest = line.split()
            numbers = [float(x) for x in rest if re.fullmatch(r"[-+\d.eE]+", x)]
            scale = _KILOCALORIE if "kcal" in rest else 1.0
            current[key.lstrip("-").lower()[:8]] = [x * scale for x in numbers]
    return out


class TestPhreeqcDat:
    """The database file phreeqc.dat as issued with PHREEQC 3: guards the rows against silent edits."""

    def test_every_row_that_cites_it(self):
        """Constants, enthalpies and ion sizes equal the file's; temperature fits too."""
        database, system = _database(), handbook_equilibria()
        checked = 0
        for name in system.reactions:
            if "PARKHURST2013" not in row(f"speciation.species.{name}.log_k").source:
                continue
            theirs = database[re.sub(r"\s", "", group("speciation.species")[name]["reaction"])]
            if "analytic" in theirs:
                fit = np.array(theirs["analytic"] + [0.0] * (6 - len(theirs["analytic"])))
                assert np.allclose(grid("speciation_analytic")[name], fit, rtol=1e-12), name
            else:
                assert system.log_k[name] == pytest.approx(theirs["log_k"][0]), name
                if "delta_h" in theirs:
                    assert system.enthalpy[name] / 1000 == pytest.approx(theirs["delta_h"][0], abs=1e-3), name
            if "gamma" in theirs:
                i = system.species.index(name)
                assert [system.ion_size[i], system.linear[i]] == theirs["gamma"], name
            checked += 1
        assert checked == 37

    def test_fits_meet_their_constant(self):
        """At 25 C a temperature fit gives the row's own constant."""
        system = handbook_equilibria()
        at_25 = system.log_constants(298.15)[0]
        assert at_25[system.species.index("HSO4-")] == pytest.approx(
            row("speciation.species.HSO4-.log_k").value
        )

    def test_every_row_is_used(self):
        """No row of the table is left over: each belongs to a species or to the activity model."""
        system = handbook_equilibria()
        used = {"davies", "salting", "water_activity", "model_limit"}
        for name in rows():
            if name.startswith("speciation."):
                rest = name.removeprefix("speciation.")
                if rest.startswith("minerals."):
                    assert rest.split(".")[1] in MINERALS
                    continue
                assert rest in used or rest.removeprefix("species.").rsplit(".", 1)[0] in system.species


class TestDebyeHueckel:
    """Dielectric constant and activity coefficients."""

    @pytest.mark.parametrize("celsius", [5, 25, 50, 80])
    def test_dielectric(self, celsius):
        """Bradley and Pitzer's equation lies within 0.3 % of the IAPWS release of 1997."""
        rho = iapws.IAPWS95(T=celsius + 273.15, P=0.101325).rho
        expected = iapws._iapws._Dielectric(rho, celsius + 273.15)
        assert float(dielectric(celsius + 273.15)) == pytest.approx(expected, rel=3e-3)

    @pytest.mark.parametrize(
        ("strength", "one", "two", "three"),
        [(0.01, 0.9021, 0.6622, 0.3956), (0.1, 0.7816, 0.3732, 0.1089), (0.5, 0.7337, 0.2898, 0.0616)],
    )
    def test_davies(self, strength, one, two, three):
        """The Davies equation with A 0.509, worked by hand."""
        got = [10 ** float(davies(z, strength, a=0.509, linear=0.3)) for z in (1, 2, 3)]
        assert got == pytest.approx([one, two, three], abs=1e-4)

    @pytest.mark.parametrize("celsius", [5.0, 25.0, 60.0])
    def test_phreeqc_coefficients(self, celsius):
        """Ions of 0.05 mol/kg vitriol have PHREEQC's coefficients to 1e-4 in log10."""
        theirs = solution(iron2=0.05, sulfate=0.05, celsius=celsius)
        a, b = debye_huckel(celsius + 273.15)
        for ion, z, size, linear in (("Fe+2", 2, 6.0, 0.0), ("SO4-2", -2, 5.0, -0.04), ("H+", 1, 9.0, 0.0)):
            expected = np.log10(theirs.species_activities[ion] / theirs.species_molalities[ion])
            got = log_gamma(z, theirs.I, a=a, b=b, ion_size=size, linear=linear)
            assert float(got) == pytest.approx(expected, abs=1e-4)
