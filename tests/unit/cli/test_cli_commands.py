"""Each command answers in words and in JSON, and a user's mistake is one sentence."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

import inkhorn
from inkhorn.cli.main import COMMANDS, FIRST, cli, command_of, made_ready
from support.fake_workshop import STORY, FakeWorkshop


def run(*args: object, stdin: str | bytes | None = None) -> Result:
    """Run one command and return what it printed."""
    return CliRunner().invoke(cli, [str(a) for a in args], input=stdin)


REMARK = '{"at": "2026-09-14T09:00", "kind": "remark", "text": "first frost"}'


def test_every_command_has_help_that_names_it() -> None:
    """``--help`` works on every command and lists all of them."""
    listed = run("--help").output
    for name, command in ((n, command_of(n)) for n in COMMANDS):
        assert name in listed
        assert run(name, "--help").exit_code == 0
        assert command.help


def test_new_begins_a_workshop_once(bench: Path, tmp_path: Path) -> None:
    """A second workshop in the same folder is refused with one sentence and exit code 2."""
    assert run("new", tmp_path / "other").exit_code == 0
    again = run("new", bench)
    assert again.exit_code == 2
    assert again.stdout == ""
    assert "there is a workshop already" in again.stderr
    assert "Traceback" not in again.output


@pytest.mark.parametrize("way", ["argument", "option", "stdin", "file"])
def test_an_entry_comes_by_argument_option_pipe_or_file(bench: Path, tmp_path: Path, way: str) -> None:
    """The same entry is kept whichever way it arrives."""
    before = len(FakeWorkshop.open(bench).daybook)
    if way == "argument":
        result = run("record", bench, REMARK)
    elif way == "option":
        result = run("record", bench, "--json", REMARK)
    elif way == "stdin":
        result = run("record", bench, "--json", "-", stdin=REMARK)
    else:
        path = tmp_path / "entry.json"
        path.write_text(REMARK, "utf-8")
        result = run("record", bench, "--json", path)
    assert result.exit_code == 0, result.output
    assert len(FakeWorkshop.open(bench).daybook) == before + 1


def test_a_recorded_entry_is_read_back_in_words(bench: Path) -> None:
    """Without ``--json`` the receipt's sentence and notices are printed."""
    result = run("record", bench, REMARK)
    assert "You say: remark." in result.stdout
    assert "Taken as read." in result.stdout


def test_a_recorded_entry_answers_in_json(bench: Path) -> None:
    """With ``--json`` the receipts come as JSON, with how many were kept."""
    answer = json.loads(run("record", bench, "--json", "-", stdin=REMARK).stdout)
    assert answer["kept"] == 1
    assert answer["recorded"][0]["number"] == len(STORY) + 1


@pytest.mark.parametrize("form", ["array", "lines"])
def test_several_entries_stop_at_the_first_fault(bench: Path, form: str) -> None:
    """Those before the fault are kept and counted; the fault and all after it are not."""
    good, bad = json.loads(REMARK), {"at": "2026-09-14T09:00", "kind": "remark", "txt": "misspelt"}
    entries = [good, good, bad, good]
    text = json.dumps(entries) if form == "array" else "\n".join(json.dumps(e) for e in entries)
    before = len(FakeWorkshop.open(bench).daybook)
    result = run("record", bench, "--json", "-", stdin=text)
    assert result.exit_code == 2
    answer = json.loads(result.stdout)
    assert answer["kept"] == 2
    assert "txt" in json.dumps(answer["faults"])
    assert len(FakeWorkshop.open(bench).daybook) == before + 2
    plain = run("record", bench, "-", stdin=text)
    assert "2 entries before it are kept" in plain.stderr


