"""Sharing a difference out."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from inkhorn.colour.difference import ciede2000
from inkhorn.colour.lab import lab_to_linear, linear_to_lab
from inkhorn.compare.model import CAUSES, pair
from inkhorn.compare.pens import between_hands, film_ratio
from inkhorn.compare.shares import shapley, share_out, shared
from inkhorn.compare.sides import Coverage, Side, Skin, from_numbers, skin, support_skin
from inkhorn.handbook.load import value
from inkhorn.optics import observe, support
from inkhorn.optics.film import absorbance, reflectance
from inkhorn.optics.portable import absorbance_from_density
from inkhorn.optics.spectra import curves

PALE, DARK = np.array([0.62, 0.60, 0.42]), np.array([0.95, 1.0, 0.9])
GOAT, OLD = np.array([84.0, 1.5, 14.0]), np.array([74.0, 4.0, 22.0])
K1, K2 = value("optics.surface.k1"), value("optics.surface.k2")
WORN = Coverage.of(intact=0.5, thinned=0.3, bare=0.2)


def _side(density: np.ndarray, lab: np.ndarray, *, coverage: Coverage | None = None, gain: float = 1) -> Side:
    """Return a side of which everything is known exactly."""
    sure = Skin(lab=lab, sd=np.zeros(3), seen=gain * lab_to_linear(lab))
    return Side(
        density=density, covariance=np.zeros((3, 3)), skin=sure, coverage=coverage or Coverage.whole()
    )


class TestShapley:
    """L. S. Shapley (1953): the axioms that single out the value."""

    CAUSES = ("a", "b", "c", "d")

    def _game(self, seed: int) -> dict[frozenset[str], np.ndarray]:
        rng = np.random.default_rng(seed)
        return {
            frozenset(some): rng.normal(size=5)
            for size in range(5)
            for some in itertools.combinations(self.CAUSES, size)
        }

    def test_adds_up(self) -> None:
        """The shares must add up to the worth of all over none."""
        game = self._game(0)
        shares = shapley(self.CAUSES, game.__getitem__)
        np.testing.assert_allclose(sum(shares.values()), game[frozenset("abcd")] - game[frozenset()])

    def test_is_the_mean_over_all_orders(self) -> None:
        """Each share must be the mean over all 24 orders of what the cause adds when its turn comes."""
        game = self._game(1)
        total = dict.fromkeys(self.CAUSES, np.zeros(5))
        for order in itertools.permutations(self.CAUSES):
            for k, cause in enumerate(order):
                before = frozenset(order[:k])
                total[cause] = total[cause] + (game[before | {cause}] - game[before]) / 24
        shares = shapley(self.CAUSES, game.__getitem__)
        for cause in self.CAUSES:
            np.testing.assert_allclose(shares[cause], total[cause])

    def test_a_cause_that_does_nothing_gets_nothing(self) -> None:
        """A cause that never changes anything must have a share of exactly 0, and equals share alike."""
        shares = shapley(self.CAUSES, lambda s: np.array([float(len(s - {"d"}) ** 2)]))
        assert shares["d"] == 0
        assert shares["a"] == shares["b"] == shares["c"] == pytest.approx(3)


class TestOneCause:
    """A difference that has one cause must be put down to it, whole."""

    @pytest.mark.parametrize("cause", CAUSES)
    def test_single_cause(self, cause: str) -> None:
        """All of the difference must go to the one cause that differs, and none to the others."""
        original = _side(PALE if cause == "skin" else DARK, OLD, coverage=WORN if cause == "wear" else None)
        trial = {
            "wear": _side(DARK, OLD),
            "skin": _same_film_elsewhere(),
            "pen": _side(DARK, OLD, coverage=WORN),
            "camera": _side(DARK, OLD, gain=0.8),
            "ink": _side(PALE, OLD),
        }[cause]
        shares = share_out(trial, original, draws=8)
        assert shares.total.mean() > 1.5
        for name, part in shares.parts.items():
            expected = shares.total if name == cause else 0
            np.testing.assert_allclose(part, expected, atol=1e-5)


def _same_film_elsewhere() -> Side:
    """Return the original's ink laid on another skin, its density as the film model has it there."""
    film = absorbance_from_density(PALE, support.reflectance(OLD), K1, K2)
    bare = support.reflectance(GOAT)
    rgb = observe.linear_rgb(reflectance(film, bare, K1, K2))
    return _side(observe.channel_density(rgb, observe.linear_rgb(bare)), GOAT)


def test_shares_add_up_to_what_is_seen() -> None:
    """The five shares must add up to the difference of the two strokes as they are seen, in each draw."""
    shares = share_out(
        _side(PALE, GOAT, gain=1.1), _side(DARK, OLD, coverage=WORN), film_ratio=[0.8, 1.3], draws=16
    )
    np.testing.assert_allclose(sum(shares.parts.values()), shares.total)
    assert set(shares.parts) == set(CAUSES)


