"""What lies round and on the writing of a real picture does not change what is read of the ink.

The bounds are those asked of an original without a card: 0.06 per channel, wear within 0.1 to 0.12 where
it is at most 0.3, and no error beyond three of those stated.
"""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, ImageFilter

from inkhorn.errors import PictureError
from inkhorn.imaging.read import read_picture
from support.hard_pages import hard_page
from support.rendered_pages import any_page, render

ROUND_IT = ("bed", "white_bed", "screenshot", "finger", "gutter")
ON_IT = ("window", "hand_shadow", "margin", "holes", "stamp", "rubrics", "crease", "columns", "dark_ruling")
OF_IT = ("slant", "shade", "lamp", "poor_jpeg", "dense", "huge", "pale", "dim")


@pytest.mark.parametrize("kind", [*ROUND_IT, *ON_IT, *OF_IT])
def test_the_ink_reads_the_same(kind: str) -> None:
    """Density, its stated error and the worn share hold."""
    page = hard_page(kind, 1)
    reading = read_picture(page.file())
    error = reading.optical_density - page.density
    assert np.abs(error).max() < 0.06
    assert (np.abs(error) < 3 * reading.sd).all()
    assert reading.wear.bare == pytest.approx(page.wear[0], abs=0.1)
    assert reading.wear.thinned == pytest.approx(page.wear[1], abs=0.12)
    assert not any("patches" in warning for warning in reading.warnings)


@pytest.mark.parametrize("seed", [1, 4])
def test_writing_too_small_to_part_its_strokes_is_refused(seed: int) -> None:
    """Letters 5 px high with strokes of 1.4 px run together: refused, and not read as broader strokes."""
    with pytest.raises(PictureError, match="too narrow in pixels"):
        read_picture(hard_page("tiny", seed).file())


def _changed(kind: str) -> bytes:
    """Return a plain page out of focus, or in a palette of few colours."""
    image = Image.fromarray(hard_page("plain", 1).encoded)
    image = image.filter(ImageFilter.GaussianBlur(9)) if kind == "blurred" else image.convert("P")
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def test_a_picture_out_of_focus_is_told() -> None:
    """Blur much wider than the strokes leaves rows of words that look like strokes: that is said."""
    assert any("out of focus" in warning for warning in read_picture(_changed("blurred")).warnings)
    assert not any("out of focus" in w for w in read_picture(hard_page("huge", 1).file()).warnings)


def test_a_palette_is_named_as_the_fault() -> None:
    """Where no ink can be told for want of colours, that is said, and how to save the picture."""
    with pytest.raises(PictureError, match="palette of few colours") as refused:
        read_picture(_changed("palette"))
    assert "full colour" in refused.value.mend


@pytest.mark.parametrize("kind", ["bed", "white_bed", "screenshot"])
def test_only_the_sheet_counts(kind: str) -> None:
    """The share under strokes is that of the page, not of the picture: frame, caption and bar of steps are left out."""
    page = hard_page(kind, 2)
    assert read_picture(page.file()).coverage == pytest.approx(page.area, rel=0.15)


@pytest.mark.parametrize("kind", ["rubrics", "rubric_lines"])
def test_red_writing_is_left_out(kind: str) -> None:
    """Red initials and lines are no thinned ink: they are left out, and that is said."""
    page = hard_page(kind, 2)
    reading = read_picture(page.file())
    assert np.abs(reading.optical_density - page.density).max() < 0.03
    assert reading.wear.thinned == pytest.approx(page.wear[1], abs=0.05)
    assert reading.coverage == pytest.approx(page.area, rel=0.1)
    assert any("another colour" in warning for warning in reading.warnings)


def test_a_page_in_one_ink_has_no_other() -> None:
    """Ink thinned over a third of the page is no other ink."""
    page = any_page(3)
    reading = read_picture(render(page).png())
    assert not any("another colour" in warning for warning in reading.warnings)


def test_bars_of_light_leave_the_whole_sheet() -> None:
    """Shadows with writing on both sides part the light, not the sheet."""
    page = hard_page("window", 3)
    reading = read_picture(page.file())
    assert (reading.state > 0).mean() > 0.95
    assert reading.coverage == pytest.approx(page.area, rel=0.15)
