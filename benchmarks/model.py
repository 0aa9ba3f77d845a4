"""The forward model: seconds of a replay against entries and draws, one core; then speciation against PHREEQC.

Run with ``python benchmarks/model.py`` (``--replay`` leaves the speciation out). Times are processor time, the least of several runs, so
that a busy machine counts for little; draws are the same in each run. A replay of 200 entries for 4,096 draws without
readings of pH should stay under 0.08 s.
"""

# ruff: noqa: E402
from __future__ import annotations

import os

# One core: linear algebra must not spread a product of small matrices over the machine.
for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

if hasattr(os, "sched_setaffinity"):
    os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})  # speciation would use every core there is

import platform
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

import long_daybook
import model_speciation

from inkhorn.replay.draws import Draws, standard_normal
from inkhorn.replay.fold import Plan, make_plan, play

SEED = 1
GOAL_ENTRIES, GOAL_DRAWS, GOAL_SECONDS = 200, 4096, 0.08
ENTRIES = (50, 100, 200, 400)
DRAWS = (1, 256, 1024, 4096, 16384)
RUNS = 7


def plan_of(count: int, *, acidity: bool = False) -> Plan:
    """Return a plan of so many entries, with or without its readings of pH."""
    raws = long_daybook.entries(2 + count // 20)
    kept = [raw for raw in raws if acidity or raw.get("what") != "ph"]
    return make_plan(long_daybook.recorded(kept[:count]))


def seconds(plan: Plan, draws: int, runs: int = RUNS) -> float:
    """Return the processor time of one warm replay, the least of several."""
    z = np.array([standard_normal(SEED, name, draws) for name in plan.unknowns])
    play(plan, Draws(plan.unknowns, z))
    took = []
    for _ in range(runs):
        start = time.process_time()
        play(plan, Draws(plan.unknowns, z))
        took.append(time.process_time() - start)
    return min(took)


def growth(sizes: tuple[int, ...], times: list[float]) -> float:
    """Return the power of size that the times grow with over the upper half of the sizes: 1 is linear."""
    half = len(sizes) // 2
    return float(np.polyfit(np.log(sizes[half:]), np.log(times[half:]), 1)[0])


def replay() -> None:
    """Print the times of a replay against entries and against draws."""
    print(f"\n{'entries':>8} {'unknowns':>9} {'ms at ' + str(GOAL_DRAWS):>12} {'ms an entry':>12}")
    times = []
    for count in ENTRIES:
        plan = plan_of(count)
        times.append(seconds(plan, GOAL_DRAWS))
        print(
            f"{len(plan.entries):8} {len(plan.unknowns):9} {1e3 * times[-1]:12.1f} {1e3 * times[-1] / count:12.3f}"
        )
    print(f"grows with the power {growth(ENTRIES, times):.2f} of the entries")

    plan, times = plan_of(GOAL_ENTRIES), []
    print(f"\n{'draws':>8} {'ms for ' + str(GOAL_ENTRIES):>12} {'us a draw':>12}")
    for draws in DRAWS:
        times.append(seconds(plan, draws))
        print(f"{draws:8} {1e3 * times[-1]:12.1f} {1e6 * times[-1] / draws:12.2f}")
    print(f"grows with the power {growth(DRAWS, times):.2f} of the draws")

    warm = times[DRAWS.index(GOAL_DRAWS)]
    told = "met" if warm < GOAL_SECONDS else "not met"
    print(
        f"\n{GOAL_ENTRIES} entries, {GOAL_DRAWS} draws: {warm:.3f} s against a goal of {GOAL_SECONDS} s: {told}"
    )
    with_ph = plan_of(GOAL_ENTRIES, acidity=True)
    readings = sum(getattr(e.entry, "what", "") == "ph" for e in with_ph.entries)
    print(f"with {readings} readings of pH among them: {seconds(with_ph, GOAL_DRAWS, 2):.2f} s")


def main() -> None:
    """Print everything."""
    print(
        f"{platform.processor() or platform.machine()}, python {platform.python_version()}, seed {SEED}, one core"
    )
    replay()
    if "--replay" not in sys.argv:
        print("\nspeciation against PHREEQC")
        model_speciation.main()


if __name__ == "__main__":
    main()
