"""Every reading that a maker may record teaches something: told at the truth it narrows, told higher it lifts."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from inkhorn.daybook.entries import Reading
from inkhorn.daybook.readings import FORMS
from inkhorn.estimate.posterior import sample_posterior
from inkhorn.estimate.problem import make_problem
from inkhorn.replay import predict
from inkhorn.replay.draws import Draws, standard_normal
from inkhorn.replay.fold import make_plan, play
from support.daybooks import recorded

BENCH: list[dict[str, Any]] = [
    {"at": "2026-08-20T10:00", "kind": "gather", "lot": "sumac-leaf", "material": "sumac leaf", "amount": "about 900 g"},
    {"at": "2026-08-20T10:05", "kind": "gather", "lot": "vitriol", "material": "bought green vitriol", "amount": "about 250 g"},
    {"at": "2026-08-20T10:10", "kind": "gather", "lot": "gum", "material": "gum arabic", "amount": "120 g"},
    {"at": "2026-08-20T10:15", "kind": "gather", "lot": "vinegar-1", "material": "vinegar", "amount": "1 L"},
    {"at": "2026-09-01T08:00", "kind": "pen", "name": "reed-2mm", "cut": "reed", "width": "2 mm"},
    {"at": "2026-09-01T08:05", "kind": "steep", "lot": "sumac-leaf", "amount": "200 g", "liquid": "rainwater", "liquid_amount": "about 2 L", "into": "tub", "for": "12 h", "pieces": "crushed"},
    {"at": "2026-09-02T08:00", "kind": "strain", "vessel": "tub", "into": "pot"},
    {"at": "2026-09-02T08:10", "kind": "pour", "from": "pot", "into": "crock", "amount": "half"},
    {"at": "2026-09-02T08:20", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "about 20 g"},
    {"at": "2026-09-02T08:30", "kind": "add", "into": "pot", "lot": "gum", "amount": "about 30 g"},
    {"at": "2026-09-02T08:40", "kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-parchment", "method": "line", "pen": "reed-2mm"},
    {"at": "2026-09-02T08:50", "kind": "add", "into": "pot", "liquid": "water", "amount": "about 400 ml"},
    {"at": "2026-09-02T09:00", "kind": "mark", "vessel": "pot", "trial": "t2", "support": "goat-parchment", "method": "line", "pen": "reed-2mm"},
    {"at": "2026-09-04T08:00", "kind": "reading", "of": "exemplar:page", "what": "optical_density", "value": {"R": 0.7, "G": 0.72, "B": 0.7}, "sd": 0.02},
]  # fmt: skip
POT, CROCK = "vessel:pot", "vessel:crock"
#: A reading of each sort, with the unit of its figure.
FIGURES: list[tuple[str, str, str, dict[str, Any]]] = [
    (POT, "mass", "g", {}),
    (POT, "volume", "ml", {"with": "jug"}),
    (POT, "temperature", "degC", {"with": "thermometer"}),
    (POT, "ph", "", {"with": "glass electrode"}),
    (POT, "specific_gravity", "", {}),
    (POT, "barkometer", "", {}),
    (POT, "brix", "", {}),
    (POT, "dry_residue", "g/L", {}),
    (POT, "viscosity", "mPa s", {}),
    (POT, "drop_mass", "g", {}),
    (POT, "ten_drops", "g", {"water": "0.50 g"}),
    (POT, "discharge", "s", {"with": "syringe", "water": "40 s"}),
    (POT, "total_iron", "mmol/L", {}),
    (POT, "total_phenols", "g/L", {}),
    (POT, "gum", "g/L", {}),
    ("lot:sumac-leaf", "mass", "g", {}),
    ("lot:vitriol", "volume", "ml", {}),
    ("lot:sumac-leaf", "total_phenols", "%", {}),
    ("lot:sumac-leaf", "dry_residue", "%", {}),
    ("lot:vitriol", "total_iron", "%", {}),
    ("lot:gum", "gum", "%", {}),
    ("lot:vinegar-1", "ph", "", {}),
    ("trial:t1", "line_width", "mm", {"with": "loupe"}),
    ("trial:t1", "raggedness", "mm", {"with": "loupe"}),
]
#: Words that speak for less and for more of what they are about.
WORDS = [
    (POT, "body", "watery", "drags"),
    (CROCK, "surface", "clear", "mould skin"),
    ("trial:t1", "depth", "far too pale", "far too dark"),
    ("trial:t1", "hue", "much bluer", "much browner"),
    ("trial:t1", "flow", "skips", "floods"),
    ("trial:t2", "than", "paler t1", "darker t1"),
    ("trial:t2", "than", "thinner t1", "thicker t1"),
    ("support:goat-parchment", "absorbency", "beads", "blots"),
]


def reading(of: str, what: str, said: Any, **more: Any) -> dict[str, Any]:
    """Return a reading made two days after the strokes (a week and more for a surface)."""
    at = "2026-09-09T10:00" if what == "surface" else "2026-09-04T10:00"
    return {"at": at, "kind": "reading", "of": of, "what": what, "value": said, **more}


def told(number: float, unit: str) -> str:
    """Write a figure with its unit."""
    return f"{number:.5g} {unit}".strip()


def foresaw(of: str, what: str, said: Any, **more: Any) -> np.ndarray:
    """Return what the prior foresees of a reading, on its scale, (N,)."""
    problem = make_problem(make_plan(recorded([*BENCH, reading(of, what, said, **more)])))
    played, _ = problem.played(problem.prior(3, 800))
    return played.predicted[len(BENCH) + 1]


def learnt(of: str, what: str, said: Any, **more: Any) -> np.ndarray:
    """Return what is foreseen of the same reading once it was made."""
    post = sample_posterior(make_plan(recorded([*BENCH, reading(of, what, said, **more)])), particles=400)
    return post.played.predicted[len(BENCH) + 1]


@pytest.mark.parametrize(("of", "what", "unit", "more"), FIGURES, ids=str)
def test_a_figure_narrows_what_it_is_of_and_pulls_its_own_way(
    of: str, what: str, unit: str, more: dict[str, Any]
) -> None:
    """A figure told where the prior's middle lies leaves it there and narrower; one told higher lifts it."""
    size = {"%": 100.0, "": 1.0}.get(unit, 1.0)
    trial_figure = told(1.0 if what == "specific_gravity" else 3.0, unit)
    before = foresaw(of, what, trial_figure, **more)[0]
    middle, spread = float(np.median(before)), float(before.std())
    turn = np.exp if what in predict.LOGARITHMIC else float
    at_truth = learnt(of, what, told(turn(middle) * size, unit), **more)[0]
    higher = learnt(of, what, told(turn(middle + 2 * spread) * size, unit), **more)[0]
    # A drop weighed once narrows by less than the sampling error of a spread, some 3 %.
    assert at_truth.std() < (1.0 if what == "drop_mass" else 0.97) * spread
    assert abs(at_truth.mean() - middle) < 0.5 * spread
    assert higher.mean() > at_truth.mean()


