"""What an estimate takes: entries, readings, unknowns, seconds, effective draws.

Run: ``python benchmarks/estimate.py``. Invented daybooks whose readings are what one
draw of the prior foresees; wall and processor seconds of one full estimate.
"""

from __future__ import annotations

import platform
import time

import numpy as np
from long_daybook import long_plan

from inkhorn.estimate.posterior import sample_posterior
from inkhorn.estimate.problem import make_problem


def main() -> None:
    """Print one row a size of daybook."""
    print(
        f"{platform.processor() or platform.machine()}, Python {platform.python_version()}, numpy {np.__version__}, seed 0"
    )
    print(
        "entries readings unknowns | one evaluation s | estimate s (cpu) | stages moves | effective of 1024"
    )
    for batches in (1, 3, 6):
        plan = long_plan(batches)
        problem = make_problem(plan)
        z = problem.prior(0, 1024)
        problem.log_likelihood(z)
        start = time.perf_counter()
        problem.log_likelihood(z)
        once = time.perf_counter() - start
        start, cpu = time.perf_counter(), time.process_time()
        post = sample_posterior(plan)
        wall, cpu = time.perf_counter() - start, time.process_time() - cpu
        moves = sum(r.moves for r in post.reports)
        print(
            f"{len(plan.entries):7d} {len(plan.evidence):8d} {len(problem.unknowns):8d} | {once:16.3f} | "
            f"{wall:10.1f} ({cpu:.1f}) | {len(post.reports):6d} {moves:5d} | {post.ess:9.0f}"
        )


if __name__ == "__main__":
    main()
