"""The manual holds together: its links lead somewhere, its commands run, and nothing private is in it."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from inkhorn.cli.main import COMMANDS, command_of
from inkhorn.daybook.wire import decode, encode
from support import pages

ROOT = pages.ROOT
DOCS = sorted((*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")))
TOP = ("README.md", "CONTRIBUTING.md", "CHANGELOG.md", "LICENSE")


def _named(page: Path) -> str:
    return str(page.relative_to(ROOT))


def _anchors(page: Path) -> set[str]:
    """Return what the headings of a page are called in a link, as the forges do it."""
    heads = re.findall(r"^#+ (.+)$", page.read_text("utf-8"), flags=re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


def _broken(page: Path) -> list[str]:
    out = []
    for link in pages.links(page):
        target, _, anchor = link.partition("#")
        if "://" in target or target.startswith("mailto:"):
            continue
        place = (page.parent / target).resolve() if target else page
        if not place.exists() or (anchor and anchor not in _anchors(place)):
            out.append(link)
    return out


@pytest.mark.parametrize("page", DOCS, ids=_named)
def test_every_link_leads_somewhere(page: Path) -> None:
    """A link to another page, a folder or a heading finds it."""
    assert _broken(page) == []


def test_a_broken_link_is_caught(tmp_path: Path) -> None:
    """The look at links is not blind: a missing page and a missing heading are both found."""
    page = tmp_path / "page.md"
    page.write_text("# A head\n[x](nowhere.md) [y](#no-such) [z](#a-head) [w](https://example.org/)\n")
    assert _broken(page) == ["nowhere.md", "#no-such"]


@pytest.mark.parametrize("page", sorted((ROOT / "docs").rglob("*.md")), ids=_named)
def test_every_page_can_be_found(page: Path) -> None:
    """From the first page of the manual every other is at most two links away; decisions by their folder."""
    start = ROOT / "docs" / "README.md"
    near = {(start.parent / link.partition("#")[0]).resolve() for link in pages.links(start)}
    assert page == start or page in near or page.parent in near


def test_the_readme_has_its_two_commands() -> None:
    """The two commands of the README are targets of the Makefile."""
    readme, makefile = (ROOT / "README.md").read_text("utf-8"), (ROOT / "Makefile").read_text("utf-8")
    for target in ("demo", "test"):
        assert f"make {target}" in readme
        assert re.search(rf"^{target}:", makefile, flags=re.MULTILINE)


@pytest.mark.parametrize("page", DOCS, ids=_named)
def test_every_make_target_named_exists(page: Path) -> None:
    """A page names no target that the Makefile does not have."""
    makefile = (ROOT / "Makefile").read_text("utf-8")
    named = set(re.findall(r"`make ([\w-]+)`", page.read_text("utf-8")))
    assert {t for t in named if not re.search(rf"^{t}:", makefile, flags=re.MULTILINE)} == set()


@pytest.mark.parametrize("page", DOCS, ids=_named)
def test_every_command_named_exists(page: Path) -> None:
    """Whatever a page calls ``inkhorn WORD`` in a box or in type is a command, with options it has."""
    text = page.read_text("utf-8")
    lines = [line for box in pages.boxes(page) for line in box.text.splitlines()]
    for line in (*lines, *re.findall(r"`([^`\n]+)`", text)):
        if match := re.match(r"inkhorn ([a-z]+)(.*)", line):
            assert match[1] in COMMANDS, line
            has = {option for param in command_of(match[1]).params for option in param.opts}
            written = re.sub(r"'[^']*'", "", match[2]).partition("|")[0]
            assert set(re.findall(r"(?<![\w-])--[a-z-]+", written)) <= {*has, "--help"}, line


def test_every_dependency_is_accounted_for() -> None:
    """The page of decisions says why each dependency is there, and names none that is not."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    extras = project["optional-dependencies"].values()
    asked = (*project["dependencies"], *(name for extra in extras for name in extra))
    text = (ROOT / "docs" / "decisions" / "0002-dependencies.md").read_text("utf-8")
    tables = "\n".join(line.split("|")[1] for line in text.splitlines() if line.startswith("| "))
    named = {word.strip() for word in re.split(r"[,\n]", tables)} - {"library", "---", ""}
    assert named == {re.split(r"[<>=\[]", name)[0] for name in asked}


