"""`inkhorn why` over an empty workshop: answers in words and JSON, and refusals in one sentence."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from inkhorn.cli.main import cli
from support.answers import faults


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a workshop of which nothing is known."""
    path = tmp_path / "saltmere"
    assert run("new", path).exit_code == 0
    return path


def run(*args: object) -> Result:
    """Run one command and return what it printed."""
    return CliRunner().invoke(cli, [str(a) for a in args])


def test_words_need_no_quotation_marks(folder: Path) -> None:
    """A complaint may be said in several words; the likeliest cause, what it rests on and the check are told."""
    told = run("why", folder, "it", "beads", "on", "the", "skin")
    assert told.exit_code == 0
    assert "the skin is greasy" in told.stdout
    assert "common practice alone" in told.stdout
    assert "Check first (chalk-the-skin)" in told.stdout


def test_the_json_keeps_to_its_schema_and_a_check_moves_it(folder: Path) -> None:
    """With the check's outcome the odds are other, and another check is named."""
    first = json.loads(run("why", folder, "beads", "--json").stdout)
    found = f"{first['check']['check']}: {first['check']['outcomes'][0]['outcome']}"
    then = json.loads(run("why", folder, "beads", "--found", found, "--json").stdout)
    assert faults("why", first) == faults("why", then) == []
    assert then["causes"][0]["chance"] > first["causes"][0]["chance"]
    assert then["check"] is None or then["check"]["check"] != first["check"]["check"]


@pytest.mark.parametrize(
    "args", [("it", "sings"), ("beads", "--vessel", "nowhere"), ("beads", "--found", "nonsense")]
)
def test_what_cannot_be_answered_is_one_sentence(folder: Path, args: tuple[str, ...]) -> None:
    """An unknown complaint, vessel or finding exits with 2 and says what is known."""
    refused = run("why", folder, *args)
    assert refused.exit_code == 2
    assert refused.stdout == ""
    assert "Traceback" not in refused.output
    assert json.loads(run("why", folder, *args, "--json").stdout)["mend"]


def test_cautions_are_printed_with_the_answer(folder: Path) -> None:
    """Free iron, acid and mould carry theirs."""
    assert "Take care: Ink with free iron" in run("why", folder, "eats the nib").stdout
    assert "Never taste" in run("why", folder, "mouldy").stdout