@pytest.mark.parametrize(("of", "what", "unit", "more"), FIGURES, ids=str)
def test_what_one_figure_leaves_is_that_of_weighed_draws(
    of: str, what: str, unit: str, more: dict[str, Any]
) -> None:
    """The sampler's middle and spread are those of draws of the prior weighed by the likelihood, reckoned without it."""
    size = {"%": 100.0, "": 1.0}.get(unit, 1.0)
    before = foresaw(of, what, told(1.0 if what == "specific_gravity" else 3.0, unit), **more)[0]
    turn = np.exp if what in predict.LOGARITHMIC else float
    said = told(turn(float(np.median(before))) * size, unit)
    problem = make_problem(make_plan(recorded([*BENCH, reading(of, what, said, **more)])))
    played, draws = problem.played(problem.prior(11, 4000))
    ll = problem.likelihood_of(played, draws)
    weights = np.exp(ll - ll.max()) / np.exp(ll - ll.max()).sum()
    there = played.predicted[len(BENCH) + 1][0]
    worth = 1.0 / np.sum(weights**2)
    mean = weights @ there
    sd = float(np.sqrt(weights @ (there - mean) ** 2))
    got = learnt(of, what, said, **more)[0]
    # numbers of draws behind both: three standard errors of a mean, and of a spread (with tails: half as many again)
    few = 1.0 / np.sqrt(min(worth, 300.0))
    assert abs(got.mean() - mean) < 3 * few * sd * np.sqrt(2)
    assert abs(np.log(got.std() / sd)) < 3 * few * 1.5


