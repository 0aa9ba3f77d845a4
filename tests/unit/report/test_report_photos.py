"""A photograph's reading in plain words: what a maker is told at once, and what stands with the figures."""

from __future__ import annotations

import numpy as np

from inkhorn.imaging import read
from inkhorn.report import photos

ROUTINE = (
    "the file's dpi tag is not used as a scale: it is often the scanner's, not the page's",
    "no colour profile in the file: sRGB is assumed",
    "no scale is known: lengths are in pixels only",
    "narrow strokes in a compressed picture: the colour of the ink is smeared with the support's",
    "8 ruled line(s) were found and left out",
    read.UNCALIBRATED,
)
BLURRED = "no edge is sharper than some 9 px, out of focus or shaken: photograph it again, sharp"


def reading(*warnings: str, density: float = 0.778) -> dict[str, object]:
    """Return the JSON of a reading with these warnings."""
    return {
        "strokes": [{}] * 19,
        "card": False,
        "optical_density": {c: {"value": density, "sd": 0.03} for c in "RGB"},
        "warnings": list(warnings),
    }


def test_a_maker_hears_what_was_found_and_how_dark_it_is() -> None:
    """10 to the minus 0.778 is a sixth (of the light); what is so with every photograph is kept for the figures."""
    assert photos.plain(reading(*ROUTINE)) == [
        "19 strokes were found.",
        "The ink gives back about a sixth of the light that the bare sheet beside it does.",
    ]
    assert len(photos.warnings(reading(*ROUTINE))) == len(ROUTINE)
    assert set(photos.warnings(reading(*ROUTINE))) <= set(photos.sentences(reading(*ROUTINE)))


def test_what_can_be_mended_is_said_at_once() -> None:
    """A warning that asks for another photograph, and one that nobody has thought of, are not put away."""
    told = photos.plain(reading(*ROUTINE, BLURRED, "something new"))
    assert told[2:] == [f"{BLURRED[0].upper()}{BLURRED[1:]}.", "Something new."]


def test_without_ink_nothing_is_said_of_its_darkness() -> None:
    """No density, no sentence."""
    bare = reading() | {"optical_density": {}, "strokes": []}
    assert photos.plain(bare) == ["No stroke was found."]
    assert photos.plain(reading(density=np.nan)) == ["19 strokes were found."]
