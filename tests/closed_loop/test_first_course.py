"""The main job on make-believe workshops whose physics is not the model's own.

`inkhorn.simulate` has other laws and spectra than `inkhorn.replay`; what holds
here holds against a wrong model, as it must at a real bench.
"""

from __future__ import annotations

import json
from importlib import resources

import jsonschema
import numpy as np
import pytest

from inkhorn.simulate.workshops import exemplar_entries, random_workshop
from inkhorn.workshop import Workshop

#: Ten workshops on every change, thirty as a study. A counsel that did nothing would leave every ratio at 1.
SEEDS = [pytest.param(range(10), id="ten"), pytest.param(range(30), id="thirty", marks=pytest.mark.benchmark)]


def schema(name):
    """Return a documented schema of an answer."""
    return json.loads((resources.files("inkhorn.web") / "schemas" / f"{name}.json").read_text("utf-8"))


@pytest.fixture(scope="module", params=SEEDS)
def played(request, tmp_path_factory):
    """For each seed: true distance before and after the first course, and the answers given."""
    out = []
    for seed in request.param:
        deal = random_workshop(seed)
        with Workshop.create(tmp_path_factory.mktemp("dealt") / str(seed)) as shop:
            for entry in [*exemplar_entries(deal.exemplar, deal.entries[0]["at"]), *deal.entries]:
                shop.record(entry)
            counsel = shop.counsel("pot", "page").to_dict()
            estimate = shop.estimate().to_dict()
        before = deal.truth.distance("pot", "page")
        after = before
        if counsel["courses"]:
            then, first = deal.truth.copy(), counsel["courses"][0]
            for action in first["actions"]:
                then.apply(dict(action))
            after = then.distance(first["vessel"], "page")
        out.append((before, after, counsel, estimate, deal.truth.true("pot")))
    return out


def test_first_course_halves_the_true_distance(played):
    """At the median workshop the first course at least halves the true distance to the page."""
    ratios = [after / before for before, after, *_ in played]
    assert np.median(ratios) <= 0.5


def test_no_course_does_great_harm(played):
    """Following the first course hardly ever makes the pot worse, and never by half."""
    ratios = np.array([after / before for before, after, *_ in played])
    assert (ratios > 1.1).mean() <= 0.1
    assert ratios.max() < 1.5


def test_answers_keep_to_their_schema(played):
    """Each counsel and estimate validates against its documented schema."""
    for _, _, counsel, estimate, _ in played:
        jsonschema.validate(counsel, schema("counsel"))
        jsonschema.validate(estimate, schema("estimate"))


def test_no_amount_is_impossible(played):
    """Counsel never asks for a negative amount, nor for more than one thing of a kind at once."""
    for _, _, counsel, *_ in played:
        for course in counsel["courses"]:
            assert course["actions"]
            for action in course["actions"]:
                told = action.get("amount") or action.get("to")
                assert float(told.split()[0]) > 0
            kinds = [tuple(sorted(a.items())) for a in course["actions"]]
            assert len(kinds) == len(set(kinds))


def test_estimate_covers_the_truth_more_often_than_not(played):
    """Nine-in-ten bands of iron, capacity and volume hold the truth of another physics at least 70 % of the time."""
    for name in ("iron_total", "iron_capacity", "volume"):
        inside = [
            estimate["vessels"]["pot"][name]["p05"] <= true[name] <= estimate["vessels"]["pot"][name]["p95"]
            for *_, estimate, true in played
        ]
        assert np.mean(inside) >= 0.7, name
