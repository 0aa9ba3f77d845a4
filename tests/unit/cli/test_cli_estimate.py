"""The command ``estimate`` over real, small workshops: what taught, how a stroke will look, which way is likelier."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

import inkhorn
from inkhorn.cli.main import cli
from inkhorn.errors import EstimateError
from support.answers import faults

# Invented, and small so that it is estimated quickly.
POT: list[dict[str, Any]] = [
    {"at": "2026-09-12T10:15", "kind": "steep", "lot": "sumac-leaf", "amount": "160 g", "liquid": "rainwater", "liquid_amount": "about 1.5 L", "into": "pot", "for": "18 h", "temperature": "17 degC", "pieces": "crushed"},
    {"at": "2026-09-13T05:00", "kind": "strain", "vessel": "pot", "into": "pot"},
    {"at": "2026-09-13T09:00", "kind": "add", "into": "pot", "lot": "bought-green-vitriol", "amount": "10 g"},
    {"at": "2026-09-13T09:30", "kind": "reading", "of": "vessel:pot", "what": "volume", "value": "1300 ml", "sd": "60 ml"},
    {"at": "2026-09-13T10:00", "kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-1", "method": "line", "pen": "reed-3mm"},
    {"at": "2026-09-13T10:20", "kind": "reading", "of": "trial:t1", "what": "optical_density", "value": {"R": 0.4, "G": 0.45, "B": 0.43}, "sd": 0.03},
]  # fmt: skip


def run(*args: object) -> Result:
    """Run one command."""
    return CliRunner().invoke(cli, [str(a) for a in args])


def words(*args: object) -> str:
    """Run one command that must work; return what it printed."""
    result = run(*args)
    assert result.exit_code == 0, result.output + repr(result.exception)
    return result.stdout


def filled(path: Path, entries: list[dict[str, Any]], *, page: bool = False) -> Path:
    """Return a workshop with these entries, and a measured page."""
    with inkhorn.Workshop.create(path) as shop:
        for entry in entries:
            shop.record(entry)
        if page:
            density = {"R": 0.8, "G": 0.84, "B": 0.86}
            shop.add_exemplar("roll", optical_density=density, sd=0.05, at="2026-09-20T10:00")
    return path


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a workshop with a pot, a volume and an early look at a stroke."""
    return filled(tmp_path_factory.mktemp("estimate") / "saltmere", POT)


def test_what_taught_and_what_is_least_known_is_said(folder: Path) -> None:
    """The command says both, the shelf, and what the draws are worth, and its JSON keeps to the schema."""
    told = words("estimate", folder)
    for part in ("What taught most", "Least known", "On the shelf", "of t1:", "draws, worth about"):
        assert part in told
    answer = json.loads(words("estimate", folder, "--json"))
    assert faults("estimate", answer) == []
    assert {item["entry"] for item in answer["taught"]} == {4, 6}
    assert answer["learnt"]
    assert all(item["times_too_wide"] > 1 for item in answer["least_known"])


def test_closely_leaves_no_reading_open(folder: Path) -> None:
    """Asked for closely, every reading that taught anything is told, and no less than the bound before."""
    before, after = (
        {item["entry"]: item for item in json.loads(words("estimate", folder, "--json", *more))["taught"]}
        for more in ((), ("--closely",))
    )
    assert before.keys() == after.keys()
    for entry, item in after.items():
        assert item["sure"] or item["bits"] < 0.1
        assert item["bits"] >= before[entry]["bits"] - 3 * (before[entry]["error"] + item["error"])


def test_what_was_learnt_is_drawn(folder: Path, tmp_path: Path) -> None:
    """``--figure`` writes an SVG that names its entries by what was said there."""
    out = tmp_path / "learnt.svg"
    assert str(out) in words("estimate", folder, "--figure", out).replace("\n", "")
    root = ET.parse(out).getroot()  # noqa: S314 - the file is our own
    assert root.tag.endswith("svg")
    assert '"about 1.5 L" of entry 1' in out.read_text("utf-8").replace("&quot;", '"')


