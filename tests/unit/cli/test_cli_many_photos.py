"""Many photographs in one command."""

from __future__ import annotations

import json
from pathlib import Path

import attrs
import pytest
from click.testing import CliRunner

from inkhorn.cli import many
from inkhorn.cli.ask import photo
from inkhorn.errors import PictureError
from support.rendered_pages import Page, render

PAGE = Page(height=300, width=420, x_height=30)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a folder of two pages, a broken picture and something that is none."""
    place = tmp_path_factory.mktemp("pictures")
    for k in (1, 2):
        (place / f"page{k}.png").write_bytes(render(attrs.evolve(PAGE, seed=k)).png())
    (place / "broken.jpg").write_bytes(b"no picture at all")
    (place / "notes.txt").write_text("not a picture")
    return place


def test_a_folder_is_read_and_a_broken_picture_stops_nothing(folder: Path, tmp_path: Path) -> None:
    """Each picture has its answer in the order of names; the broken one has its fault; overlays lie in the folder."""
    done = CliRunner().invoke(photo, [str(folder), "--overlay", str(tmp_path / "seen"), "--json"])
    assert done.exit_code == 0, done.output
    answers = json.loads(done.stdout)["pictures"]
    assert [Path(a["picture"]).name for a in answers] == ["broken.jpg", "page1.png", "page2.png"]
    assert answers[0]["error"] == "PictureError"
    assert answers[0]["mend"]
    alone = CliRunner().invoke(photo, [str(folder / "page1.png"), "--json"])
    assert answers[1]["reading"] == json.loads(alone.stdout)
    assert sorted(p.name for p in (tmp_path / "seen").iterdir()) == ["page1.png", "page2.png"]


def test_words_say_each_picture_and_the_count(folder: Path) -> None:
    """In words each picture is named, what was read follows, and the last line counts."""
    done = CliRunner().invoke(photo, [str(folder / "page1.png"), str(folder / "broken.jpg")])
    assert done.exit_code == 0
    assert "Channel density" in done.stdout
    assert "Not read" in done.stdout
    assert "1 of 2 pictures were read." in done.stdout


def test_nothing_read_is_a_fault(folder: Path) -> None:
    """If no picture at all could be read the command says so by its exit code."""
    done = CliRunner().invoke(photo, [str(folder / "broken.jpg"), str(folder / "absent.jpg"), "--json"])
    assert done.exit_code == 2
    assert [a["error"] for a in json.loads(done.stdout)["pictures"]] == ["PictureError", "PictureError"]


def test_a_folder_without_pictures_is_refused(tmp_path: Path) -> None:
    """An empty folder is a mistake, not an empty answer."""
    with pytest.raises(PictureError):
        many.pictures_in([str(tmp_path)])


def test_overlays_of_one_name_do_not_overwrite_each_other(tmp_path: Path) -> None:
    """Pictures called alike in two folders have overlays of their own."""
    paths = [tmp_path / "a" / "page.jpg", tmp_path / "b" / "page.jpg"]
    assert len(set(many.overlay_names(paths, tmp_path))) == 2