@pytest.mark.parametrize("page", sorted((ROOT / "docs" / "decisions").glob("*.md")), ids=_named)
def test_a_decision_says_what_when_and_what_shows_it(page: Path) -> None:
    """A decision is numbered, dated, says what was decided and why, and what in the repository shows it."""
    text = page.read_text("utf-8")
    assert re.match(rf"# {int(page.name[:4])}\. .+\n\d{{4}}-\d{{2}}\n", text)
    assert "**Decided.**" in text or "## " in text
    for path in re.findall(r"`((?:src|tests|docs)/[\w/.-]+)`", text):
        assert (ROOT / path).exists(), path


@pytest.mark.parametrize("page", DOCS, ids=_named)
def test_every_file_named_exists(page: Path) -> None:
    """A path of this repository in a page is there."""
    named = re.findall(r"`((?:src|tests|docs|benchmarks|validation)/[\w/.-]+)`", page.read_text("utf-8"))
    assert [path for path in named if not (ROOT / path).exists()] == []


@pytest.mark.parametrize(
    ("page", "said"),
    [("docs/how-to/use-a-notebook.md", "Noticed of pot: pH 2.4, with strip."), ("README.md", "'unit': '1'")],
)
def test_the_python_of_a_page_runs(page: str, said: str, tmp_path: Path) -> None:
    """The Python of a page runs from top to bottom in an empty folder."""
    source = "\n".join(box.text for box in pages.boxes(ROOT / page) if box.language == "python")
    command = [sys.executable, "-c", source]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert said in done.stdout


@pytest.mark.parametrize("page", DOCS, ids=_named)
def test_every_entry_shown_can_be_read(page: Path) -> None:
    """Each line of JSON with a kind that a page shows is an entry the daybook understands."""
    for box in pages.boxes(page):
        for line in box.text.splitlines():
            if line.startswith("{") and '"kind"' in line:
                entry = {"at": "2026-09-12T10:00", **json.loads(line)}
                assert encode(decode(entry))["kind"] == entry["kind"]


def test_a_day_can_be_recorded_as_the_page_says(tmp_path: Path) -> None:
    """The commands of the page on recording run in order in an empty folder."""
    for command, _ in pages.steps(ROOT / "docs" / "how-to" / "record-a-day.md"):
        done = pages.run(command.text, tmp_path)
        assert done.returncode == 0, command.text + done.stderr


# ------------------------------------------------------------ nothing private

#: Built from parts, or this file would name them itself.
PRIVATE = tuple(
    re.compile(pattern)
    for pattern in (
        "/" + r"work/\w",
        "/" + r"tmp/\w",
        "/" + r"(?:home|root|Users)/\w",
        "seed " + "document",
        "design" + r"\.md",
        "shared" + "/(?:science|style|design)",
    )
)
SKIPPED = {".png", ".jpg", ".tif", ".svg", ".ico", ".woff2", ".icc"}


def _tracked() -> list[Path]:
    """Return every file that belongs to the repository, committed or about to be."""
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        pytest.skip("this is no working copy of the repository")
    return [ROOT / line for line in done.stdout.splitlines() if Path(line).suffix not in SKIPPED]


def _private(text: str) -> list[str]:
    return [match.group() for pattern in PRIVATE for match in pattern.finditer(text)]


def test_no_file_names_a_place_of_one_machine() -> None:
    """No file names a folder of somebody's machine or a document that the reader does not have."""
    found = {}
    for path in _tracked():
        # The page for developers may say where the first idea was written down.
        if path.is_file() and path.name != "DEVELOPERS.md":
            private = _private(path.read_text("utf-8", errors="replace"))
            if private:
                found[_named(path)] = private
    assert found == {}


@pytest.mark.parametrize(
    "planted", ["see /" + "work/main/x", "the seed " + "document says", "/" + "tmp/brief"]
)
def test_a_private_place_is_caught(planted: str) -> None:
    """The look for private places is not blind."""
    assert _private(planted)
