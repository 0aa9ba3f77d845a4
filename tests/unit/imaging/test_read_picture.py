"""The whole reading, on rendered pages whose truth is known."""

from __future__ import annotations

import io
import itertools
import json
import math

import attrs
import numpy as np
import pytest
from PIL import Image

from inkhorn.errors import PictureError
from inkhorn.imaging.load import load_picture
from inkhorn.imaging.overlay import TINTS, overlay
from inkhorn.imaging.read import read_all, read_picture
from inkhorn.imaging.reading import GAP, INTACT, RULING, THINNED
from support.rendered_pages import Page, render

PLAIN = Page(height=420, width=620, seed=21)
WORN = Page(height=520, width=900, bare=0.2, thinned=0.2, seed=22)


def _read(page: Page):
    truth = render(page)
    return truth, read_picture(truth.png())


@pytest.fixture(scope="module")
def fresh():
    """Render and read a fresh page once."""
    return _read(PLAIN)


@pytest.fixture(scope="module")
def worn():
    """Render and read a worn page once: truth, picture, reading, maps."""
    truth = render(WORN)
    return truth, *read_all(truth.png())


def test_a_fresh_page_reads_its_density(fresh) -> None:
    """On an unworn page each channel's density is right to 0.03 and nothing is called worn."""
    truth, reading = fresh
    np.testing.assert_allclose(reading.optical_density, truth.density, atol=0.03)
    assert reading.wear.intact > 0.95
    assert reading.coverage == pytest.approx(truth.coverage, rel=0.06)


def test_worn_pages_report_the_intact_ink(worn) -> None:
    """On a worn page the density is that of intact ink, not of what is left on average."""
    truth, _, reading, _ = worn
    np.testing.assert_allclose(reading.optical_density, truth.density, atol=0.06)
    got = [reading.wear.bare, reading.wear.thinned, reading.wear.intact]
    np.testing.assert_allclose(got, truth.wear, atol=0.1)
    assert sum(got) == pytest.approx(1)


def test_the_average_of_dark_pixels_would_fail(worn) -> None:
    """The check above has teeth: the plain mean over stroke pixels misses by more than it allows."""
    truth, picture, _, maps = worn
    naive = maps.density[maps.ink].mean(axis=0)
    assert np.abs(naive - truth.density).max() > 0.1
    assert picture.shape == maps.ink.shape


@pytest.mark.parametrize(
    "change",
    [
        {"gradient": 0.6},
        {"vignette": 0.4},
        {"cast": (1.0, 0.8, 0.5)},
        {"ruling": 0.15},
        {"stains": 3},
        {"show_through": 0.08},
        {"jpeg": 85},
        {"noise": 0.012},
        {"blur": 1.4},
        {"density": (0.2, 0.25, 0.33)},
        {"density": (1.1, 1.15, 1.2)},
    ],
    ids=lambda change: next(iter(change)),
)
def test_what_the_camera_does_cancels(change: dict[str, object]) -> None:
    """Light, lens, file, ruling, stains and show-through change the density by less than 0.06."""
    truth, reading = _read(attrs.evolve(PLAIN, bare=0.08, thinned=0.12, **change))
    np.testing.assert_allclose(reading.optical_density, truth.density, atol=0.06)


def test_ink_is_told_from_pools() -> None:
    """Dark pools where the pen paused are said and left out: the density is that of the strokes."""
    truth, reading = _read(attrs.evolve(PLAIN, density=(0.4, 0.45, 0.5), pools=0.2))
    np.testing.assert_allclose(reading.optical_density, truth.density, atol=0.04)
    assert any("pools" in warning for warning in reading.warnings)
    assert reading.wear.thinned < 0.05


def test_brightness_and_cast_change_nothing() -> None:
    """Multiplying each channel of the light by a constant leaves the densities as they were."""
    truth = render(PLAIN)
    picture = load_picture(truth.png())
    dimmed = attrs.evolve(picture, linear=picture.linear * np.array([0.8, 0.5, 0.3], np.float32))
    np.testing.assert_allclose(
        read_picture(dimmed).optical_density, read_picture(picture).optical_density, atol=0.004
    )


