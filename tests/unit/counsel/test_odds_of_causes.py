"""The odds of causes follow Bayes' rule, and what a check tells follows Shannon."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import norm

from inkhorn.counsel.wrong import checks, odds
from inkhorn.counsel.wrong.causes import CAUSES, Sign, beyond
from inkhorn.counsel.wrong.checks import Found, information
from inkhorn.counsel.wrong.complaints import complaints
from inkhorn.errors import CounselError
from inkhorn.handbook.load import row, tree, value

KEYS = list(CAUSES)


def sign(degree: float) -> Sign:
    """Return what a pot says of a cause, every draw alike."""
    return Sign(degree=np.full(8, degree), figure=np.zeros(8), label="", unit="1", begins=1.0)


def chance(complaint: str, cause: str, degree: float | None) -> float:
    """Return the probability of a cause where the pot says so much of it."""
    signs = {} if degree is None else {cause: sign(degree)}
    return float(odds.weigh(complaint, signs).mean[KEYS.index(cause)])


def test_a_degree_is_a_normal_probability() -> None:
    """Half at the row's value, Phi(1) and Phi(-1) one spread either way (the definition of a spread here)."""
    lognormal, normal = row("causes.sign.ferric"), row("causes.sign.too_acid")
    assert lognormal.shape == "lognormal"
    up = lognormal.value + lognormal.spread
    at = np.array([lognormal.value, up, lognormal.value**2 / up])
    np.testing.assert_allclose(beyond(at, lognormal), norm.cdf([0, 1, -1]), rtol=1e-9)
    at = normal.value + normal.spread * np.array([0, 1, -1])
    np.testing.assert_allclose(beyond(at, normal), norm.cdf([0, 1, -1]), rtol=1e-9)


@pytest.mark.parametrize("complaint", complaints())
def test_without_a_pot_the_odds_are_common_practice(complaint: str) -> None:
    """Each draw is the row of the cause times that of the complaint over their sum; nothing else enters."""
    weighed = odds.weigh(complaint, {})
    np.testing.assert_allclose(weighed.draws.sum(axis=0), 1.0)
    assert weighed.lift == {}
    centre = np.array([value(f"causes.{c}.usual") * value(odds.said_row(complaint, c)) for c in KEYS])
    medians = np.median(weighed.draws, axis=1)
    assert KEYS[int(np.argmax(medians))] == KEYS[int(np.argmax(centre))]
    np.testing.assert_allclose(medians / medians.sum(), centre / centre.sum(), atol=0.05)


@pytest.mark.parametrize(
    ("complaint", "cause"),
    [
        (complaint, cause)
        for complaint in complaints()
        for cause in tree()["complaints"][complaint]["from"]
        if cause not in ("pen", "something-else")
    ],
)
def test_what_the_pot_shows_rises_and_what_it_excludes_falls(complaint: str, cause: str) -> None:
    """A pot that surely has the fault raises it, one that surely has not lowers it, the usual one changes nothing."""
    usual = value(f"causes.{cause}.usual")
    low, plain, high = (chance(complaint, cause, d) for d in (0.0, None, 1.0))
    assert low < plain < high
    assert chance(complaint, cause, usual) == pytest.approx(plain, abs=0.02)


def test_what_figures_cannot_show_is_never_excluded() -> None:
    """With degree nought the lift is the share that is hidden, within the Monte Carlo error of their rows."""
    for cause in ("weak-extract", "oxidised-salt"):
        lift = odds.weigh("sediment-in-the-pot", {cause: sign(0.0)}).lift[cause]
        assert lift == pytest.approx(value(f"causes.{cause}.hidden"), abs=0.06)


def test_an_outcome_multiplies_the_odds_by_its_chances() -> None:
    """Bayes' rule: odds after over odds before, of two causes, are the ratio of the outcome's chances."""
    before = odds.weigh("beads-on-the-skin", {}).draws
    after = odds.weigh("beads-on-the-skin", {}, [Found(check="chalk-the-skin", outcome="cured")]).draws
    i, j = KEYS.index("greasy-skin"), KEYS.index("too-much-gum")
    ratio = np.median((after[i] / after[j]) / (before[i] / before[j]))
    chances = checks.table("chalk-the-skin")
    assert ratio == pytest.approx(chances[i, 0] / chances[j, 0], rel=0.1)


def test_the_odds_are_the_same_each_time() -> None:
    """No chance but that of the seed."""
    one, two = (odds.weigh("flakes-off", {}).draws for _ in range(2))
    np.testing.assert_array_equal(one, two)


# ------------------------------------------------------------ what a check tells