@pytest.mark.parametrize(("of", "what", "less", "more"), WORDS)
def test_a_word_pulls_its_own_way(of: str, what: str, less: str, more: str) -> None:
    """Opposite words about the same thing pull what is foreseen of it apart, each its own way."""
    assert learnt(of, what, less)[0].mean() < learnt(of, what, more)[0].mean()


def test_a_colour_narrows_the_colour() -> None:
    """Lab of a trial read at the prior's middle narrows all three of its numbers."""
    where = {"L": 40.0, "a": 1.0, "b": 2.0}
    before = foresaw("trial:t1", "lab", where, sd=1.0)
    there = dict(zip("Lab", np.median(before, axis=1).tolist(), strict=True))
    after = learnt("trial:t1", "lab", there, sd=1.0)
    assert np.all(after.std(axis=1) < 0.9 * before.std(axis=1))


def test_each_sort_of_reading_is_here_or_a_fact() -> None:
    """Nothing that may be read of a vessel, a trial or a support is left out: it is evidence, or a fact that stands."""
    asked = {(of.partition(":")[0], what) for of, what, *_ in [*FIGURES, *WORDS]}
    asked |= {("trial", "lab"), ("trial", "optical_density"), ("trial", "photo")}
    facts = {("support", "lab"), ("support", "side")}
    for sort in ("vessel", "trial", "support"):
        for what in FORMS[sort]:
            assert (sort, what) in asked | facts, f"{what} of a {sort}"


@pytest.mark.parametrize(
    ("of", "what", "said"), [("lot:sumac-leaf", "ph", "3.5"), ("lot:gum", "total_iron", "5 %")]
)
def test_what_cannot_be_foreseen_is_said(of: str, what: str, said: str) -> None:
    """A reading of which nothing can be foreseen is kept, and why it teaches nothing is told in words."""
    plan = make_plan(recorded([*BENCH, reading(of, what, said)]))
    assert [e.number for e in plan.idle] == [len(BENCH) + 1]
    idle = plan.idle[0].entry
    assert isinstance(idle, Reading)
    assert what.replace("_", " ").removeprefix("total ") in predict.why_idle(idle, plan.scene)


def test_a_support_that_drinks_pales_the_stroke() -> None:
    """A support said to blot is taken to drink more; one that drinks more shows a wider line, and mostly a paler one.

    Not always paler: ink that sinks meets chalk as well, which sweetens a sour film.
    """
    width = {**reading("trial:t1", "line_width", "2 mm", sd="9 mm"), "at": "2026-09-04T11:00"}
    dark = reading("trial:t1", "optical_density", {"R": 0.5, "G": 0.5, "B": 0.5}, sd=9.0)
    thirst, drinks = "support:goat-parchment/uptake", {}
    for word in ("beads", "blots"):
        said = reading("support:goat-parchment", "absorbency", word)
        post = sample_posterior(make_plan(recorded([*BENCH, said, width, dark])), particles=600)
        drinks[word] = np.median(post.z[list(post.problem.unknowns).index(thirst)])
    assert drinks["blots"] > drinks["beads"] + 0.5
    plan, shown = make_plan(recorded([*BENCH, width, dark])), {}
    for place in (-1.0, 1.0):
        z = np.array(
            [np.full(200, place) if n == thirst else standard_normal(3, n, 200) for n in plan.unknowns]
        )
        shown[place] = play(plan, Draws(plan.unknowns, z)).predicted
    assert np.all(shown[1.0][len(BENCH) + 1] > shown[-1.0][len(BENCH) + 1])
    assert np.mean(shown[1.0][len(BENCH) + 2] < shown[-1.0][len(BENCH) + 2]) > 0.9
