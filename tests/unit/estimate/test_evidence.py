"""Each sort of evidence against its closed form, its limit, and the pull of an outlier."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy import stats

from inkhorn.daybook.wire import decode
from inkhorn.estimate.evidence.bounds import Bound
from inkhorn.estimate.evidence.numbers import Number, scattered
from inkhorn.estimate.evidence.words import Ordered, comparison, word
from inkhorn.estimate.likelihood import make_evidence
from inkhorn.handbook.load import value
from inkhorn.replay import people, predict
from inkhorn.replay.draws import Draws
from inkhorn.replay.fold import make_plan
from inkhorn.replay.scene import together
from support.daybooks import recorded

NONE = Draws({}, np.zeros((0, 1)))


def evidence_of(**keys: Any) -> Any:
    """Return a reading as evidence."""
    entry = {"at": "2026-09-01T10:00", "kind": "reading", **{k.rstrip("_"): v for k, v in keys.items()}}
    plan = make_plan(recorded([entry]))
    return make_evidence(plan.entries[0], plan.scene)


def law_of(centre: np.ndarray, covariance: np.ndarray) -> Any:
    """Return scipy's multivariate t of the handbook's degrees of freedom and a covariance (Kotz and Nadarajah 2004, 1.7)."""
    nu = value("misfit.tail")
    return stats.multivariate_t(loc=centre, shape=covariance * (nu - 2) / nu, df=nu)


def test_three_channels_are_a_multivariate_t() -> None:
    """Correlated channels have the density that scipy gives a multivariate t of the handbook's degrees of freedom."""
    covariance = 0.03**2 * np.array([[1, 0.8, 0.7], [0.8, 1, 0.8], [0.7, 0.8, 1.2]])
    seen, mu = np.array([0.7, 0.75, 0.72]), np.array([[0.66], [0.78], [0.70]])
    item = scattered(number=1, observed=seen, covariance=covariance)
    expected = law_of(mu[:, 0], covariance).logpdf(seen)
    assert item.log_density(mu, NONE)[0] == pytest.approx(expected, rel=1e-10)


def test_a_reading_of_several_figures_is_a_multivariate_t() -> None:
    """The density must be scipy's multivariate t, its covariance the reading's."""
    rng = np.random.default_rng(3)
    root = rng.normal(size=(3, 3))
    covariance = root @ root.T
    variance, axes = np.linalg.eigh(covariance)
    item = Number(number=1, observed=np.array([0.4, -0.2, 1.0]), axes=axes, variance=variance)
    mu = rng.normal(size=(3, 5))
    nothing = Draws({}, np.zeros((0, 5)))
    law = law_of(item.observed, covariance)
    np.testing.assert_allclose(item.log_density(mu, nothing), law.logpdf(mu.T), rtol=1e-9)


def test_an_outlier_hardly_pulls() -> None:
    """A t pulls hardest near its own width; a hundred errors off the pull is below a tenth of that."""
    item = Number(number=1, observed=np.array([0.0]), axes=np.eye(1), variance=np.array([1.0]))
    at = np.linspace(0, 200, 20001)
    pull = np.abs(np.gradient(item.log_density(at[None, :], Draws({}, np.zeros((0, len(at))))), at))
    nu = value("misfit.tail")
    assert pull.max() == pytest.approx((nu + 1) / (2 * np.sqrt(nu - 2)), rel=1e-3)
    assert pull[10000] < pull.max() / 10


def test_above_the_cap_a_stroke_says_only_that_it_is_dark() -> None:
    """Of a density read above the cap every prediction above it is as good; below, it pulls up as the cap would."""
    cap = value("readings.density_cap")
    item = evidence_of(of="trial:t1", what="optical_density", value={"R": 1.5, "G": 1.45, "B": 1.4}, sd=0.03)
    above = np.full((3, 3), cap) + np.array([0.0, 0.2, 2.0])
    heights = item.log_density(above, Draws({}, np.zeros((0, 3))))
    assert np.ptp(heights) == 0
    low = np.full((3, 1), cap - 0.1)
    as_cap = scattered(number=1, observed=np.full(3, cap), covariance=together(np.full(3, 0.03)))
    assert item.log_density(low, NONE)[0] == pytest.approx(as_cap.log_density(low, NONE)[0])
    assert heights[0] > item.log_density(low, NONE)[0]
    assert item.information(above[:, 2:], NONE).sum() == 0


