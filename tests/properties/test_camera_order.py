"""What must hold of any camera, and of any look in infrared."""

from __future__ import annotations

import attrs
import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from inkhorn.optics.camera import (
    NORMALS,
    Camera,
    channel_density_seen,
    density_spread,
    draw_cameras,
    photograph,
)
from inkhorn.optics.infrared import TYPES, fading_index, prior, probability_of_type

#: Skins and papers: green at most a quarter below red, blue at most half.
skins = st.tuples(st.floats(0.1, 0.9), st.floats(0.75, 1), st.floats(0.5, 1)).map(
    lambda t: np.array([t[0], t[0] * t[1], t[0] * t[2]])
)
depths = st.floats(0.02, 2.0)
seeds = st.integers(0, 10**6)


@given(skins, depths, st.lists(st.floats(0, 0.3), min_size=2, max_size=2, unique=True))
def test_more_glare_is_less_density(skin: np.ndarray, depth: float, glares: list[float]) -> None:
    """Veiling glare lowers every density, the more the more there is of it."""
    camera = attrs.evolve(Camera.plain(2), glare=np.sort(glares))
    less, more = channel_density_seen(skin * 10**-depth, skin, camera)
    assert (more <= less + 1e-12).all()
    assert (less <= depth + 1e-9).all()


@given(seeds, skins, depths, st.floats(0.01, 1))
def test_darker_ink_never_reads_lighter(seed: int, skin: np.ndarray, depth: float, more: float) -> None:
    """A neutral film made deeper is never read as less deep, in any camera."""
    camera = attrs.evolve(draw_cameras(np.random.default_rng(seed), 8), levels=0)
    less, deeper = (channel_density_seen(skin * 10**-d, skin, camera) for d in (depth, depth + more))
    assert (deeper >= less - 1e-9).all()


@given(seeds, skins)
def test_what_is_recorded_is_between_black_and_white(seed: int, skin: np.ndarray) -> None:
    """No camera records less than black or more than white."""
    seen = photograph(skin, draw_cameras(np.random.default_rng(seed), 20))
    assert ((seen >= 0) & (seen <= 1)).all()


@given(seeds, skins, st.floats(0.1, 1.0))
def test_the_band_shrinks_to_nothing_with_the_spread(seed: int, skin: np.ndarray, depth: float) -> None:
    """Cameras that differ less differ less in what they read; cameras that are all alike not at all."""
    z = np.random.default_rng(seed).standard_normal((200, NORMALS))
    bands = []
    for size in (1.0, 0.3, 0.0):
        camera = attrs.evolve(draw_cameras(size * z, 200), levels=0, gain=np.ones((200, 3)))
        bands.append(np.trace(density_spread(skin * 10**-depth, skin, camera).covariance))
    assert bands[0] > bands[1] > bands[2]
    assert bands[2] < 1e-20


indices = st.floats(-0.2, 1.5)
noises = st.floats(0.005, 1.0)
bands = st.sampled_from([800, 850, 940, 1000, 1050])


@given(indices, noises, bands)
def test_kinds_of_ink_add_up_and_are_never_sure(q: float, sd: float, band: int) -> None:
    """The probabilities add up to one, and none is ever nought or one."""
    found = probability_of_type(q, sd, band)
    assert set(found) == set(TYPES)
    assert sum(found.values()) == 1 or abs(sum(found.values()) - 1) < 1e-12
    assert all(0.001 < p < 0.999 for p in found.values())


@given(indices, st.floats(0.01, 0.5), noises, bands)
def test_more_darkness_left_is_more_carbon(q: float, more: float, sd: float, band: int) -> None:
    """The more of an ink is left in infrared, the likelier carbon and the less likely plain iron-tannin ink."""
    less, deeper = probability_of_type(q, sd, band), probability_of_type(q + more, sd, band)
    assert deeper["carbon"] >= less["carbon"] - 1e-6
    assert deeper["iron-tannin"] <= less["iron-tannin"] + 1e-6


@given(indices, noises, bands)
def test_noise_leads_back_to_the_prior(q: float, sd: float, band: int) -> None:
    """A noisy look moves the odds less than a sharp one; a hopeless one not at all."""
    found = [probability_of_type(q, s, band) for s in (sd, 10 * sd, 1e3)]
    off = [max(abs(f[k] - prior()[k]) for k in TYPES) for f in found]
    assert off[1] <= off[0] + 0.02
    assert off[2] < 1e-3


@given(st.floats(0.1, 1.5), st.floats(0, 1.5), st.floats(0.001, 0.1))
def test_an_index_of_nothing_left_is_nought(red: float, infrared: float, sd: float) -> None:
    """The index is the ratio of the densities, and its error grows with each of theirs."""
    q, error = fading_index(red, infrared, (sd, sd))
    assert q * red == np.float64(infrared) or abs(q * red - infrared) < 1e-9
    assert fading_index(red, infrared, (2 * sd, sd))[1] >= error
    assert fading_index(red, 0, (sd, sd))[0] == 0
