"""Print and writing of a few px a stroke: refused, or read with a warning and an error that holds."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pytest
import skimage.data
from PIL import Image

from inkhorn.errors import PictureError
from inkhorn.imaging.read import read_picture
from support.rendered_pages import Page, _srgb, render

BIG = Page(height=1400, width=2000, nib=14, hairline=6, x_height=68, seed=4)


def _png(array: np.ndarray) -> bytes:
    out = io.BytesIO()
    Image.fromarray(array).save(out, "PNG")
    return out.getvalue()


@pytest.fixture(scope="module")
def big():
    """Return a page with broad strokes of 14 px."""
    return render(BIG)


def _smaller(rendered, by: int, blur: float) -> bytes:
    """Return the page ``by`` times smaller, blurred in linear light."""
    light = np.where(
        rendered.encoded <= 10, rendered.encoded / 3294.6, ((rendered.encoded / 255 + 0.055) / 1.055) ** 2.4
    )
    small = cv2.resize(light, None, fx=1 / by, fy=1 / by, interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), blur) if blur else small
    return _png(np.rint(255 * _srgb(np.clip(small, 0, 1))).astype(np.uint8))


def test_a_page_of_tiny_print_is_refused() -> None:
    """Print whose strokes are two px wide is no wide patch with wear: it is refused, with how much nearer to go."""
    with pytest.raises(PictureError, match="too narrow in pixels") as refused:
        read_picture(_png(skimage.data.page()))
    assert "times nearer" in refused.value.mend
    assert "4 px" in refused.value.mend


def test_the_same_print_larger_is_strokes() -> None:
    """Made twice as large it is read as many strokes, not as patches."""
    twice = cv2.resize(skimage.data.page(), None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    reading = read_picture(_png(twice))
    assert len(reading.strokes) > 50
    assert not any("patches" in warning for warning in reading.warnings)


@pytest.mark.parametrize("name", ["grass", "chelsea"])
def test_a_picture_of_no_writing_is_refused(name: str) -> None:
    """A meadow and a cat are refused, and it is said what to photograph."""
    with pytest.raises(PictureError, match="ink") as refused:
        read_picture(_png(getattr(skimage.data, name)()))
    assert "writing" in refused.value.mend


@pytest.mark.parametrize(("by", "blur"), [(4, 0.0), (4, 0.6), (5, 0.0), (5, 0.4)])
def test_hairlines_widen_the_error(big, by: int, blur: float) -> None:
    """Strokes under 4 px are warned of, and the density lies within two of the errors stated, which are wider."""
    fine, small = read_picture(big.png()), read_picture(_smaller(big, by, blur))
    assert any("px wide" in w and "at least 4 px" in w for w in small.warnings)
    assert not any("px wide" in w for w in fine.warnings)
    assert (np.abs(small.optical_density - big.density) < 2 * small.sd).all()
    assert (small.sd > 1.5 * fine.sd).all()
    assert small.wear_sd.thinned > 1.5 * fine.wear_sd.thinned
    assert small.wear.thinned < 2 * small.wear_sd.thinned


@pytest.mark.parametrize(("by", "blur"), [(7, 0.0), (6, 0.8), (4, 1.6), (3, 2.0)])
def test_strokes_without_an_unblurred_pixel_are_refused(big, by: int, blur: float) -> None:
    """Strokes under 2.3 px, or under some three spreads of their blur, are refused."""
    with pytest.raises(PictureError, match=r"too narrow in pixels|too blurred"):
        read_picture(_smaller(big, by, blur))
