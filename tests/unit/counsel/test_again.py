"""An ink made again: what its daybook comes to, which new lots are tried, and what a recipe says."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import inkhorn
from inkhorn.counsel.again import make, words
from inkhorn.counsel.again.checkpoints import READINGS
from inkhorn.counsel.again.choose import choose
from inkhorn.counsel.again.lots import new_draws, picked
from inkhorn.counsel.again.net import net_recipe
from inkhorn.counsel.again.result import told_once
from inkhorn.counsel.again.rule import Rule
from inkhorn.daybook.wire import decode
from inkhorn.errors import CounselError
from inkhorn.estimate.posterior import Posterior, from_particles, sample_posterior
from inkhorn.estimate.problem import make_problem
from inkhorn.handbook.cautions import caution
from inkhorn.handbook.load import value
from inkhorn.replay import composition
from inkhorn.replay.fold import make_plan
from support.answers import faults
from support.daybooks import recorded

# An invented ink, measured out, so that nothing is left to the eye.
PLAIN: list[dict[str, Any]] = [
    {"at": "2026-09-12T10:00", "kind": "gather", "lot": "leaf", "material": "sumac leaf", "amount": "500 g", "source": "Wick Holm"},
    {"at": "2026-09-12T10:01", "kind": "gather", "lot": "vitriol", "material": "bought green vitriol", "amount": "200 g"},
    {"at": "2026-09-12T10:02", "kind": "gather", "lot": "gum", "material": "plum gum", "amount": "60 g"},
    {"at": "2026-09-12T10:15", "kind": "steep", "lot": "leaf", "amount": "200 g", "liquid": "spring water", "liquid_amount": "2000 ml", "into": "tub", "for": "18 h", "temperature": "17 degC", "pieces": "crushed"},
    {"at": "2026-09-13T05:00", "kind": "strain", "vessel": "tub", "into": "pot"},
    {"at": "2026-09-13T09:00", "kind": "reduce", "vessel": "pot", "to": "800 ml"},
    {"at": "2026-09-13T15:00", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "12 g"},
    {"at": "2026-09-13T15:05", "kind": "add", "into": "pot", "lot": "gum", "amount": "20 g"},
    {"at": "2026-09-14T10:00", "kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-1", "method": "line", "pen": "reed-3mm"},
    {"at": "2026-09-15T10:00", "kind": "reading", "of": "trial:t1", "what": "optical_density", "value": {"R": 0.9, "G": 0.95, "B": 0.92}, "sd": 0.03},
]  # fmt: skip
MENDED: list[dict[str, Any]] = [
    *PLAIN[:6],
    {"at": "2026-09-13T15:00", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "6 g"},
    {"at": "2026-09-13T15:05", "kind": "add", "into": "pot", "lot": "gum", "amount": "20 g"},
    {"at": "2026-09-13T15:30", "kind": "pour", "from": "pot", "into": "jar", "amount": "1/2"},
    {"at": "2026-09-13T16:00", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "3 g"},
    {"at": "2026-09-13T16:10", "kind": "add", "into": "pot", "liquid": "spring water", "amount": "100 ml"},
    {"at": "2026-09-13T17:00", "kind": "reduce", "vessel": "pot", "to": "300 ml"},
    {"at": "2026-09-14T10:00", "kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-1", "method": "line", "pen": "reed-3mm"},
]  # fmt: skip


def posterior(entries: list[dict[str, Any]], particles: int = 256) -> Posterior:
    """Return the posterior of some entries."""
    return sample_posterior(make_plan(recorded(entries)), particles=particles)


@pytest.fixture(scope="module")
def plain() -> Posterior:
    """Return the posterior of the plain ink."""
    return posterior(PLAIN)


# ---------------------------------------------------------------- what the daybook comes to


def test_plain_record_is_its_own_net_recipe(plain: Posterior) -> None:
    """Without corrections the recipe is what was done, but for what scale and jug err by."""
    net = net_recipe(plain, "pot")
    assert [(s.grams, s.ml) for s in net.soaks] == [(200, pytest.approx(2000, rel=0.01))]
    assert [(d.lot, d.role) for d in net.doses] == [("vitriol", "iron salt"), ("gum", "gum")]
    assert [d.grams for d in net.doses] == [pytest.approx(12, rel=0.03), pytest.approx(20, rel=0.03)]
    assert net.rest > 3600
    assert net.folded == ()
    assert net.cannot == ()


def test_corrections_are_folded_away() -> None:
    """Half poured away halves what went in before; doses add up; water and boiling come down to one volume."""
    net = net_recipe(posterior(MENDED, 64), "pot")
    assert net.soaks[0].grams == pytest.approx(100, rel=0.1)
    assert net.soaks[0].ml == pytest.approx(1000, rel=0.1)
    doses = {d.lot: d.grams for d in net.doses}
    assert doses == {"vitriol": pytest.approx(6.0, rel=0.1), "gum": pytest.approx(10.0, rel=0.1)}
    assert net.volume == pytest.approx(300, rel=0.1)
    assert len(net.folded) == 3


@pytest.mark.parametrize("entries", [PLAIN, MENDED], ids=["plain", "mended"])
def test_folding_keeps_the_ink(entries: list[dict[str, Any]]) -> None:
    """The net recipe with the very same lots gives the first ink: nearer than anybody sees, nothing being in doubt."""
    problem = make_problem(make_plan(recorded(entries)))
    sure = from_particles(
        problem, 0, np.zeros((len(problem.unknowns), 4)), family=np.arange(4), ess=4.0, log_evidence=0.0
    )
    assert choose(sure, net_recipe(sure, "pot"), draws=4, only=Rule()).fold < 0.8


def test_a_trial_is_the_ink_as_it_was() -> None:
    """What came after a trial does not belong to its ink."""
    later = [
        *PLAIN,
        {"at": "2026-09-16T10:00", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "30 g"},
    ]
    post = posterior(later, 64)
    doses = {d.lot: d.grams for d in net_recipe(post, "pot", "t1").doses}
    assert doses["vitriol"] == pytest.approx(12, rel=0.05)
    assert {d.lot: d.grams for d in net_recipe(post, "pot").doses}["vitriol"] == pytest.approx(42, rel=0.05)


def test_brought_liquor_cannot_be_made_again() -> None:
    """A liquor of unknown make is said to be one, and the recipe is written all the same."""
    brought = [
        {
            "at": "2026-09-12T10:10",
            "kind": "bring",
            "vessel": "pot",
            "material": "sumac leaf",
            "amount": "300 ml",
        },
        *PLAIN,
    ]
    recipe = make.again(posterior(brought, 64), "pot")
    assert any("unknown make" in text for text in recipe.cannot)
    assert "Cannot be made again" in recipe.text()


def test_iron_drawn_by_vinegar_is_made_beside() -> None:
    """A liquor of iron and vinegar keeps its own steps, and is poured in whole."""
    drawn = [
        *PLAIN[:1],
        {
            "at": "2026-09-01T09:00",
            "kind": "gather",
            "lot": "filings",
            "material": "iron filings",
            "amount": "50 g",
        },
        {"at": "2026-09-01T10:00", "kind": "add", "into": "crock", "liquid": "vinegar", "amount": "400 ml"},
        {"at": "2026-09-01T10:05", "kind": "add", "into": "crock", "lot": "filings", "amount": "20 g"},
        *PLAIN[3:6],
        {"at": "2026-09-13T15:00", "kind": "strain", "vessel": "crock", "into": "pot"},
        *PLAIN[8:],
    ]
    post = posterior(sorted(drawn, key=lambda e: e["at"]), 64)
    assert net_recipe(post, "pot").sides
    recipe = make.again(post, "pot")
    # The iron really comes over: the same steps with the same lots are near the first ink.
    assert recipe.fold < 2.0
    kinds = [s.entry["kind"] for s in recipe.steps]
    assert "pour" in kinds
    iron = next(
        s for s in recipe.steps if s.entry.get("lot", "").startswith("filings") and s.entry["kind"] == "add"
    )
    assert any("hydrogen" in text.lower() for text in iron.cautions)


def test_ink_of_pure_things_begins_with_its_water() -> None:
    """Without anything steeped the water is the first thing in, and no reading makes it surer than the scale."""
    pure = [
        {"at": "2026-09-01T10:00", "kind": "add", "into": "jar", "liquid": "water", "amount": "500 ml"},
        {"at": "2026-09-01T10:05", "kind": "add", "into": "jar", "lot": "tannic acid", "amount": "15 g"},
        {
            "at": "2026-09-01T10:06",
            "kind": "add",
            "into": "jar",
            "lot": "ferrous sulfate heptahydrate",
            "amount": "8 g",
        },
        {"at": "2026-09-01T10:07", "kind": "add", "into": "jar", "lot": "gum arabic", "amount": "15 g"},
    ]
    recipe = make.again(posterior(pure, 64), "jar", ml=250)
    poured = next(s.entry for s in recipe.steps if s.entry["kind"] != "gather")
    assert poured["liquid"] == "water"
    assert 220 < float(poured["amount"].split()[0]) < 300
    assert recipe.chance.match >= recipe.by_weight.match


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ({"vessel": "kettle"}, "no vessel"),
        ({"vessel": "tub"}, "empty"),
        ({"vessel": "pot", "trial": "t9"}, "no trial"),
        ({"vessel": "tub", "trial": "t1"}, "of pot"),
        ({"vessel": "pot", "ml": -5.0}, "cannot be made"),
        ({"vessel": "pot", "ml": float("nan")}, "cannot be made"),
        ({"vessel": "pot", "elsewhere": ("galls",)}, "did not go into"),
    ],
)
def test_what_cannot_be_asked_is_said(plain: Posterior, asked: dict[str, Any], told: str) -> None:
    """A wrong name or amount is told in words, with what there is."""
    with pytest.raises(CounselError) as error:
        make.again(plain, **asked)
    assert told in error.value.sentence()


# ---------------------------------------------------------------- new lots


def test_new_lots_are_kin_to_the_old(plain: Posterior) -> None:
    """A lot of the same source shares the variance that the handbook says; one from elsewhere nothing."""
    picks = picked(plain, 256)
    name, share = "lot:leaf/tannin", value("harvest.kin.tannin")
    old = plain.z[list(plain.problem.unknowns).index(name)][picks]

    def slope(kin: frozenset[str]) -> tuple[float, float]:
        z = [
            new_draws(plain, picks, ["leaf"], kin, lambda d: d.of("bench/room", "pot.room"), f"check {i}")
            for i in range(40)
        ]
        new = np.concatenate([d._place(d._unknowns[name]) for d in z])
        return float(np.polyfit(np.tile(old, 40), new, 1)[0]), float(
            np.std(new - np.polyval(np.polyfit(np.tile(old, 40), new, 1), np.tile(old, 40)))
        )

    same, own = slope(frozenset({"leaf"}))
    # z' = r z + sqrt(1 - r^2) e: the regression of one of two standard normals of correlation r on the other.
    assert same == pytest.approx(share, abs=0.05)
    assert own == pytest.approx(np.sqrt(1 - share**2), abs=0.05)
    other, free = slope(frozenset())
    assert other == pytest.approx(0.0, abs=0.05)
    assert free == pytest.approx(1.0, abs=0.05)


def test_what_is_no_lot_stays_as_it_is(plain: Posterior) -> None:
    """The pen, the pot and the constants of the ink are those of the estimate."""
    picks = picked(plain, 64)
    fresh = new_draws(plain, picks, ["leaf"], frozenset(), lambda d: d.of("bench/room", "pot.room"), "check")
    for name in ("ink/strength.gallate", "pen/exponent"):
        known = plain.problem.unknowns[name]
        assert np.array_equal(fresh.of(name, known.prior), plain.draws.of(name, known.prior)[picks])


# ---------------------------------------------------------------- checkpoints


@pytest.mark.parametrize("reading", ["specific_gravity", "dry_residue"])
def test_a_checkpoint_is_held(plain: Posterior, reading: str) -> None:
    """At the end of the boil the reading shows the figure told, but for its own error; the lots scatter the volume instead."""
    found = choose(plain, net_recipe(plain, "pot"), draws=128, only=Rule(strength=reading))
    kitchen, made = found.kitchen, found.best.made
    shown = READINGS[reading](made.boiled, kitchen.draws, kitchen.eye) + kitchen.read(reading, "strength")
    assert shown == pytest.approx(
        found.marks.strength[reading], abs=0.02 if reading == "dry_residue" else 5e-4
    )
    ml = composition.volume(made.boiled.liquor, made.boiled.temperature)
    level = composition.volume(found.weights.made.boiled.liquor, found.weights.made.boiled.temperature)
    assert np.std(np.log(ml)) > 2 * np.std(np.log(level))


def test_drops_beside_the_first_ink_bring_it_near(plain: Posterior) -> None:
    """Thinned drops held beside the first ink's leave less scatter than weights do, on the very same lots."""
    found = choose(plain, net_recipe(plain, "pot"), draws=192, only=Rule(iron="volume", trim="strip"))
    assert np.percentile(found.best.made.distance, 75) < np.percentile(found.weights.made.distance, 75)