@pytest.mark.parametrize("error", [0.0, 0.05, 0.2, 0.5])
def test_information_of_a_binary_symmetric_channel(error: float) -> None:
    """With even odds it is 1 - H(error) bits (Cover and Thomas, Elements of Information Theory, 2006, eq. 7.5)."""
    chances = np.array([[1 - error, error], [error, 1 - error]])
    entropy = -sum(p * math.log2(p) for p in (error, 1 - error) if p > 0)
    assert information(np.array([0.5, 0.5]), chances) == pytest.approx(1 - entropy, abs=1e-12)


def test_information_has_its_bounds() -> None:
    """Nothing where the outcome does not hang on the cause; never more than the entropy of the causes."""
    some = np.array([0.7, 0.2, 0.1])
    assert information(some, np.tile([0.3, 0.7], (3, 1))) == pytest.approx(0, abs=1e-12)
    entropy = float(-(some * np.log2(some)).sum())
    assert information(some, np.eye(3)) == pytest.approx(entropy)
    uniform = np.full(len(KEYS), 1 / len(KEYS))
    for key in checks.checks():
        assert 0 < information(uniform, checks.table(key)) < math.log2(len(KEYS))


def test_the_check_that_tells_most_is_advised() -> None:
    """Between grease and an old salt, chalk or the jar is advised; what was done already is not."""
    known = np.zeros(len(KEYS))
    known[KEYS.index("greasy-skin")] = known[KEYS.index("too-much-gum")] = 0.5
    first, bits = checks.best(known, ())
    assert first.key in ("chalk-the-skin", "another-support", "ten-drops")
    second, fewer = checks.best(known, [first.key])
    assert second.key != first.key
    assert fewer <= bits
    assert checks.best(known, checks.checks()) is None


def test_no_check_is_advised_where_all_is_known() -> None:
    """A cause that is certain leaves nothing to tell."""
    sure = np.zeros(len(KEYS))
    sure[0] = 1.0
    assert checks.best(sure, ()) is None


def test_tables_name_only_causes_that_there_are() -> None:
    """No row stands under a misspelt cause, which would silently never be read."""
    said = {cause for key in complaints() for cause in tree()["complaints"][key]["from"]}
    told = {
        cause
        for check in checks.checks()
        for outcome in tree()["checks"][check]["outcome"].values()
        for cause in outcome.get("with", {})
    }
    assert said <= set(KEYS)
    assert told - {"usual"} <= set(KEYS)
    assert {k for k in tree()["causes"] if k != "sign"} == set(KEYS)


@pytest.mark.parametrize("check", checks.checks())
def test_outcomes_of_a_check_share_out_the_whole_chance(check: str) -> None:
    """With every cause the listed outcomes leave something for the last, and all are one together."""
    outcomes = [o.key for o in checks.checks()[check].outcomes]
    assert "with" not in tree()["checks"][check]["outcome"][outcomes[-1]]
    for cause in KEYS:
        listed, rest = checks.chance_rows(check, outcomes[-1], cause)
        assert rest
        assert sum(value(name) for name in listed) < 1
    np.testing.assert_allclose(checks.table(check).sum(axis=1), 1.0)


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ("ph-strip: 1.5", ("ph-strip", "sour")),
        ("pH: 3", ("ph-strip", "middling")),
        ("ph strip: 5", ("ph-strip", "mild")),
        ("chalk the skin: yes, cured", ("chalk-the-skin", "cured")),
        ("chalk-the-skin: no better", ("chalk-the-skin", "the-same")),
        ("surface: mould spots", ("look-at-the-top", "mould")),
        ("vitriol-in-water: brown at once", ("vitriol-in-water", "brown-at-once")),
        ("look-tomorrow: darker", ("look-tomorrow", "darker")),
    ],
)
def test_what_was_found_is_understood(said: str, found: tuple[str, str]) -> None:
    """Key or reading, outcome or everyday word, or the figure on the strip."""
    assert checks.resolve_found(said) == Found(check=found[0], outcome=found[1])


@pytest.mark.parametrize("check", checks.checks())
def test_every_outcome_can_be_told_by_its_key(check: str) -> None:
    """What the answer names is understood when it is told back."""
    for outcome in checks.checks()[check].outcomes:
        assert checks.resolve_found(f"{check}: {outcome.key}") == Found(check=check, outcome=outcome.key)


@pytest.mark.parametrize("said", ["cured", "taste-it: sour", "ph-strip: elephant"])
def test_what_cannot_be_understood_is_refused(said: str) -> None:
    """No colon, no such check, no such outcome: an error that lists what there is."""
    with pytest.raises(CounselError) as error:
        checks.resolve_found(said)
    assert error.value.mend
