"""The figures of the manual: drawn from the library, each shown with words, none left behind."""

from __future__ import annotations

import importlib
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from support import pages

FOLDER = pages.ROOT / "docs" / "figures"
PAGES = sorted((pages.ROOT / "docs").rglob("*.md"))
_SHOWN = re.compile(r"!\[([^\]]*)\]\(([^)\s]+)\)")
_MODULES = ("make", "figure_look", "chemistry_figures", "flow_figures", "optics_figures")


@pytest.fixture(scope="module")
def made() -> Iterator[ModuleType]:
    """Import the script as it runs: from its own folder. Leave nothing of it behind."""
    sys.path.insert(0, str(FOLDER))
    try:
        yield importlib.import_module("make")
    finally:
        sys.path.remove(str(FOLDER))
        for name in _MODULES:
            sys.modules.pop(name, None)


def _shown() -> list[tuple[str, str, bool]]:
    """Return the words, the target and whether it exists, of every picture that a page shows."""
    return [
        (words, target, (page.parent / target).exists())
        for page in PAGES
        for words, target in _SHOWN.findall(page.read_text("utf-8"))
    ]


def _numbers(svg: str) -> np.ndarray:
    """Return every number of every path: where the lines of a figure run."""
    paths = re.findall(r'\bd="([^"]*)"', svg)
    return np.array([float(n) for path in paths for n in re.findall(r"-?\d+(?:\.\d+)?", path)])


def test_every_picture_shown_exists_and_has_words() -> None:
    """A page shows no picture that is not there, and says in words what each one shows."""
    shown = _shown()
    assert [target for _, target, exists in shown if not exists] == []
    assert [target for words, target, _ in shown if len(words.split()) < 8] == []


def test_the_folder_holds_what_the_script_draws(made: ModuleType) -> None:
    """The list of the script, the files of the folder and the pictures of the pages are the same."""
    files = {path.stem for path in FOLDER.glob("*.svg")}
    assert files == set(made.FIGURES)
    shown = {
        target.rsplit("/", 1)[-1].removesuffix(".svg") for _, target, _ in _shown() if "figures/" in target
    }
    assert shown == files


@pytest.mark.parametrize("name", ["darkening", "camera"])
def test_a_figure_drawn_again_is_the_figure_kept(name: str, made: ModuleType) -> None:
    """Drawn twice a figure is the same to the byte; its lines run where those of the file kept run.

    If the model or a row has changed since, ``make figures`` renews the files.
    """
    draw, look = made.FIGURES[name], sys.modules["figure_look"]
    again = look.svg(draw)
    assert look.svg(draw) == again
    kept = (FOLDER / f"{name}.svg").read_text("utf-8")
    assert _numbers(again) == pytest.approx(_numbers(kept), abs=0.05)


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.svg")), ids=lambda path: path.stem)
def test_a_figure_fits_a_phone_and_keeps_its_words(path: Path) -> None:
    """A figure is 390 px wide, holds its words as words of 10 px at least, and no date."""
    text = path.read_text("utf-8")
    assert re.search(r'<svg [^>]*width="390"', text)
    sizes = [float(size) for size in re.findall(r'<text style="[^"]*?([\d.]+)px', text)]
    assert len(sizes) == text.count("<text ") > 5
    assert min(sizes) >= 10
    assert "dc:date" not in text


def test_another_curve_is_noticed(made: ModuleType) -> None:
    """The look at lines is not blind: another figure's lines are elsewhere."""
    one, two = (_numbers((FOLDER / f"{n}.svg").read_text("utf-8")) for n in ("darkening", "camera"))
    assert one.shape != two.shape or np.abs(one - two).max() > 1
    assert "darkening" in made.FIGURES
