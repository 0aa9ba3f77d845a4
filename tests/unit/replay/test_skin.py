"""A film on its support: acid against chalk, and what binds."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.handbook.load import value
from inkhorn.replay import acid, composition, skin, strokes
from inkhorn.replay.draws import Draws, standard_normal
from inkhorn.replay.liquor import Liquor
from support.replays import medians

FILM = np.array([20.0])


def ink(**tannin: float) -> Liquor:
    """Return one ml of an ink of 3 g/L of iron with some tannin, g."""
    mol = 54e-6
    return Liquor.of(1, water=1.0, iron2=mol, sulfate=mol, **{k: np.array([v]) for k, v in tannin.items()})


def bound(liquor: Liquor, chalk: float | None) -> float:
    """Return the iron held in a film of the ink, over all of it."""
    held = skin.held_on(liquor, FILM, None if chalk is None else np.array([chalk]), medians())
    return float(((held.pyrogallol + held.catechol) / composition.iron_total(liquor))[0])


def test_more_chalk_never_binds_less() -> None:
    """Iron held rises with the chalk of the support, to what it is with chalk to spare."""
    for liquor in (ink(gallotannin=0.03), ink(condensed=0.04), ink(gallotannin=0.02, condensed=0.02)):
        shares = [bound(liquor, chalk) for chalk in (0.0, 0.02, 0.05, 0.1, 0.2, 1.0, 10.0)]
        assert np.all(np.diff(shares) >= -1e-9)
        assert shares[-1] == pytest.approx(bound(liquor, None))
        assert shares[0] < 0.7 * shares[-1]


def test_without_chalk_catechol_type_binds_least() -> None:
    """On an unchalked support an ink of bark holds less of its iron than one of galls of the same capacity."""
    of_galls, of_bark = value("binding.sites.gallotannin"), value("binding.sites.condensed")
    galls, bark = ink(gallotannin=0.06), ink(condensed=0.06 * of_galls / of_bark)
    assert bound(galls, None) == pytest.approx(bound(bark, None), rel=1e-6)
    assert bound(bark, 0.0) < 0.75 * bound(galls, 0.0)


def test_a_bark_stroke_is_paler_on_an_acid_support() -> None:
    """What does not bind does not blacken: in red, where rust and brown matter hardly show, the stroke is paler."""
    liquor, draws = ink(condensed=0.06), medians()
    bare = np.full(36, 0.8)
    on_chalk = strokes.areal(liquor, FILM, 1.0, draws, np.array([3.0]))
    on_acid = strokes.areal(liquor, FILM, 1.0, draws, np.array([0.0]))
    assert on_acid.catecholate < 0.5 * on_chalk.catecholate
    red, black = (strokes.density(film, bare, draws)[0, 0] for film in (on_acid, on_chalk))
    assert red < 0.8 * black


def test_binding_at_low_ph_is_that_of_the_published_table() -> None:
    """The law for catechol type keeps near the full speciation: little below pH 2, half near 2.3, all but all at 3.5.

    Iron(III) catecholates after Avdeef and others, J. Am. Chem. Soc. 100:5362, 1978 (digits from memory);
    ``validation/film_binding.py`` makes the fit.
    """
    draws = medians()
    at = {
        ph: float(acid.bound_share("catechol", np.array([ph]), draws)[0]) for ph in (1.5, 2.0, 3.0, 3.5, 5.0)
    }
    assert at[1.5] < 0.08
    assert at[2.0] < 0.3
    assert at[3.0] > 0.85
    assert at[5.0] > 0.999
    for ph in (1.0, 1.5, 2.0, 2.5):
        assert acid.bound_share("pyrogallol", np.array([ph]), draws) > acid.bound_share(
            "catechol", np.array([ph]), draws
        )


def test_preparation_moves_the_chalk() -> None:
    """A pounced skin offers more chalk than its kind, a washed one less."""
    plain, pounced, washed = (
        skin.chalk_of("s", "goat-parchment", said, medians())[0]
        for said in (None, "pounced with chalk", "washed, no chalk left")
    )
    assert washed < 0.2 * plain < 0.2 * pounced


def test_an_aired_mild_ink_goes_on_dark() -> None:
    """The share coloured in the pot is nothing in a fresh ink, and more in a mild aired one than in a sour one."""
    fresh = ink(gallotannin=0.03)
    assert skin.ready_in_pot(fresh, medians())[0] == 0
    aired = fresh.changed(
        iron2=np.array([24e-6]), complex_iron=np.array([30e-6]), complex_pyrogallol=np.array([60e-6])
    )
    sour = aired + Liquor.of(1, sulfate=60e-6)
    mild, acidic = skin.ready_in_pot(aired, medians())[0], skin.ready_in_pot(sour, medians())[0]
    assert 0 < acidic < 0.7 * mild < mild <= 30 / 54


def test_one_draw_is_a_column_of_many() -> None:
    """The film's own equation is solved draw by draw."""
    scale = np.exp(0.3 * standard_normal(2, "chalk", 40))
    liquor = Liquor({k: np.full(40, row[0]) for k, row in ink(condensed=0.05).rows.items()}, 40)
    many = skin.held_on(liquor, np.full(40, 20.0), 0.1 * scale, Draws({}, np.zeros((0, 40))))
    one = skin.held_on(ink(condensed=0.05), FILM, 0.1 * scale[7:8], medians())
    assert many.catechol[7] == pytest.approx(one.catechol[0], rel=1e-12)


def test_without_iron_there_is_no_black() -> None:
    """Tannin alone leaves its own brown and nothing else; iron without tannin dries to rust, not to black."""
    draws, bare = medians(), np.full(36, 0.8)
    chalk = np.array([3.0])
    tannin = Liquor.of(1, water=1.0, gallotannin=np.array([0.03]), solids=np.array([0.01]))
    plain = strokes.areal(tannin, FILM, 1.0, draws, chalk)
    assert plain.gallate == 0
    assert plain.catecholate == 0
    iron = Liquor.of(1, water=1.0, iron2=54e-6, sulfate=54e-6)
    rust = strokes.areal(iron, FILM, 1.0, draws, chalk)
    assert rust.gallate + rust.catecholate == 0
    # In red, where brown hardly shows, either is far from the ink that the two make together.
    both = strokes.density(strokes.areal(ink(gallotannin=0.03), FILM, 1.0, draws, chalk), bare, draws)
    for film in (plain, rust):
        assert strokes.density(film, bare, draws)[0, 0] < 0.2 * both[0, 0]
