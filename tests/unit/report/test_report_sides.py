"""The two sides of a comparison, gathered from a daybook."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import attrs
import numpy as np
import pytest

import inkhorn
from inkhorn.colour.lab import lab_to_linear, linear_to_lab
from inkhorn.errors import CounselError, EntryError
from inkhorn.report import sides
from support.rendered_pages import Page, render

# Invented; a trial by reed and one by dipping, of one pot.
ENTRIES: list[dict[str, Any]] = [
    {"at": "2026-09-13T08:00", "kind": "vessel", "name": "pot", "capacity": "2 L"},
    {"at": "2026-09-13T08:05", "kind": "add", "into": "pot", "liquid": "water", "amount": "1 L"},
    {"at": "2026-09-13T10:00", "kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-1", "method": "line", "pen": "reed-3mm"},
    {"at": "2026-09-13T10:01", "kind": "mark", "vessel": "pot", "trial": "dip", "support": "goat-1", "method": "dip"},
    {"at": "2026-09-13T10:02", "kind": "mark", "vessel": "pot", "trial": "thin", "support": "goat-1", "method": "drop", "thinned": "1 in 8"},
]  # fmt: skip
SKIN = (82.0, 2.0, 16.0)
PAGE = Page(height=380, width=560, nib=8, x_height=36, support=(0.68, 0.60, 0.46))


def _density(of: str, level: float, at: str = "2026-09-14T10:00") -> dict[str, Any]:
    channels = dict.fromkeys("RGB", level)
    return {"at": at, "kind": "reading", "of": of, "what": "optical_density", "value": channels, "sd": 0.02}


def _lab_of(level: float) -> dict[str, float]:
    lab = linear_to_lab(lab_to_linear(np.array(SKIN)) * 10**-level)
    return {name: round(float(v), 3) for name, v in zip("Lab", lab, strict=True)}


@pytest.fixture
def shop(tmp_path: Path) -> inkhorn.Workshop:
    """Return a workshop with three trials of which nothing was read yet."""
    made = inkhorn.Workshop.create(tmp_path / "saltmere")
    for entry in ENTRIES:
        made.record(entry)
    return made


def _side(shop: inkhorn.Workshop, of: str) -> sides.Seen:
    sort, _, name = of.partition(":")
    gather = sides.trial if sort == "trial" else sides.original
    return gather(shop._plan(), name, shop.picture_path)


@pytest.mark.parametrize("of", ["trial:t1", "exemplar:roll"])
def test_lab_counts_where_nothing_else_was_read(shop: inkhorn.Workshop, of: str) -> None:
    """A colour measured on the ink must give the density that it amounts to against the bare support measured."""
    skin = dict(zip("Lab", SKIN, strict=True))
    bare = {"of": of, "what": "support_lab"} if "exemplar" in of else {"of": "support:goat-1", "what": "lab"}
    shop.record({"at": "2026-09-13T11:00", "kind": "reading", **bare, "value": skin, "sd": 0.5})
    shop.record(
        {
            "at": "2026-09-14T10:00",
            "kind": "reading",
            "of": of,
            "what": "lab",
            "value": _lab_of(0.7),
            "sd": 0.5,
        }
    )
    np.testing.assert_allclose(_side(shop, of).side.density, 0.7, atol=0.01)


def test_lab_and_density_count_together(shop: inkhorn.Workshop) -> None:
    """A colour beside densities must make the ink surer than the densities alone."""
    shop.record(_density("exemplar:roll", 0.7))
    alone = _side(shop, "exemplar:roll").side
    skin = dict(zip("Lab", SKIN, strict=True))
    shop.add_exemplar("roll", support_lab=skin, at="2026-09-14T10:01")
    shop.record(
        {
            "at": "2026-09-14T10:02",
            "kind": "reading",
            "of": "exemplar:roll",
            "what": "lab",
            "value": _lab_of(0.71),
        }
    )
    both = _side(shop, "exemplar:roll").side
    assert np.trace(both.covariance) < np.trace(alone.covariance)
    assert 0.69 < both.density.mean() < 0.72


def test_fresh_reading_of_a_trial_does_not_count_with_a_dry_one(shop: inkhorn.Workshop) -> None:
    """A stroke read wet and again next day must be compared as it is next day; two dry looks count together."""
    shop.record(_density("trial:t1", 0.3, "2026-09-13T10:10"))
    shop.record(_density("trial:t1", 0.8, "2026-09-14T10:00"))
    assert _side(shop, "trial:t1").side.density.mean() == pytest.approx(0.8)
    shop.record(_density("trial:t1", 0.82, "2026-09-14T16:00"))
    assert _side(shop, "trial:t1").side.density.mean() == pytest.approx(0.81, abs=0.002)


def test_picture_that_stands_apart_is_told(shop: inkhorn.Workshop, tmp_path: Path) -> None:
    """Of four pictures of a page the one of another ink must be told on recording, in the answer and by its entry."""
    files = []
    for n, depth in enumerate((0.85, 0.86, 0.84, 0.45)):
        page = attrs.evolve(PAGE, seed=n, density=(depth,) * 3)
        files.append(tmp_path / f"{n}.png")
        files[-1].write_bytes(render(page).png())
    numbers = shop.add_exemplar("roll", files[:3], at="2026-09-14T10:00")
    receipt = shop.receive(
        {
            "at": "2026-09-14T10:05",
            "kind": "reading",
            "of": "exemplar:roll",
            "what": "photo",
            "value": str(files[3]),
        }
    )
    assert any("paler than the other measures" in flag for flag in receipt.flags)
    shop.record(_density("trial:t1", 0.8))
    answer = shop.compare("t1", "roll").to_dict()
    (notice,) = answer["notices"]
    assert "paler" in notice
    seen = _side(shop, "exemplar:roll")
    assert 0.78 < seen.side.density.mean() < 0.9
    assert seen.tolerance > 0
    assert len(numbers) == 3


def test_same_picture_twice_counts_once(shop: inkhorn.Workshop, tmp_path: Path) -> None:
    """A picture given a second time must not make the page any surer."""
    file = tmp_path / "page.png"
    file.write_bytes(render(PAGE).png())
    shop.add_exemplar("roll", [file], at="2026-09-14T10:00")
    once = _side(shop, "exemplar:roll").side
    shop.add_exemplar("roll", [file], at="2026-09-14T11:00")
    twice = _side(shop, "exemplar:roll").side
    np.testing.assert_allclose(twice.covariance, once.covariance)
    np.testing.assert_allclose(twice.density, once.density)


def test_pen_and_hand_are_not_nothing(shop: inkhorn.Workshop) -> None:
    """A dipped strip beside a written page must put part of the difference, unsurely, to the film it took."""
    shop.record(_density("exemplar:roll", 0.6))
    shop.record(_density("trial:dip", 0.9))
    shop.record(_density("trial:t1", 0.9))
    dipped = shop.compare("dip", "roll").to_dict()["shares"]["pen"]
    by_pen = shop.compare("t1", "roll").to_dict()["shares"]["pen"]
    assert dipped["p95"] - dipped["p05"] > by_pen["p95"] - by_pen["p05"] > 0.5
    quill = shop.compare("t1", "roll", pen="quill").to_dict()["shares"]["pen"]
    # A quill lays less than a reed (rows pens.*.film): the deeper trial is partly its pen's doing.
    assert quill["median"] > by_pen["median"] + 1


def test_thinned_trial_is_told(shop: inkhorn.Workshop) -> None:
    """A thinned drop is not the ink as it writes, and that must be said."""
    shop.record(_density("exemplar:roll", 0.6))
    shop.record(_density("trial:thin", 0.3))
    assert "1 in 8" in shop.compare("thin", "roll").to_dict()["notices"][0]


def test_what_is_not_there_is_told(shop: inkhorn.Workshop) -> None:
    """Nothing measured, no such trial, no such pen: each must be an error that says what to do."""
    shop.record(_density("exemplar:roll", 0.6))
    with pytest.raises(CounselError, match="nothing was measured"):
        shop.compare("t1", "roll")
    with pytest.raises(CounselError, match="there is no trial"):
        shop.compare("t9", "roll")
    shop.record(_density("trial:t1", 0.6))
    with pytest.raises(EntryError):
        shop.compare("t1", "roll", pen="trombone")
