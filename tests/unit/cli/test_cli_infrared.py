"""The command over a pair of pictures, visible and infrared."""

from __future__ import annotations

import json
from pathlib import Path

import attrs
import pytest
from click.testing import CliRunner

from inkhorn.cli.main import cli
from support.answers import faults
from support.infrared_pairs import infrared_of
from support.rendered_pages import Page, render

PAGE = Page(height=420, width=640, seed=5, x_height=38, nib=8)


@pytest.fixture(scope="module")
def pair(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, Path]:
    """Return a visible picture, its infrared one, and that of another page."""
    folder = tmp_path_factory.mktemp("pair")
    paths = (folder / "page.png", folder / "page-ir.png", folder / "other-ir.png")
    paths[0].write_bytes(render(PAGE).png())
    paths[1].write_bytes(infrared_of(PAGE, 0.12, turned_deg=3, scale=0.9))
    paths[2].write_bytes(infrared_of(attrs.evolve(PAGE, seed=8), 0.12))
    return paths


def test_answer_keeps_to_its_schema(pair: tuple[Path, Path, Path]) -> None:
    """The answer must be that of a photograph with one more key, and the chances add up to 1."""
    result = CliRunner().invoke(cli, ["photo", str(pair[0]), "--infrared", str(pair[1]), "--json"])
    assert result.exit_code == 0, result.output
    answer = json.loads(result.stdout)
    assert faults("photo", answer) == []
    assert sum(answer["infrared"]["probability"].values()) == pytest.approx(1, abs=1e-3)
    assert answer["infrared"]["probability"]["iron_tannin"] > 0.9


def test_it_is_said_in_words(pair: tuple[Path, Path, Path]) -> None:
    """Without --json the kind must be told in a sentence."""
    result = CliRunner().invoke(cli, ["photo", str(pair[0]), "--infrared", str(pair[1])])
    assert "At 940 nm the ink keeps" in result.output
    assert "iron-tannin" in result.output


def test_wrong_pair_is_refused(pair: tuple[Path, Path, Path]) -> None:
    """The infrared picture of another page must end in an error that says what to do."""
    result = CliRunner().invoke(cli, ["photo", str(pair[0]), "--infrared", str(pair[2])])
    assert result.exit_code != 0
    assert "same page" in result.output
    assert "Photograph the same strokes" in " ".join(result.output.split())


def test_one_infrared_picture_for_many_is_refused(pair: tuple[Path, Path, Path]) -> None:
    """Several photographs with one infrared picture make no pair."""
    result = CliRunner().invoke(cli, ["photo", str(pair[0]), str(pair[0]), "--infrared", str(pair[1])])
    assert result.exit_code != 0
    assert "pair by pair" in result.output