def test_what_is_seen_is_what_was_measured() -> None:
    """With every cause as on one side the model must show that side's own measured stroke."""
    trial, original = _side(PALE, GOAT), _side(DARK, OLD)
    both = pair(trial, original, film_ratio=1.4, draws=4)
    seen = both.seen(wear=True, skin=True, pen=True, camera=True, ink=True)
    np.testing.assert_allclose(
        seen, np.tile(linear_to_lab(lab_to_linear(GOAT) * 10**-PALE), (4, 1)), atol=1e-4
    )
    worn = both.seen(wear=False, skin=False, pen=False, camera=False, ink=False)
    np.testing.assert_allclose(
        worn, np.tile(linear_to_lab(lab_to_linear(OLD) * 10**-DARK), (4, 1)), atol=1e-4
    )


def test_wear_mixes_in_linear_light() -> None:
    """Half whole and half bare must be seen as the mean of the two in linear light, not in L*.

    L* 25 and 85 in halves read L* 65.9 (CIE 1976 L* of the mean luminance).
    """
    grey = np.array([85.0, 0, 0])
    density = np.log10(lab_to_linear(grey) / lab_to_linear(np.array([25.0, 0, 0])))
    half = Coverage.of(intact=0.5, thinned=0, bare=0.5)
    both = pair(_side(density, grey), _side(density, grey, coverage=half), draws=2)
    seen = both.seen(wear=False, skin=False, pen=False, camera=False, ink=False)
    np.testing.assert_allclose(seen[:, 0], 65.91, atol=0.01)


def test_swapping_the_sides_keeps_the_difference() -> None:
    """Trial against original and original against trial must be the same size."""
    one, two = _side(PALE, GOAT), _side(DARK, OLD)
    np.testing.assert_allclose(
        share_out(one, two, draws=4).total, share_out(two, one, draws=4).total, atol=1e-6
    )


def test_unknown_skin_moves_between_skin_and_camera_only() -> None:
    """Not knowing the skin must spread the shares of skin and camera, never the difference that is seen."""
    vague = skin(prior=GOAT, prior_sd=[6, 3, 5], seen=lab_to_linear(GOAT))
    trial = Side(density=PALE, covariance=np.eye(3) * 1e-4, skin=vague, coverage=Coverage.whole())
    shares = share_out(trial, _side(DARK, OLD), draws=64)
    assert np.ptp(shares.total) < 0.5
    assert np.std(shares.parts["skin"]) > 5 * np.std(shares.total)


def test_calibrated_picture_is_believed() -> None:
    """A card must put the picture's colour down to the skin, a bare phone picture mostly to the camera."""
    seen = lab_to_linear(OLD)
    lab, sd = support_skin("goat-parchment")
    by_card = skin(prior=lab, prior_sd=sd, seen=seen, calibrated=True)
    by_phone = skin(prior=lab, prior_sd=sd, seen=seen)
    assert abs(by_card.lab[0] - OLD[0]) < 1.5
    assert by_phone.lab[0] - OLD[0] > 5
    assert (by_card.sd < by_phone.sd).all()


def test_measured_skin_is_believed_over_the_picture() -> None:
    """A colour given without a spread must count as measured: the picture's other colour is the camera's."""
    told = skin(prior=GOAT, seen=lab_to_linear(OLD))
    assert abs(told.lab[0] - GOAT[0]) < 0.5
    assert (told.sd < 2).all()


def test_age_is_one_more_cause() -> None:
    """Taken as new, a browned original must put part of its difference from a blue-black trial down to age."""
    brown = np.array([0.65, 0.85, 1.05])
    now = share_out(_side(DARK, OLD), _side(brown, OLD), draws=32)
    new = share_out(_side(DARK, OLD), _side(brown, OLD), draws=32, as_new=True)
    assert "age" not in now.parts
    assert new.parts["age"].mean() > 0.2 * new.total.mean()
    np.testing.assert_allclose(sum(new.parts.values()), new.total)
    assert np.median(new.ink_shift[:, 2]) > np.median(now.ink_shift[:, 2])


def test_ink_alone_ignores_everything_else() -> None:
    """The ink's own difference must be that of the two whole strokes on the original's skin."""
    shares = share_out(_side(PALE, OLD, gain=0.7), _side(DARK, OLD, coverage=WORN), draws=4)
    bare = lab_to_linear(OLD)
    expected = ciede2000(linear_to_lab(bare * 10**-PALE), linear_to_lab(bare * 10**-DARK))
    assert shares.ink_size == pytest.approx(float(expected), abs=0.05)


def test_seed_decides_the_draws() -> None:
    """The same seed must give the same answer, another seed another."""
    one, two = from_numbers(PALE, 0.03), from_numbers(DARK, 0.03)
    first, again, other = (share_out(one, two, draws=16, seed=s) for s in (1, 1, 2))
    np.testing.assert_array_equal(first.ink_difference, again.ink_difference)
    assert (first.ink_difference != other.ink_difference).any()


