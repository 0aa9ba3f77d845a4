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
from inkhorn.handbook.load import value
from inkhorn.simulate.workshops import exemplar_entries, random_workshop
from inkhorn.workshop import Workshop
from support.again_maker import Follower, keeps


def one(seed: int, years: int) -> tuple[list[float], list[float], list[bool], list[bool], float, float]:
    """Return one workshop's ink made again: true distances by checkpoints and by weights, limits kept, chances told."""
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
    ended, weighed, kept, kept_too = [], [], [], []
    pen = f"pens.{found.kitchen.eye.hand.pen_kind or 'goose-quill'}"
    limits = (value(f"{pen}.flow_low"), value(f"{pen}.flow_high"), value("permanence.iron_to_capacity.limit"))
    for year in range(years):
        maker = Follower(truth=deal.truth, first="pot", support="skin-1", year=f"y{year}", parts=parts)
        pot = maker.follow(recipe)
        ended.append(maker.distance(pot))
        kept.append(keeps(maker.truth, pot, *limits))
        other = Follower(truth=deal.truth, first="pot", support="skin-1", year=f"y{year}", parts=parts)
        pot = other.by_weight(recipe, net, found.marks.volume, scale)
        weighed.append(other.distance(pot))
        kept_too.append(keeps(other.truth, pot, *limits))
    return ended, weighed, kept, kept_too, recipe["chance"]["match"], recipe["by_weight"]["match"]


def main() -> None:
    """Print one line a workshop, then the shares that match."""
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 24
    years = int(sys.argv[2]) if len(sys.argv) > 2 else 3
    rows = []
    for seed in range(seeds):
        rows.append(one(seed, years))
        ended, weighed, _, _, told, told_too = rows[-1]
        print(
            f"{seed:3d}  checkpoints {np.round(ended, 1)}  weights {np.round(weighed, 1)}  told {told:.2f} and {told_too:.2f}",
            flush=True,
        )
    ended, weighed, kept, kept_too, told, told_too = (np.array([r[i] for r in rows]) for i in range(6))
    for near in (value("counsel.match"), 4.0):
        print(
            f"within {near}: checkpoints {np.mean(ended <= near):.2f}, weights {np.mean(weighed <= near):.2f}"
        )
    print(f"median distance: checkpoints {np.median(ended):.2f}, weights {np.median(weighed):.2f}")
    print(f"nearer by checkpoints in {np.mean(ended < weighed):.2f} of {ended.size}")
    match = value("counsel.match")
    both = [((d <= match) & k).mean() for d, k in ((ended, kept), (weighed, kept_too))]
    print(
        f"match, flow and iron limit together: checkpoints {both[0]:.2f} (told {told.mean():.2f}), "
        f"weights {both[1]:.2f} (told {told_too.mean():.2f})"
    )


if __name__ == "__main__":
    main()
