"""The reference program, given also the acetate, phenols and plain acid that its database lacks."""

from __future__ import annotations

import functools

import phreeqpython

from inkhorn.chemistry.equilibria import handbook_equilibria
from inkhorn.handbook.load import group, value

_MASTERS = """
SOLUTION_MASTER_SPECIES
Acetate Acetate- 0.0 Acetate 59.044
Pg H2Pg 0.0 Pg 108.0
Cat H2Cat 0.0 Cat 108.0
A HA 0.0 A 100.0
SOLUTION_SPECIES
Acetate- = Acetate-
H2Pg = H2Pg
H2Cat = H2Cat
HA = HA
"""
_KEYS = {
    "iron2": "Fe(2)",
    "iron3": "Fe(3)",
    "sulfate": "S(6)",
    "chloride": "Cl",
    "carbonate": "C(4)",
    "calcium": "Ca",
    "aluminium": "Al",
    "acetate": "Acetate",
    "pyrogallol": "Pg",
    "catechol": "Cat",
    "organic_acid": "A",
}
_OURS = ("Acetate", "Pg", "Cat")


def _own_reactions() -> str:
    """Return the reactions that are not in phreeqc.dat, in its input language."""
    lines = []
    known = group("speciation.species")
    for name in handbook_equilibria().reactions:
        reaction = known[name]["reaction"]
        if any(part in reaction for part in _OURS) or name == "A-":
            lines += [reaction, f"  log_k {value(f'speciation.species.{name}.log_k')}"]
            if "enthalpy" in known[name]:
                lines.append(f"  delta_h {value(f'speciation.species.{name}.enthalpy')} kJ")
    return "\n".join(lines)


@functools.cache
def program() -> phreeqpython.PhreeqPython:
    """Return the reference program with phreeqc.dat and our further reactions."""
    out = phreeqpython.PhreeqPython(database="phreeqc.dat")
    out.ip.run_string(_MASTERS + _own_reactions() + "\nEND\n")
    return out


def solution(*, celsius: float = 25.0, **amounts: float) -> phreeqpython.solution.Solution:
    """Solve totals (mol/kg, the names of ``Totals``) with pH from the charge balance."""
    text: dict[str, object] = {"units": "mol/kgw", "temp": celsius, "pe": 4, "pH": "7 charge"}
    text.update({_KEYS[name]: amount for name, amount in amounts.items() if amount})
    return program().add_solution(text)


def saturation(phase: str, *, celsius: float = 25.0, **amounts: float) -> float:
    """Return PHREEQC's own saturation index, from its selected output.

    The wrapper's ``solution.si`` takes the activity of water as 1, which is off
    by 0.016 for melanterite in 0.2 mol/kg vitriol.
    """
    lines = [f"{_KEYS[name]} {amount}" for name, amount in amounts.items() if amount]
    text = f"units mol/kgw\ntemp {celsius}\npe 4\npH 7 charge\n" + "\n".join(lines)
    own = phreeqpython.PhreeqPython(database="phreeqc.dat")
    own.ip.run_string(f"SELECTED_OUTPUT\n-reset false\n-si {phase}\nSOLUTION 1\n{text}\nEND\n")
    heads, *rows = own.ip.get_selected_output_array()
    return float(rows[-1][heads.index(f"si_{phase}")])