def test_a_pale_reading_is_two_sided() -> None:
    """A stroke read below the cap speaks against a prediction far above it."""
    item = evidence_of(of="trial:t1", what="optical_density", value={"R": 0.9, "G": 0.9, "B": 0.9}, sd=0.03)
    right, dark = np.full((3, 1), 0.9), np.full((3, 1), 1.6)
    assert item.log_density(right, NONE)[0] > item.log_density(dark, NONE)[0] + 5


@pytest.mark.parametrize("side", [1, -1])
def test_a_limit_is_the_tail_of_a_t(side: int) -> None:
    """The chance to lie beyond a limit is the tail of Student's t; with a sure reader it is a step."""
    item, nu = Bound(number=1, limit=2.0, sd=0.5, side=side), value("misfit.tail")
    for mu in (0.0, 1.8, 3.0):
        law = stats.t(nu, scale=0.5 * np.sqrt((nu - 2) / nu), loc=2.0)
        assert law.std() == pytest.approx(0.5)
        expected = np.log(law.cdf(mu) if side == 1 else law.sf(mu))
        assert item.log_density(np.array([[mu]]), NONE)[0] == pytest.approx(expected, rel=1e-9)
    sure = Bound(number=1, limit=2.0, sd=1e-9, side=side)
    assert np.exp(sure.log_density(np.array([[2.1]]), NONE)[0]) == pytest.approx(float(side == 1))


def test_words_are_an_ordered_probit() -> None:
    """The chance of a word is the share of a normal between its cuts, less the chance that it meant nothing."""
    slip = value("readings.word_slip")
    item = Ordered(number=1, place=1, cuts=(-1.0, 0.5, 2.0), blur=0.8)
    inside = stats.norm.cdf((0.5 - 0.3) / 0.8) - stats.norm.cdf((-1.0 - 0.3) / 0.8)
    expected = np.log((1 - slip) * inside + slip / 4)
    assert item.log_density(np.array([[0.3]]), NONE)[0] == pytest.approx(expected, rel=1e-12)


def test_a_word_gone_astray_costs_no_more_than_a_slip() -> None:
    """However far off, a word never costs more than the chance that it meant nothing: its influence is bounded."""
    item = word(number=1, scale="body", said="watery")
    floor = np.log(value("readings.word_slip") / len(people.words("body")))
    assert item.log_density(np.array([[50.0]]), NONE)[0] == pytest.approx(floor)


def test_than_turns_on_a_just_noticeable_difference() -> None:
    """Half a just noticeable difference is likeliest called the same; three are called darker; minus three paler."""
    apart = value("words.than.apart")
    for off, best in ((apart / 4, "same"), (4 * apart, "darker"), (-4 * apart, "paler")):
        heights = {
            said: comparison(number=1, said=said).log_density(np.array([[off]]), NONE)[0]
            for said in ("darker", "same", "paler")
        }
        assert max(heights, key=lambda said: heights[said]) == best


def test_a_person_is_taken_at_their_own_words() -> None:
    """A shift moves every cut of that person alike, a stretch moves them from the middle; nobody else's move."""
    names = ("who:anna/body.shift", "who:anna/body.stretch")
    plan = make_plan(
        recorded(
            [
                {"at": "2026-09-01T08:00", "kind": "add", "into": "pot", "liquid": "water", "amount": "1 L"},
                {"at": "2026-09-01T09:00", "kind": "reading", "of": "vessel:pot", "what": "body", "value": "thin", "who": "Anna"},
            ]
        )
    )  # fmt: skip
    assert set(names) <= set(plan.unknowns)
    cuts = np.array(people.cuts("body"))
    z = np.zeros((len(plan.unknowns), 1))
    z[list(plan.unknowns).index(names[0])] = 1.5
    z[list(plan.unknowns).index(names[1])] = -1.0
    draws = Draws(plan.unknowns, z)
    stretch = draws.of(names[1], "words.stretch")[0]
    hers = cuts.mean() + (cuts - cuts.mean()) * stretch + 1.5 * people.shift_size("body")
    for hers_, book in zip(hers, cuts, strict=True):
        assert people.heard("body", "anna ", np.array([hers_]), draws)[0] == pytest.approx(book)
    assert people.heard("body", "bert", cuts, draws) == pytest.approx(cuts)


