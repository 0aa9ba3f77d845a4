"""The command that makes the card, and what the command for photographs takes of it."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest
from click.testing import CliRunner

import inkhorn
from inkhorn.cli.ask import photo
from inkhorn.cli.card import card
from inkhorn.imaging.card.layout import card as layout


@pytest.mark.parametrize("paper", [("a4", 210, 297), ("letter", 216, 279)])
@pytest.mark.parametrize("size", ["a6", "a5"])
def test_the_card_is_one_page_of_its_sheet(tmp_path: Path, size: str, paper: tuple[str, int, int]) -> None:
    """The PDF has one page, of A4 (ISO 216) or letter size, and says how to use it."""
    out = tmp_path / "c.pdf"
    done = CliRunner().invoke(card, ["--size", size, "--paper", paper[0], "--out", str(out)])
    assert done.exit_code == 0, done.output
    assert "--bar" in done.output
    with pypdfium2.PdfDocument(out) as document:
        assert len(document) == 1
        sides = [side / 72 * 25.4 for side in document[0].get_size()]
        text = document[0].get_textpage().get_text_range()
    assert sides == pytest.approx(paper[1:], abs=0.6)
    assert "Measure the bar" in text
    assert "100 mm" in text


def test_the_form_names_every_step(tmp_path: Path) -> None:
    """The form for measured values has the paper and each step of the card."""
    form = tmp_path / "card.csv"
    done = CliRunner().invoke(card, ["--out", str(tmp_path / "c.pdf"), "--values", str(form), "--black-only"])
    assert done.exit_code == 0, done.output
    names = [line.split(",")[0] for line in form.read_text("utf-8").splitlines()[1:]]
    assert set(names) == {"paper", *(patch.name for patch in layout("a6", black_only=True).patches)}


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--bar", "45 mm"], "too far from 100 mm"),
        (["--bar", "3 g"], "--bar"),
        (["--chart-corners", "1,2 3,4 5,6 7,8"], "not its measured colours"),
        (["--chart", "nowhere.csv"], "cannot be read"),
    ],
)
def test_what_cannot_be_is_told(tmp_path: Path, options: list[str], says: str) -> None:
    """A bar that is no bar, a chart without its file: one sentence with the mend, exit code 2."""
    done = CliRunner().invoke(photo, [str(tmp_path / "none.jpg"), *options])
    assert done.exit_code == 2
    assert says in done.output


def test_what_was_measured_is_kept_in_a_workshop(tmp_path: Path) -> None:
    """`--into` records bar and steps as readings of the card and makes no PDF; a bar without a workshop is refused."""
    shop, values = tmp_path / "bench", tmp_path / "card.csv"
    values.write_text("name,L,a,b\npaper,94.1,0.8,-3.9\nblack-1,19.5,0.4,0.6\n")
    inkhorn.Workshop.create(shop).close()
    done = CliRunner().invoke(card, ["--into", str(shop), "--bar", "98.4 mm", "--chart", str(values)])
    assert done.exit_code == 0, done.output
    with inkhorn.Workshop.open(shop) as workshop:
        readings = [(line.entry.of, line.entry.what) for line in workshop.daybook]
    assert readings == [("card:a6", "bar"), ("card:a6", "steps")]
    assert CliRunner().invoke(card, ["--bar", "98.4 mm"]).exit_code == 2
    assert CliRunner().invoke(card, ["--into", str(shop)]).exit_code == 2