def test_predicted_spectrum_changes_shape_not_amount() -> None:
    """A predicted absorbance must not move what the photograph measured, only what it is on another skin."""
    predicted = absorbance(gallate=np.array([1e-7, 1.2e-7]), brown=1e-4, curves=curves())
    plain, told = (
        from_numbers(PALE, 1e-9, lab=GOAT, lab_sd=0),
        from_numbers(PALE, 1e-9, lab=GOAT, lab_sd=0, absorbance=predicted),
    )
    here = [shared(pair(s, _side(DARK, GOAT), draws=4))[0].mean() for s in (plain, told)]
    assert here[0] == pytest.approx(here[1], abs=1e-3)


def test_same_pen_lays_the_same_film() -> None:
    """The same pen and width must give a ratio of exactly one; a broader stroke of it somewhat more."""
    np.testing.assert_array_equal(film_ratio("reed"), 1)
    assert 1 < np.median(film_ratio("reed", trial_width=1.0, original_width=2.0)) < 2
    assert np.median(film_ratio("dip", "reed")) == pytest.approx(30 / 28, rel=0.2)


def test_to_dict_is_plain() -> None:
    """The answer must hold the total, each share with its band, and the ink's own difference."""
    answer = share_out(_side(PALE, GOAT), _side(DARK, OLD), draws=8).to_dict()
    assert set(answer) == {"difference", "shares", "ink_difference", "ink_shift"}
    assert set(answer["shares"]["ink"]) == {"median", "p05", "p25", "p75", "p95", "unit", "fraction"}
    assert sum(s["fraction"] for s in answer["shares"].values()) == pytest.approx(1, abs=0.01)


def test_two_causes_by_hand() -> None:
    """With two causes the shares must be the half sums that are worked out by hand.

    v() = 0, v(a) = 6, v(b) = 2, v(ab) = 10: a adds 6 coming first and 8 coming second, b adds 4 second and
    2 first, so the shares are 7 and 3.
    """
    worth = {"": 0.0, "a": 6.0, "b": 2.0, "ab": 10.0}
    shares = shapley(("a", "b"), lambda s: np.array([worth["".join(sorted(s))]]))
    assert shares["a"] == pytest.approx(7)
    assert shares["b"] == pytest.approx(3)


@pytest.mark.parametrize("seed", range(5))
def test_order_of_the_causes_changes_nothing(seed: int) -> None:
    """Whatever order the causes are named in, each must keep its share, and the shares must add up."""
    rng = np.random.default_rng(seed)
    density = rng.uniform(0.3, 1.1, (2, 3))
    labs = np.array([GOAT, OLD]) + rng.normal(size=(2, 3)) * 3
    one = _side(density[0], labs[0], coverage=Coverage.of(intact=0.8, thinned=0.15, bare=0.05), gain=0.9)
    two = _side(density[1], labs[1], coverage=WORN)
    both = pair(one, two, film_ratio=float(rng.uniform(0.5, 2)), draws=2)
    origin = both.seen(**dict.fromkeys(CAUSES, False))

    def worth(changed: frozenset[str]) -> np.ndarray:
        return ciede2000(both.seen(**{cause: cause in changed for cause in CAUSES}), origin)

    usual = shapley(CAUSES, worth)
    np.testing.assert_allclose(sum(usual.values()), worth(frozenset(CAUSES)))
    for order in (CAUSES[::-1], tuple(rng.permutation(CAUSES).tolist())):
        again = shapley(order, worth)
        for cause in CAUSES:
            np.testing.assert_allclose(again[cause], usual[cause], atol=1e-9)


def test_thicker_film_is_put_down_to_the_pen() -> None:
    """The same ink laid twice as thick by the other pen must be put down to pen and hand, nearly none to the ink."""
    film = absorbance_from_density(PALE, support.reflectance(OLD), K1, K2)
    thick = observe.linear_rgb(reflectance(2 * film, support.reflectance(OLD), K1, K2))
    deep = observe.channel_density(thick, observe.linear_rgb(support.reflectance(OLD)))
    shares = share_out(_side(PALE, OLD), _side(deep, OLD), film_ratio=2, draws=4)
    assert shares.total.mean() > 4
    np.testing.assert_allclose(shares.parts["pen"], shares.total, rtol=0.02)
    # Three densities do not fix a spectrum, so the halved film of the deep stroke is not quite the pale one.
    assert shares.ink_size < 0.2 * shares.total.mean()


def test_hands_scatter_though_pens_are_alike() -> None:
    """The same pen in another hand must lay the same film but for a scatter; a dip stands for no pen."""
    alike = between_hands("reed")
    assert np.median(alike) == pytest.approx(1, abs=0.05)
    assert np.log(alike).std() == pytest.approx(value("misfit.stroke") * np.sqrt(2), rel=0.15)
    dipped = between_hands("dip")
    assert np.log(dipped).std() > np.log(alike).std()
    assert np.median(between_hands("drop", "goose-quill")) < 0.5