def test_turning_the_page_changes_little(worn) -> None:
    """A page read upside down or on its side reads the same within its own error."""
    truth, _, reading, _ = worn
    for turns in (1, 2):
        picture = load_picture(truth.png())
        turned = attrs.evolve(
            picture,
            linear=np.ascontiguousarray(np.rot90(picture.linear, turns)),
            valid=np.rot90(picture.valid, turns),
        )
        again = read_picture(turned)
        assert np.all(np.abs(again.optical_density - reading.optical_density) < reading.sd)


def test_the_seed_decides_the_error_bars() -> None:
    """The same picture and seed give the same reading to the last digit."""
    data = render(PLAIN).png()
    assert read_picture(data, seed=4).to_dict() == read_picture(data, seed=4).to_dict()


def test_covariance_is_a_covariance(worn) -> None:
    """The covariance is symmetric, positive definite, and its diagonal is the squared sd."""
    reading = worn[2]
    np.testing.assert_allclose(reading.covariance, reading.covariance.T)
    assert np.linalg.eigvalsh(reading.covariance).min() > 0
    np.testing.assert_allclose(np.diag(reading.covariance), reading.sd**2)


def test_the_answer_is_json(fresh) -> None:
    """to_dict() is plain JSON with the documented keys; lengths in mm are null without a scale."""
    answer = json.loads(json.dumps(fresh[1].to_dict(), allow_nan=False))
    assert set(answer) == {
        "card", "scale_mm_per_px", "scale_sd", "optical_density", "lab", "lab_sd", "support_lab", "support_lab_sd",
        "spread", "coverage", "strokes", "wear", "warnings",
    }  # fmt: skip
    assert set(answer["optical_density"]) == {"R", "G", "B"}
    assert set(answer["wear"]) == {"intact", "thinned", "bare"}
    assert answer["card"] is False
    assert answer["lab"] is None
    assert answer["strokes"][0]["width_mm"] is None


def test_a_scale_gives_millimetres() -> None:
    """With a scale every length in mm or um is the one in px times it."""
    reading = read_picture(render(PLAIN).png(), mm_per_px=0.05)
    for stroke in reading.strokes:
        answer = stroke.to_dict()
        assert answer["width_mm"] == pytest.approx(stroke.width_px * 0.05, abs=1e-4)
        assert answer["blur_um"] == pytest.approx(stroke.blur_px * 50, abs=0.06)
    assert reading.scale_mm_per_px == 0.05


def test_burnt_out_support_is_said() -> None:
    """Support recorded as full white has lost its level: a warning says that densities are too low."""
    reading = read_picture(render(attrs.evolve(PLAIN, support=(1.3, 1.2, 1.1))).png())
    assert any("burnt out" in warning for warning in reading.warnings)


def test_blur_is_the_cameras() -> None:
    """The blur read from the edges is the blur that was put on, within a quarter."""
    for blur in (0.8, 1.3):
        reading = read_picture(render(attrs.evolve(PLAIN, blur=blur, nib=11, hairline=9, x_height=50)).png())
        # drawing at double size and averaging adds the spread of a box one px wide, 1/sqrt 12
        assert reading.blur_px == pytest.approx(math.hypot(blur, 12**-0.5), rel=0.25)


def test_ruling_is_not_ink() -> None:
    """Ruled lines are found, counted, kept out of the ink, and do not add to coverage."""
    page = attrs.evolve(PLAIN, ruling=0.25, height=620)
    truth = render(page)
    _, reading, maps = read_all(truth.png())
    assert 3 <= reading.rules <= 6
    assert (maps.state == RULING).mean() > 0.005
    assert reading.coverage == pytest.approx(truth.coverage, rel=0.08)
    assert any("ruled" in warning for warning in reading.warnings)