def test_the_way_chosen_is_the_best_tried(plain: Posterior) -> None:
    """Nothing tried scores better, and weights alone do not either."""
    found = choose(plain, net_recipe(plain, "pot"), draws=128)
    assert found.best.score == max(t.score for t in found.tried)
    assert found.best.score >= found.weights.score
    assert found.best.made.matches.mean() > found.weights.made.matches.mean()


# ---------------------------------------------------------------- what is said


def test_recipe_keeps_its_schema_and_can_be_recorded(tmp_path: Path) -> None:
    """A recipe's entries are entries: done and recorded, they make a new pot beside the old."""
    with inkhorn.Workshop.create(tmp_path / "saltmere") as shop:
        for entry in PLAIN:
            shop.record(entry)
        recipe = shop.again("pot", ml=500)
        answer = recipe.to_dict()
        assert faults("again", answer) == []
        for place, step in enumerate(answer["steps"]):
            at = datetime.fromisoformat("2027-09-01T10:00") + timedelta(days=4 * place)
            entry = {"at": at.isoformat(), **step["entry"]}
            decode(entry)
            shop.record(entry)
        got = sample_posterior(shop._plan(), particles=32).played.world.vessels
    new = next(state for name, state in got.items() if name.startswith("pot-"))
    assert np.median(composition.iron_total(new.liquor)) > 0
    assert np.median(composition.volume(new.liquor, new.temperature)) > 300
    # The new leaf is another lot: the old one is not used up by it.
    assert "leaf-2" in {s["entry"].get("lot") for s in answer["steps"]}