@pytest.mark.parametrize(("seconds", "side", "limit"), [("20 s", -1, 30), ("57 s", 0, 57), ("140 s", 1, 100)])
def test_a_flow_cup_speaks_only_inside_its_standard(seconds: str, side: int, limit: float) -> None:
    """Outside 30 to 100 s (ISO 2431) a cup gives a limit, inside a figure."""
    item = evidence_of(of="vessel:pot", what="discharge", value=seconds, with_="3 mm cup")
    if side:
        assert isinstance(item, Bound)
        assert (item.side, np.exp(item.limit)) == (side, pytest.approx(limit))
    else:
        assert np.exp(item.observed[0]) == pytest.approx(limit)


@pytest.mark.parametrize(("text", "side"), [("more than 10 mPa s", 1), ("< 3 mPa s", -1)])
def test_a_limit_that_was_told_is_one(text: str, side: int) -> None:
    """A reading of "more than" "less than" becomes a limit at its figure."""
    item = evidence_of(of="vessel:pot", what="viscosity", value=text)
    assert isinstance(item, Bound)
    assert item.side == side


def test_nothing_found_is_below_what_could_be() -> None:
    """An assay that found no iron says that there is less than it could have seen."""
    item = evidence_of(of="vessel:pot", what="total_iron", value="0 mmol/L")
    assert isinstance(item, Bound)
    assert item.side == -1
    assert np.exp(item.limit) == pytest.approx(value("measures.instrument.laboratory.amount_conc.absolute"))


def test_the_error_is_the_instruments_and_what_the_model_leaves() -> None:
    """A thermometer's degree and the wandering of the room add in squares; so do a dropper's error and haste."""
    item = evidence_of(of="vessel:pot", what="temperature", value="17 degC", with_="thermometer")
    own, beside = (
        value("measures.instrument.thermometer.temperature.absolute"),
        value("readings.beside.temperature"),
    )
    assert item.variance[0] == pytest.approx(own**2 + beside**2)
    drops = evidence_of(of="vessel:pot", what="ten_drops", value="0.45 g", water="0.50 g")
    own = np.log1p(np.hypot(0.02, 0.03 * 0.45) / 0.45)
    assert drops.observed == pytest.approx(np.log([0.45, 0.50]))
    assert drops.variance[0] == pytest.approx(own**2 + value("flow.drop.error") ** 2)


def test_an_eye_is_not_counted_twice() -> None:
    """Of an amount read by eye only the person's own-time error is left in the likelihood; the lasting bias is an unknown."""
    item = evidence_of(of="vessel:pot", what="volume", value="about 2 L")
    assert item.variance[0] == pytest.approx(np.log1p(0.15) ** 2 * (1 - value("readings.eye_share")))


def test_decode_is_what_the_likelihood_sees() -> None:
    """A reading keeps its instrument's name, which is whose constants are learnt."""
    assert decode(
        {"at": "2026-09-01T10:00", "kind": "reading", "of": "vessel:p", "what": "discharge", "value": "34 s", "with": "syringe"}
    ).with_ == "syringe"  # fmt: skip


def test_a_depth_is_a_volume() -> None:
    """Two fingers in a jar of 1 L and 200 mm depth are two fingers of 5 ml a millimetre; without its measures, no evidence."""
    jar = {"at": "2026-09-01T08:00", "kind": "vessel", "name": "jar", "capacity": "1 L", "depth": "200 mm"}
    pour = {
        "at": "2026-09-01T08:10",
        "kind": "add",
        "into": "jar",
        "liquid": "water",
        "amount": "about 200 ml",
    }
    fingers = {
        "at": "2026-09-01T09:00", "kind": "reading", "of": "vessel:jar", "what": "volume", "value": "40 mm"
    }  # fmt: skip
    plan = make_plan(recorded([jar, pour, fingers]))
    assert np.exp(make_evidence(plan.evidence[0], plan.scene).observed[0]) == pytest.approx(200)
    blind = make_plan(recorded([{k: v for k, v in jar.items() if k != "depth"}, pour, fingers]))
    assert not blind.evidence
    assert "inner depth" in predict.why_idle(blind.idle[0].entry, blind.scene)
