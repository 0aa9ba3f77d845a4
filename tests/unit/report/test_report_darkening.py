"""A trial's darkening over time, from photographs recorded one after another."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import attrs
import numpy as np
import pytest
from click.testing import CliRunner

import inkhorn
from inkhorn.cli.main import cli
from inkhorn.errors import CounselError
from inkhorn.report.darkening import Darkening, span
from inkhorn.report.darkening_chart import chart
from support.answers import faults
from support.infrared_pairs import infrared_of
from support.rendered_pages import Page, render

FINAL = Page(height=380, width=560, seed=4, x_height=36, nib=8, density=(0.75, 0.75, 0.75))
# An invented pot; the photographs are of rendered strokes.
ENTRIES: list[dict[str, Any]] = [
    {"at": "2026-09-12T10:05", "kind": "gather", "lot": "sumac-leaf", "material": "sumac leaf", "amount": "500 g"},
    {"at": "2026-09-12T10:15", "kind": "steep", "lot": "sumac-leaf", "amount": "160 g", "liquid": "spring water", "liquid_amount": "about 1.5 L", "into": "pot", "for": "18 h", "temperature": "17 degC"},
    {"at": "2026-09-13T05:00", "kind": "strain", "vessel": "pot", "into": "pot"},
    {"at": "2026-09-13T09:00", "kind": "add", "into": "pot", "lot": "bought green vitriol", "amount": "15 g"},
    {"at": "2026-09-13T10:00", "kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-1", "method": "line", "pen": "reed-3mm"},
    {"at": "2026-09-13T10:02", "kind": "mark", "vessel": "pot", "trial": "t2", "support": "goat-1", "method": "line", "pen": "reed-3mm"},
]  # fmt: skip
LOOKS = (("2026-09-13T10:10", 0.5, 4.0), ("2026-09-13T12:00", 0.8, -3.0))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a workshop with three photographs of a trial, and one of other strokes among them."""
    path = tmp_path_factory.mktemp("dark") / "saltmere"
    pictures = path.parent
    with inkhorn.Workshop.create(path) as shop:
        for entry in ENTRIES:
            shop.record(entry)
        looks = [(at, infrared_of(FINAL, level, turned_deg=turn)) for at, level, turn in LOOKS]
        looks.append(("2026-09-14T10:00", render(FINAL).png()))
        looks.append(("2026-09-13T11:00", render(attrs.evolve(FINAL, seed=11)).png()))
        for n, (at, content) in enumerate(looks):
            file = pictures / f"{n}.png"
            file.write_bytes(content)
            shop.record({"at": at, "kind": "reading", "of": "trial:t1", "what": "photo", "value": str(file)})
    return path


@pytest.fixture(scope="module")
def found(folder: Path) -> Darkening:
    """Return its darkening."""
    with inkhorn.Workshop.open(folder) as shop:
        return shop.darkening("t1")


def test_points_stand_in_order_of_time_since_the_mark(found: Darkening) -> None:
    """Readings must be lined up by time since the mark, however they were recorded."""
    assert [p.seconds for p in found.points] == [600, 3600, 7200, 86400]


def test_same_strokes_are_followed(found: Darkening) -> None:
    """Pictures of the same strokes must be followed and read at their true share; the stranger told by its entry."""
    assert [p.followed for p in found.points] == [True, False, True, True]
    first, _, third, last = (p.density.mean() for p in found.points)
    assert first / last == pytest.approx(0.5, abs=0.05)
    assert third / last == pytest.approx(0.8, abs=0.05)
    (notice,) = found.notices
    assert str(found.points[1].entry) in notice


def test_band_rises_and_holds_the_last_reading(found: Darkening) -> None:
    """The estimate's band must rise with time and be near what was last read."""
    middle = np.array([np.mean([f.median for f in row.values()]) for row in found.band])
    assert (np.diff(middle) >= -1e-9).all()
    at = int(np.argmin(np.abs(found.seconds - 86400)))
    assert middle[at] == pytest.approx(found.points[-1].density.mean(), abs=0.12)
    assert 0.5 < found.share.median <= 1


def test_chart_is_well_formed_and_shows_every_reading(found: Darkening) -> None:
    """The chart must be XML with a circle a reading inside its frame, and a text for those who cannot see it."""
    root = ET.fromstring(chart(found))  # noqa: S314  (made here)
    space = "{http://www.w3.org/2000/svg}"
    circles = root.findall(f"{space}circle")
    assert len(circles) == len(found.points)
    assert all(0 < float(c.get("cx", 0)) < 720 and 0 < float(c.get("cy", 0)) < 420 for c in circles)
    assert root.findtext(f"{space}desc") == found.sentence


def test_command_answers_by_its_schema_and_draws(folder: Path, tmp_path: Path) -> None:
    """The command must answer in JSON by the shipped schema, and in words with a chart."""
    out = tmp_path / "t1.svg"
    told = CliRunner().invoke(
        cli, ["estimate", str(folder), "--trial", "t1", "--over-time", "--figure", str(out)]
    )
    assert told.exit_code == 0, told.output
    assert "same strokes" in told.output
    assert out.read_text("utf-8").startswith("<svg")
    plain = CliRunner().invoke(cli, ["estimate", str(folder), "--trial", "t1", "--over-time", "--json"])
    assert faults("darkening", json.loads(plain.stdout)) == []


def test_trial_without_a_reading_is_told(folder: Path) -> None:
    """A trial that nobody measured, or that there is not, must be an error that says what to do."""
    with inkhorn.Workshop.open(folder) as shop:
        with pytest.raises(CounselError, match="nothing was measured"):
            shop.darkening("t2")
        with pytest.raises(CounselError, match="there is no trial"):
            shop.darkening("t9")


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (20, "20 seconds"),
        (60, "1 minute"),
        (3600, "1 hour"),
        (5000, "83 minutes"),
        (7200, "2 hours"),
        (86400 * 3, "3 days"),
    ],
)
def test_spans_as_one_says_them(seconds: float, text: str) -> None:
    """Spans of time must be said in the unit that people use."""
    assert span(seconds) == text


def test_over_time_is_asked_of_a_trial_alone(folder: Path) -> None:
    """Without a trial, or with a time, the question makes no sense and must be refused."""
    for more in (
        ["--over-time"],
        ["--trial", "t1", "--over-time", "--in", "2 h"],
        ["--trial", "t1", "--figure", "x.svg"],
    ):
        assert CliRunner().invoke(cli, ["estimate", str(folder), *more]).exit_code != 0