@pytest.mark.parametrize(
    ("given", "word"),
    [
        ("{not json", "cannot be read as JSON"),
        ("", "nothing to record"),
        ("[]x", "cannot be read as JSON"),
        (b"\xff\xfe\x00", "not UTF-8"),
    ],
)
def test_text_that_is_no_entry_is_said_plainly(bench: Path, given: str | bytes, word: str) -> None:
    """Broken JSON, nothing at all and bytes that are no text are each named for what they are."""
    result = run("record", bench, "-", stdin=given)
    assert result.exit_code == 2
    assert word in result.stderr
    assert "Traceback" not in result.output


def test_a_file_that_is_not_there_is_named(bench: Path) -> None:
    """The sentence shows what an entry looks like."""
    result = run("record", bench, "week.jsonl")
    assert result.exit_code == 2
    assert "neither JSON nor a file" in result.stderr
    assert '"kind"' in result.stderr


def test_lines_before_a_broken_line_are_kept(bench: Path) -> None:
    """A line that is not JSON stops the rest and is named by its number."""
    result = run("record", bench, "--json", "-", stdin=f"{REMARK}\n{{oops\n{REMARK}\n")
    answer = json.loads(result.stdout)
    assert (answer["kept"], answer["where"]) == (1, "line 2")


def test_the_daybook_is_read_in_words_and_in_json(bench: Path) -> None:
    """Every entry stands in it with its number; the JSON is the entry as it was written."""
    result = run("daybook", bench)
    assert "Boil small pot down to about 700 ml" in result.stdout
    book = json.loads(run("daybook", bench, "--json").stdout)
    assert [line["number"] for line in book] == list(range(1, len(STORY) + 1))
    assert book[1] == {"number": 2, **STORY[1]}


def test_the_estimate_reads_as_a_maker_reads(bench: Path) -> None:
    """Each vessel is a paragraph with ranges, and flags name their entry."""
    out = run("estimate", bench).stdout
    assert "about 650 ml, surely between 480 and 800" in out
    assert "Entry 1:" in out
    answer = json.loads(run("estimate", bench, "--json", "--seed", "3").stdout)
    assert answer["seed"] == 3


def test_counsel_needs_to_know_which_pot(bench: Path) -> None:
    """With more than one vessel the answer names them; with one named, it advises."""
    unsure = run("counsel", bench)
    assert unsure.exit_code == 2
    assert "more than one vessel" in unsure.stderr
    assert "horn" in unsure.stderr
    assert re.search(r"for example: .*counsel \S+ --vessel \S+", unsure.stderr.replace("\n", " "))
    said = run("counsel", bench, "--vessel", "small-pot")
    assert "Boil off a fifth" in said.stdout
    assert "Take care: Boil in open air" in said.stdout
    assert "First: " in said.stdout
    answer = json.loads(run("counsel", bench, "--vessel", "small-pot", "--as", "new", "--json").stdout)
    assert answer["as"] == "new"


def test_an_error_with_json_is_the_error_in_parts(bench: Path) -> None:
    """``--json`` gives error, what, where and mend on stdout, and exit code 2."""
    result = run("counsel", bench, "--vessel", "kettle", "--json")
    assert result.exit_code == 2
    assert set(json.loads(result.stdout)) == {"error", "what", "where", "mend"}


def test_compare_takes_the_latest_trial(bench: Path) -> None:
    """Trial and page may be left out where there is no doubt."""
    result = run("compare", bench)
    assert "paler than the page was" in result.stdout
    answer = json.loads(run("compare", bench, "--json").stdout)
    assert (answer["trial"], answer["exemplar"]) == ("t1", "saltmere")


def test_an_exemplar_may_be_given_as_densities(bench: Path) -> None:
    """Densities and the skin's colour are three numbers each; anything else is refused."""
    good = run(
        "exemplar", bench, "leaf-2", "--density", "0.9,0.95,0.93", "--sd", "0.03", "--skin", "84,1.5,14"
    )
    assert good.exit_code == 0, good.output
    assert "leaf-2" in FakeWorkshop.open(bench).inventory().exemplars
    for wrong in ("0.9,0.95", "dark,dark,dark"):
        bad = run("exemplar", bench, "leaf-3", "--density", wrong)
        assert (bad.exit_code, "three numbers" in bad.stderr) == (2, True)
    assert run("exemplar", bench, "leaf-3").exit_code == 2