def test_a_stroke_is_foreseen(folder: Path) -> None:
    """In an hour, in a day and dry; or at the one time asked; the JSON keeps to its schema."""
    told = words("estimate", folder, "--vessel", "pot")
    assert [part for part in ("after 1 hour", "after 24 hours", "dry") if part in told] != []
    answer = json.loads(words("estimate", folder, "--vessel", "pot", "--in", "2 h", "--json"))
    assert faults("prediction", answer) == []
    assert [m["after"] for m in answer["moments"]] == [7200.0]
    assert answer["course"] is None
    (dry,) = json.loads(words("estimate", folder, "--vessel", "pot", "--in", "dry", "--json"))["moments"]
    assert dry["after"] == "dry"


def test_a_trial_is_followed(folder: Path) -> None:
    """Just made it is darkening and a time is named; years on it has finished."""
    young = json.loads(words("estimate", folder, "--trial", "t1", "--json"))
    assert faults("prediction", young) == []
    assert young["course"]["age"] == 1200.0
    assert young["course"]["state"] in ("darkening", "not identifiable")
    assert young["course"]["look_again_at"] > "2026-09-13T10:20"
    assert "Look again" in words("estimate", folder, "--trial", "t1")
    assert "has finished darkening" in words("estimate", folder, "--trial", "t1", "--at", "2031-01-01T00:00")


@pytest.mark.parametrize(
    ("args", "part"),
    [
        (("--vessel", "pot", "--trial", "t1"), "two questions"),
        (("--in", "2 h"), "does not go with this question"),
        (("--trial", "t1", "--figure", "x.svg"), "ask for that alone"),
        (("--trial", "t9"), "no vessel or trial"),
        (("--trial", "t1", "--at", "tomorrow"), "no moment"),
        (("--trial", "t1", "--at", "2026-09-01T00:00"), "made after that moment"),
        (("--vessel", "pot", "--in", "3 ml"), "ml"),
    ],
)
def test_what_cannot_be_asked_is_one_sentence(folder: Path, args: tuple[str, ...], part: str) -> None:
    """A question that makes no sense is refused with what, and how to mend it."""
    result = run("estimate", folder, *args)
    assert result.exit_code == 2, result.output
    assert part in result.stderr.replace("\n", " ")
    assert "Traceback" not in result.output


def test_two_ways_are_weighed(tmp_path: Path) -> None:
    """An ink with iron against one with hardly any, by one page: odds in words and in JSON, and turned round."""
    enough = filled(tmp_path / "enough", POT[:3], page=True)
    hardly = [*POT[:2], {**POT[2], "amount": "0.2 g"}]
    little = filled(tmp_path / "little", hardly, page=True)
    answer = json.loads(words("estimate", enough, "--against", little, "--json"))
    assert faults("odds", answer) == []
    assert (answer["basis"], answer["against"]) == ("page", "roll")
    assert answer["log_odds"] - answer["error"] > 0
    told = words("estimate", enough, "--against", little)
    assert f"for {enough}" in told.replace("\n", "")
    turned = json.loads(words("estimate", little, "--against", enough, "--exemplar", "roll", "--json"))
    assert turned["log_odds"] == pytest.approx(-answer["log_odds"])


def test_ways_with_nothing_in_common_are_refused(tmp_path: Path, folder: Path) -> None:
    """Odds of different readings mean nothing, and that is said with what differs."""
    other = filled(tmp_path / "other", POT[:3])
    result = run("estimate", folder, "--against", other)
    assert result.exit_code == 2
    assert "2 readings only in the first, 0 readings only in the second" in result.stderr.replace("\n", " ")


def test_from_python(folder: Path) -> None:
    """The facade answers the same: by bare name, in seconds, and refuses what cannot be."""
    with inkhorn.Workshop.open(folder) as shop:
        told = shop.predict("pot", 3600)
        assert told.of == "vessel:pot"
        assert told.to_dict() == shop.predict("vessel:pot", "1 h").to_dict()
        with pytest.raises(EstimateError, match="no time"):
            shop.predict("pot", -1)
