"""Speciation against PHREEQC (phreeqpython, phreeqc.dat): agreement and solves a second.

Run with ``python benchmarks/model_speciation.py``; the same pots go to both.
"""

from __future__ import annotations

import platform
import time

import numpy as np
import phreeqpython

from inkhorn.chemistry.speciation import Totals, solve

SEED = 20260912
PEER = 400  # pots given to the slower program
OURS = 20_000
TOPS = {
    "vitriol and acid": {"iron2": 0.3, "sulfate": 0.3},
    "vitriol, part oxidised": {"iron2": 0.2, "iron3": 0.02, "sulfate": 0.3},
    "with chloride, chalk, alum": {
        "iron2": 0.2,
        "iron3": 0.02,
        "sulfate": 0.3,
        "chloride": 0.05,
        "calcium": 0.01,
        "aluminium": 0.02,
        "carbonate": 0.005,
    },
}
KEYS = {
    "iron2": "Fe(2)",
    "iron3": "Fe(3)",
    "sulfate": "S(6)",
    "chloride": "Cl",
    "carbonate": "C(4)",
    "calcium": "Ca",
    "aluminium": "Al",
}


def pots(tops: dict[str, float], n: int) -> dict[str, np.ndarray]:
    """Draw pots up to the given strengths, with sulfate enough to be acid."""
    rng = np.random.default_rng(SEED)
    out = {name: top * rng.random(n) for name, top in tops.items()}
    out["sulfate"] += out["iron2"] + 1.5 * out.get("iron3", 0.0) + 1.5 * out.get("aluminium", 0.0)
    return out


def peer(amounts: dict[str, np.ndarray], n: int) -> tuple[list[float], list[dict[str, float]], float]:
    """Solve the first ``n`` pots one by one; pH, molalities, seconds."""
    program = phreeqpython.PhreeqPython(database="phreeqc.dat")
    ph, species = [], []
    start = time.perf_counter()
    for i in range(n):
        text = {"units": "mol/kgw", "temp": 25, "pe": 4, "pH": "7 charge"}
        text |= {KEYS[name]: float(values[i]) for name, values in amounts.items()}
        solution = program.add_solution(text)
        ph.append(solution.pH)
        species.append(dict(solution.species_molalities))
        solution.forget()
    return ph, species, time.perf_counter() - start


def ours(amounts: dict[str, np.ndarray]) -> float:
    """Seconds for all pots, best of three."""
    best = np.inf
    for _ in range(3):
        start = time.perf_counter()
        solve(Totals(**amounts))
        best = min(best, time.perf_counter() - start)
    return best


def main() -> None:
    """Print one line a kind of pot."""
    print(f"{platform.processor() or platform.machine()}, python {platform.python_version()}, seed {SEED}")
    print(f"{'pots':28} {'peer /s':>9} {'ours /s':>9} {'ratio':>7} {'max dpH':>9} {'max species':>12}")
    solve(Totals(iron2=0.1, sulfate=0.1))  # compile
    for kind, tops in TOPS.items():
        amounts = pots(tops, OURS)
        ph, species, seconds = peer(amounts, PEER)
        got = solve(Totals(**{name: values[:PEER] for name, values in amounts.items()}))
        worst = max(
            abs(float(got.species[name][i]) / m - 1)
            for i, molalities in enumerate(species)
            for name, m in molalities.items()
            if name in got.species and m > 1e-4
        )
        dph = float(np.max(np.abs(got.ph - ph)))
        theirs, mine = PEER / seconds, OURS / ours(amounts)
        print(f"{kind:28} {theirs:9.0f} {mine:9.0f} {mine / theirs:7.1f} {dph:9.5f} {100 * worst:10.3f} %")


if __name__ == "__main__":
    main()
