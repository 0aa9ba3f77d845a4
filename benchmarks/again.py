"""Make again, followed with other lots: endpoint recipes against the same recipes by fixed weights.

Make-believe workshops of `inkhorn.simulate`, whose physics is not the model's.
Of each the ink in the pot is made again, in several other years whose leaf, salt
and gum have strengths of their own, once by the recipe's checkpoints and once by
weight and measure alone.

    python benchmarks/again.py [SEEDS] [YEARS]
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from inkhorn.counsel.again import make
from inkhorn.counsel.again.choose import choose
from inkhorn.counsel.again.net import net_recipe
from inkhorn.estimate.posterior import sample_posterior
from inkhorn.simulate.workshops import exemplar_entries, random_workshop
from inkhorn.workshop import Workshop
from support.again_maker import Follower


def one(seed: int, years: int) -> tuple[list[float], list[float], float, float]:
    """Return the true distances of one workshop's ink made again, by checkpoints and by weights, and what was promised."""
    deal = random_workshop(seed)
    with tempfile.TemporaryDirectory() as folder, Workshop.create(Path(folder) / "w") as shop:
        for entry in [*exemplar_entries(deal.exemplar, deal.entries[0]["at"]), *deal.entries]:
            shop.record(entry)
        post = sample_posterior(shop._plan())  # noqa: SLF001 - the plan of a workshop as it stands
    recipe = make.again(post, "pot").to_dict()
    net = net_recipe(post, "pot")
    found = choose(post, net, only=make.BY_WEIGHT)
    steeped = next(s["entry"] for s in recipe["steps"] if s["entry"]["kind"] == "steep")
    scale = float(steeped["amount"].split()[0]) / net.soaks[0].grams
    parts = found.kitchen.eye.parts
    ended, weighed = [], []
    for year in range(years):
        maker = Follower(truth=deal.truth, first="pot", support="skin-1", year=f"y{year}", parts=parts)
        ended.append(maker.distance(maker.follow(recipe)))
        other = Follower(truth=deal.truth, first="pot", support="skin-1", year=f"y{year}", parts=parts)
        weighed.append(other.distance(other.by_weight(recipe, net, found.marks.volume, scale)))
    return ended, weighed, recipe["chance"]["match"], recipe["by_weight"]["match"]


def main() -> None:
    """Print one line a workshop, then the shares that match."""
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 24
    years = int(sys.argv[2]) if len(sys.argv) > 2 else 3
    rows = []
    for seed in range(seeds):
        ended, weighed, promised, by_weight = one(seed, years)
        rows.append((ended, weighed))
        print(
            f"{seed:3d}  checkpoints {np.round(ended, 1)}  weights {np.round(weighed, 1)}  "
            f"told {promised:.2f} and {by_weight:.2f}"
        )
    by_end, by_weight_all = (np.array([r[i] for r in rows]) for i in (0, 1))
    for match in (2.5, 4.0):
        print(
            f"within {match}: checkpoints {np.mean(by_end <= match):.2f}, weights {np.mean(by_weight_all <= match):.2f}"
        )
    print(f"median distance: checkpoints {np.median(by_end):.2f}, weights {np.median(by_weight_all):.2f}")
    print(f"nearer by checkpoints in {np.mean(by_end < by_weight_all):.2f} of {by_end.size}")


if __name__ == "__main__":
    main()
