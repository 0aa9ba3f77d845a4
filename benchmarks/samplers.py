"""The sampler against emcee on the same log-density: agreement, and effective samples a second.

Run: ``python benchmarks/samplers.py [STEPS]`` (6000 if left out). Three invented workshops; eight main figures of each.
emcee (Foreman-Mackey and others 2013) uses differential-evolution moves (ter Braak 2006), its effective number is
that of its own autocorrelation times; ours is the one that the sampler reports. No-U-turn sampling is left out: the
replay has no derivative to give it.
"""

from __future__ import annotations

import os

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

import sys  # noqa: E402
import time  # noqa: E402
from concurrent.futures import ProcessPoolExecutor  # noqa: E402
from pathlib import Path  # noqa: E402

import attrs  # noqa: E402
import emcee  # noqa: E402
import numpy as np  # noqa: E402

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from inkhorn.estimate import smc  # noqa: E402
from inkhorn.estimate.problem import Problem  # noqa: E402
from inkhorn.handbook.load import row  # noqa: E402
from support.calibrated import main_figures, small_bench, told  # noqa: E402

PARTICLES = 4096


def workshop(seed: int) -> Problem:
    """Return the small bench with readings drawn of one truth."""
    base, rng = small_bench(), np.random.default_rng(seed)
    played, _ = base.played(rng.standard_normal((len(base.unknowns), 1)))
    sizes = {d: float(row(f"misfit.{d}").at(rng.standard_normal(1))[0]) for d in base.doubts}
    return attrs.evolve(
        base, evidence=tuple(told(i, played.predicted[i.number][:, 0], sizes, rng) for i in base.evidence)
    )


def figures(problem: Problem, z: np.ndarray) -> np.ndarray:
    """Return the main figures, as logarithms but for pH, (8, N)."""
    found = main_figures(*problem.played(z))
    return np.stack([x if name == "pH" else np.log(np.maximum(x, 1e-12)) for name, x in found.items()])


def one(job: tuple[int, int]) -> dict[str, object]:
    """Sample one workshop by both."""
    seed, steps = job
    problem = workshop(seed)
    d = len(problem.unknowns)
    walkers = 3 * d
    problem.log_likelihood(np.zeros((d, 2)))
    start = time.process_time()
    ours = smc.sample(problem, problem.prior(seed, PARTICLES), np.random.default_rng(seed))
    took = time.process_time() - start

    def log_posterior(z: np.ndarray) -> np.ndarray:
        columns = np.ascontiguousarray(z.T)
        return problem.log_likelihood(columns) - np.sum(columns**2, axis=0) / 2

    start = time.process_time()
    sampler = emcee.EnsembleSampler(
        walkers,
        d,
        log_posterior,
        vectorize=True,
        moves=[(emcee.moves.DEMove(), 0.9), (emcee.moves.DEMove(gamma0=1.0), 0.1)],
    )
    sampler._random = np.random.RandomState(seed)  # noqa: SLF001 - emcee's way to be seeded
    # Both begin well: emcee from the prior would only lose time.
    sampler.run_mcmc(ours.z[:, :walkers].T, steps, skip_initial_state_check=True)
    theirs_took = time.process_time() - start
    chain = sampler.get_chain(discard=steps // 4)
    theirs = np.stack([figures(problem, np.ascontiguousarray(part.T)) for part in chain[::10]])  # (T, 8, W)
    times = 10 * emcee.autocorr.integrated_time(np.moveaxis(theirs, 1, 2), quiet=True)
    effective = walkers * chain.shape[0] / times
    mine, flat = figures(problem, ours.z), np.moveaxis(theirs, 1, 0).reshape(8, -1)
    return {
        "unknowns": d,
        "shift": (mine.mean(axis=1) - flat.mean(axis=1)) / flat.std(axis=1),
        "ratio": mine.std(axis=1) / flat.std(axis=1),
        "ours": (ours.ess, took),
        "theirs": (float(effective.min()), theirs_took),
    }


def main() -> None:
    """Print agreement and speed."""
    steps = int(sys.argv[1]) if len(sys.argv) > 1 else 6000
    with ProcessPoolExecutor() as pool:
        found = list(pool.map(one, [(seed, steps) for seed in (1, 2, 3)]))
    print(
        f"emcee {emcee.__version__}, three walkers an unknown, {steps} steps; ours {PARTICLES} particles; processor seconds"
    )
    print(
        "unknowns | largest shift of a mean, sd | sd ratio | effective, a second: ours | emcee (least figure) | times"
    )
    for f in found:
        (e1, t1), (e2, t2) = f["ours"], f["theirs"]
        print(
            f"{f['unknowns']:8d} | {np.abs(f['shift']).max():27.3f} | {f['ratio'].min():.2f}-{f['ratio'].max():.2f} | "
            f"{e1:8.0f} in {t1:4.0f} s, {e1 / t1:6.1f} | {e2:8.0f} in {t2:4.0f} s, {e2 / t2:6.1f} | {e1 / t1 / (e2 / t2):5.1f}"
        )


if __name__ == "__main__":
    main()
