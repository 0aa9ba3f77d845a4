"""An ink made again from other lots in workshops whose physics is not the model's own."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.counsel.again import make
from inkhorn.counsel.again.choose import choose
from inkhorn.counsel.again.net import net_recipe
from inkhorn.handbook.load import value
from inkhorn.simulate.workshops import exemplar_entries, random_workshop
from inkhorn.workshop import Workshop
from support.again_maker import Follower


def made_again(folder, seed, years):
    """Return the true distances from the first ink, by checkpoints and by weights, a row a year."""
    deal = random_workshop(seed)
    with Workshop.create(folder / str(seed)) as shop:
        for entry in [*exemplar_entries(deal.exemplar, deal.entries[0]["at"]), *deal.entries]:
            shop.record(entry)
        post = shop._posterior(0)
    recipe, net = make.again(post, "pot").to_dict(), net_recipe(post, "pot")
    found = choose(post, net, only=make.BY_WEIGHT)
    steep = next(s["entry"] for s in recipe["steps"] if s["entry"]["kind"] == "steep")
    scale = float(steep["amount"].split()[0]) / net.soaks[0].grams
    out = []
    for year in range(years):
        ended, weighed = (
            Follower(
                truth=deal.truth,
                first="pot",
                support="skin-1",
                year=f"y{year}",
                parts=found.kitchen.eye.parts,
            )
            for _ in range(2)
        )
        out.append(
            (
                ended.distance(ended.follow(recipe)),
                weighed.distance(weighed.by_weight(recipe, net, found.marks.volume, scale)),
            )
        )
    return out


def test_checkpoints_come_nearer_than_weights(tmp_path):
    """Over a few workshops and years the ink made by checkpoints is nearer to the first, at the median and at worst."""
    rows = np.array([row for seed in range(1, 6) for row in made_again(tmp_path, seed, 3)])
    assert np.median(rows[:, 0]) < np.median(rows[:, 1])
    assert rows[:, 0].max() < rows[:, 1].max()


@pytest.mark.benchmark
def test_checkpoints_match_more_often_than_weights(tmp_path):
    """Over 24 workshops and three years each, more inks match by checkpoints than by weights."""
    rows = np.array([row for seed in range(24) for row in made_again(tmp_path, seed, 3)])
    near = (rows <= value("counsel.match")).mean(axis=0)
    assert near[0] > near[1]