def test_the_handbook_shows_rows_and_names_the_nearest() -> None:
    """A row is shown with value, spread and mark; an unknown one names the nearest."""
    shown = run("handbook", "supports.goat-parchment.L")
    assert "give or take" in shown.stdout
    missing = run("handbook", "supports.goat-parchment.LL")
    assert missing.exit_code == 2
    assert "nearest" in missing.stderr
    assert {"name", "value", "unit", "spread", "mark"} <= set(
        json.loads(run("handbook", "supports", "--json").stdout)[0]
    )


def test_the_handbook_check_lists_what_waits_for_a_source() -> None:
    """The check names every row given from memory and exits by whether the handbook is whole."""
    result = run("handbook", "--check")
    report = json.loads(run("handbook", "--check", "--json").stdout)
    assert result.exit_code == (0 if report["passed"] else 1)
    assert report["memory"]
    assert report["memory"][0] in result.stdout


@pytest.mark.usefixtures("bench")
def test_a_missing_folder_is_one_sentence(tmp_path: Path) -> None:
    """Every command that opens a workshop says so where there is none, and how to begin one."""
    for command in ("daybook", "estimate", "counsel", "compare"):
        result = run(command, tmp_path / "nowhere")
        assert result.exit_code == 2
        assert "inkhorn new" in result.stderr
        # On a machine where nothing was made ready yet, that comes before it.
        assert len([line for line in result.stderr.strip().splitlines() if line != FIRST]) == 1


def test_a_fault_of_our_own_is_a_sentence_too(bench: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Exit code 1 and one line that says so; the traceback comes only where it is asked for."""
    monkeypatch.setattr(FakeWorkshop, "fault", ZeroDivisionError("oh"))
    result = run("estimate", bench)
    assert (result.exit_code, result.stdout) == (1, "")
    assert "fault is inkhorn's own (ZeroDivisionError: oh)" in result.stderr
    assert json.loads(run("estimate", bench, "--json").stdout)["error"] == "InkhornError"
    monkeypatch.setenv("INKHORN_TRACE", "1")
    assert isinstance(run("estimate", bench).exception, ZeroDivisionError)


def test_the_installed_command_runs() -> None:
    """``python -m`` of the entry point prints the version without loading a workshop."""
    out = subprocess.run(
        [
            sys.executable,
            "-c",
            "from inkhorn.cli.main import main; import sys; sys.argv=['inkhorn','--version']; main()",
        ],
        capture_output=True,
        text=True,
        check=False,
    )
    assert out.returncode == 0, out.stderr
    assert inkhorn.__version__ in out.stdout


def test_says_when_parts_are_not_made_ready(tmp_path: Path) -> None:
    """Compiled parts beside the package are found; where there are none, that is known."""
    assert not made_ready(tmp_path)
    (tmp_path / "__pycache__").mkdir()
    (tmp_path / "__pycache__" / "kernel.nbi").touch()
    assert made_ready(tmp_path)


def test_the_wait_is_told_once_and_only_where_there_is_one(
    bench: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A newcomer's list of commands, a command's help, a card to print and a photograph say nothing of a wait; an answer says it once."""
    monkeypatch.setattr("inkhorn.cli.main.made_ready", lambda: False)
    for still in (
        ["--help"],
        ["compare", "--help"],
        ["card", "--out", tmp_path / "card.pdf"],
        ["photo", "none.jpg"],
    ):
        assert FIRST not in run(*still).stderr
    for waits in (["daybook", bench], ["card", "--into", bench, "--bar", "98.4 mm"]):
        assert run(*waits).stderr.count(FIRST) == 1