def test_text_has_every_step_with_its_cautions(plain: Posterior) -> None:
    """Each step is a numbered sentence; boiling and vitriol carry their cautions where they stand; both chances are told."""
    recipe = make.again(plain, "pot")
    text = recipe.text()
    for number, step in enumerate(recipe.steps, start=1):
        assert f"{number}. {step.sentence}" in text
    boil = next(s for s in recipe.steps if s.entry["kind"] == "reduce")
    assert any("scalds" in text for text in boil.cautions)
    iron = next(s for s in recipe.steps if s.entry["kind"] == "add" and s.entry["lot"].startswith("vitriol"))
    assert any("poison" in text for text in iron.cautions)
    for chance in (recipe.chance, recipe.by_weight):
        assert f"{100 * chance.match:.0f} in 100" in text
    assert sum(s.until is not None or s.per is not None for s in recipe.steps) >= 2


def test_twice_as_much_takes_twice_as_much(plain: Posterior) -> None:
    """Amounts go with what is wanted; figures of strength do not."""
    small, large = (make.again(plain, "pot", ml=ml) for ml in (400, 800))

    def leaf(recipe: make.Recipe) -> float:
        steep = next(s for s in recipe.steps if s.entry["kind"] == "steep")
        return float(steep.entry["amount"].split()[0])

    assert leaf(large) / leaf(small) == pytest.approx(2, rel=0.08)
    strong = [
        next(s.until for s in r.steps if s.until and s.entry["kind"] == "reduce") for r in (small, large)
    ]
    if strong[0].reading != "volume":
        assert strong[0].value == pytest.approx(strong[1].value)
    assert small.chance.volume.to_dict()["p05"] <= 400 <= small.chance.volume.median


