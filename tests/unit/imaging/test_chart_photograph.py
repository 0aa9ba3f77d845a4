"""A chart of measured colours in a photograph: the camera's bend of tone and colour is learnt and undone."""

from __future__ import annotations

import io

import attrs
import cv2
import numpy as np
import pytest
from PIL import Image

from inkhorn.colour.difference import ciede2000
from inkhorn.colour.lab import lab_to_xyz
from inkhorn.errors import PictureError
from inkhorn.imaging.calibrate.reference import Reference
from inkhorn.imaging.load import load_picture
from inkhorn.imaging.photo import Told, read_photo

ROWS, COLUMNS, SIDE = 4, 6, 60
TO_RGB = np.array(
    [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]]
)  # IEC 61966-2-1
CORNERS = np.array([[60.0, 60], [60 + 5 * 70, 60], [60 + 5 * 70, 60 + 3 * 70], [60, 60 + 3 * 70]])


def _colours() -> np.ndarray:
    """Return Lab of an invented chart: six greys, then browns, skins and a few strong colours."""
    rng = np.random.default_rng(4)
    greys = np.column_stack([np.linspace(94, 22, 6), np.zeros((6, 2))])
    warm = np.column_stack([rng.uniform(25, 85, 10), rng.uniform(-2, 12, 10), rng.uniform(2, 35, 10)])
    strong = np.column_stack([rng.uniform(35, 75, 8), rng.uniform(-35, 35, 8), rng.uniform(-35, 40, 8)])
    return np.vstack([greys, warm, strong])


def _reference() -> Reference:
    names = tuple(f"{'ABCD'[i // COLUMNS]}{i % COLUMNS + 1}" for i in range(ROWS * COLUMNS))
    grid = np.array([divmod(i, COLUMNS) for i in range(ROWS * COLUMNS)])
    return Reference(names=names, xyz=lab_to_xyz(_colours()), grid=grid)


def _camera(linear: np.ndarray, seed: int) -> bytes:
    """Return a PNG by a camera with a matrix, a white and a tone curve of its own."""
    mix = np.array([[0.88, 0.10, 0.02], [0.05, 0.90, 0.05], [0.02, 0.12, 0.86]]) * [[1.08], [1.0], [0.9]]
    seen = np.clip(0.8 * linear @ mix.T + 0.004, 0, 1)
    code = np.where(seen <= 0.0031308, 12.92 * seen, 1.055 * seen ** (1 / 2.4) - 0.055)
    code = 0.6 * code + 0.4 * code**2 * (3 - 2 * code)
    code = 255 * code + np.random.default_rng(seed).normal(0, 0.6, code.shape)
    out = io.BytesIO()
    Image.fromarray(np.clip(np.rint(code), 0, 255).astype(np.uint8)).save(out, "PNG")
    return out.getvalue()


def _scene(ink: np.ndarray, skin: np.ndarray) -> np.ndarray:
    """Return linear light of strokes on skin, and the chart in its upper left corner."""
    light = np.tile(lab_to_xyz(skin) @ TO_RGB.T, (900, 1000, 1))
    dark = lab_to_xyz(ink) @ TO_RGB.T
    cover = np.zeros((900, 1000), np.float32)
    for x in range(60, 960, 60):
        cv2.line(cover, (x, 400), (x + 14, 850), 1.0, 12, cv2.LINE_AA)
    cover = np.clip(cv2.GaussianBlur(cover, (0, 0), 0.8), 0, 1)[..., None]
    return light * (1 - cover) + dark * cover


def _chart() -> np.ndarray:
    light = np.full((330, 500, 3), 0.1)
    for i, lab in enumerate(_colours()):
        row, column = divmod(i, COLUMNS)
        y, x = 60 + 70 * row - SIDE // 2, 60 + 70 * column - SIDE // 2
        light[y : y + SIDE, x : x + SIDE] = np.clip(lab_to_xyz(lab) @ TO_RGB.T, 0, 1)
    return light


INK, SKIN = np.array([38.0, 4.0, 8.0]), np.array([86.0, 1.0, 15.0])


def _told(**more) -> Told:
    return Told(
        reference=_reference(),
        chart_corners=CORNERS,
        chart_picture=load_picture(_camera(_chart(), 1)),
        **more,
    )


def test_colour_is_true_by_a_chart() -> None:
    """Without the chart the camera is off in density; with it ink and skin are met to CIEDE2000 2, density to 0.03."""
    data = _camera(_scene(INK, SKIN), 2)
    true = -np.log10(lab_to_xyz(INK) @ TO_RGB.T / (lab_to_xyz(SKIN) @ TO_RGB.T))
    plain, charted = read_photo(data).reading, read_photo(data, told=_told()).reading
    assert plain.lab is None
    assert np.abs(plain.optical_density - true).max() > 0.06
    assert np.abs(charted.optical_density - true).max() < 0.03
    assert float(ciede2000(charted.lab, INK)) < 2
    assert float(ciede2000(charted.support_lab, SKIN)) < 2
    assert (np.abs(charted.lab - INK) < 3 * np.sqrt(np.diag(charted.lab_covariance))).all()


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"chart_corners": None}, "not known where the chart lies"),
        ({"chart_corners": CORNERS[[2, 3, 0, 1]]}, "not those of the chart's file"),
        ({"chart_corners": CORNERS + 4000}, "outside the picture"),
        (
            {"reference": Reference(names=("one", "two"), xyz=np.ones((2, 3)), grid=None)},
            "does not say where",
        ),
    ],
)
def test_a_chart_that_cannot_be_read_is_told(change: dict, says: str) -> None:
    """Turned corners, corners outside, no corners and no places are each told with the mend."""
    with pytest.raises(PictureError) as caught:
        read_photo(_camera(_scene(INK, SKIN), 2), told=attrs.evolve(_told(), **change))
    assert says in caught.value.what
    assert caught.value.mend