def test_deep_ink_warns_of_the_surface() -> None:
    """Above a density of 1.2 the reader says that strength is hidden by the surface."""
    deep = read_picture(render(attrs.evolve(PLAIN, density=(1.35, 1.4, 1.45))).png())
    pale = read_picture(render(PLAIN).png())
    assert any("mirrors" in warning for warning in deep.warnings)
    assert not any("mirrors" in warning for warning in pale.warnings)
    assert deep.sd[1] > 2 * pale.sd[1]


def test_maps_agree_with_the_reading(worn) -> None:
    """The median map density of intact pixels is the reading's, and states lie inside the strokes."""
    truth, _, reading, maps = worn
    inside = maps.density[maps.state == INTACT]
    np.testing.assert_allclose(np.median(inside, axis=0), reading.optical_density, atol=0.06)
    assert maps.density.dtype == np.float32
    assert maps.state.dtype == np.uint8
    assert not (maps.ink & ~maps.strokes).any()
    assert (truth.stroke[maps.state == INTACT] > 0.5).mean() > 0.95
    light = maps.support[~maps.strokes]
    assert light.min() > 0


def test_states_are_where_the_wear_is(worn) -> None:
    """Pixels called thinned are mostly thinned in truth, those called intact mostly intact."""
    truth, _, _, maps = worn
    assert truth.state[..., 1][maps.state == THINNED].mean() > 0.6
    assert truth.state[..., 2][maps.state == INTACT].mean() > 0.85


def test_a_grey_page_says_so_and_reads_equal_channels() -> None:
    """A grey scan has three equal densities and a warning."""
    data = render(PLAIN)
    grey = np.asarray(Image.fromarray(data.encoded).convert("L"))
    reading = read_picture(_png(grey))
    assert np.ptp(reading.optical_density) < 1e-9
    assert any("greyscale" in warning for warning in reading.warnings)


def test_a_dark_table_round_the_sheet_is_left_out() -> None:
    """A sheet photographed on something dark reads as the sheet alone."""
    truth = render(PLAIN)
    framed = np.full((PLAIN.height + 160, PLAIN.width + 200, 3), 22, np.uint8)
    framed[80:-80, 100:-100] = truth.encoded
    reading = read_picture(_png(framed))
    np.testing.assert_allclose(reading.optical_density, truth.density, atol=0.04)
    assert reading.coverage == pytest.approx(truth.coverage, rel=0.1)


@pytest.mark.parametrize("kind", ["blank", "noise", "black", "white"])
def test_a_page_without_ink_is_refused(kind: str) -> None:
    """Nothing to read is an error with a mend, not a number."""
    rng = np.random.default_rng(0)
    scene = {
        "blank": np.clip(rng.normal(200, 2, (300, 400, 3)), 0, 255),
        "noise": np.clip(rng.normal(128, 9, (300, 400, 3)), 0, 255),
        "black": np.zeros((300, 400, 3)),
        "white": np.full((300, 400, 3), 255),
    }[kind].astype(np.uint8)
    with pytest.raises(PictureError) as caught:
        read_picture(_png(scene))
    assert caught.value.mend


def test_the_overlay_shows_every_state_in_its_own_tint(worn) -> None:
    """The overlay is an 8-bit picture of the same size; states differ plainly in colour."""
    _, picture, reading, maps = worn
    drawn = overlay(picture, reading)
    assert drawn.shape == (*picture.shape, 3)
    assert drawn.dtype == np.uint8
    means = {state: drawn[maps.state == state].mean(axis=0) for state in (INTACT, THINNED, GAP)}
    for a, b in itertools.combinations(means.values(), 2):
        assert np.abs(a - b).max() > 60


def test_no_tint_is_a_brown_or_a_blue_black() -> None:
    """No tint can be taken for ink or skin: each is grey or strongly coloured."""
    for red, green, blue in TINTS.values():
        brown = red > green > blue and red - blue < 150
        assert not brown
        assert max(red, green, blue) > 100


def _png(array: np.ndarray) -> bytes:
    out = io.BytesIO()
    Image.fromarray(array).save(out, "PNG")
    return out.getvalue()