def test_same_question_same_answer(plain: Posterior) -> None:
    """No chance enters: asked twice, a recipe is the same."""
    assert make.again(plain, "pot").to_dict() == make.again(plain, "pot").to_dict()


def test_a_caution_is_told_in_full_once() -> None:
    """Where it comes back its first words stay in place; the closing one is told at the end alone."""
    closing = caution("closing")
    told = told_once(
        [
            ["It scalds: stir.", closing],
            ["It poisons, lock it up.", "It scalds: stir."],
            ["It poisons, lock it up."],
            [],
        ]
    )
    assert told == [
        (("It scalds: stir.",), ()),
        (("It poisons, lock it up.",), (("It scalds", 1),)),
        ((), (("It poisons", 2),)),
        ((), ()),
    ]


def test_no_caution_is_lost_from_a_recipe(plain: Posterior) -> None:
    """Every caution of every step stands under that step, in full or by its first words."""
    recipe = make.again(plain, "pot")
    text = recipe.text()
    parts = re.split(r"^\d+\. ", text, flags=re.MULTILINE)[1:]
    closing = caution("closing")
    for step, part in zip(recipe.steps, parts, strict=True):
        for said in step.cautions:
            if said != closing:
                assert re.split(r"[:;,]", said)[0].rstrip(".") in part
    in_full = [said for step in recipe.steps for said in step.cautions if said != closing]
    assert len(in_full) > len(set(in_full))
    assert all(text.count(said) == 1 for said in set(in_full))


def test_what_to_get_says_where_it_came_from(plain: Posterior) -> None:
    """As it was told, not bent into a phrase: "from bought, in a tin as before" is no English."""
    assert words.gather_words("vitriol", 100, "bought-green-vitriol", "bought, in a tin", ()).endswith(
        "Last time: bought, in a tin."
    )
    assert "Last time: Wick Holm." in make.again(plain, "pot").text()
