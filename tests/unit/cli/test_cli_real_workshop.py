"""The commands and the page over a real, small workshop: every answer keeps to its shipped schema."""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator
from PIL import Image
from starlette.testclient import TestClient

from inkhorn.cli.main import cli
from inkhorn.web.app import create_app
from support.answers import faults, names, schema

# An invented pot, small so that it is estimated quickly.
ENTRIES: list[dict[str, Any]] = [
    {"at": "2026-09-12T10:00", "kind": "vessel", "name": "pot", "capacity": "2 L"},
    {"at": "2026-09-12T10:05", "kind": "gather", "lot": "sumac-leaf", "material": "sumac leaf", "amount": "500 g"},
    {"at": "2026-09-12T10:06", "kind": "gather", "lot": "vitriol", "material": "bought green vitriol", "amount": "200 g"},
    {"at": "2026-09-12T10:07", "kind": "gather", "lot": "plum-gum", "material": "plum gum", "amount": "60 g"},
    {"at": "2026-09-12T10:15", "kind": "steep", "lot": "sumac-leaf", "amount": "160 g", "liquid": "spring water", "liquid_amount": "about 1.5 L", "into": "pot", "for": "18 h", "temperature": "17 degC", "pieces": "crushed"},
    {"at": "2026-09-13T05:00", "kind": "strain", "vessel": "pot", "into": "pot"},
    {"at": "2026-09-13T09:00", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "10 g"},
    {"at": "2026-09-13T09:05", "kind": "add", "into": "pot", "lot": "plum-gum", "amount": "about 15 g"},
    {"at": "2026-09-13T10:00", "kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-1", "method": "line", "pen": "reed-3mm"},
    {"at": "2026-09-14T10:00", "kind": "reading", "of": "trial:t1", "what": "optical_density", "value": {"R": 0.5, "G": 0.55, "B": 0.52}, "sd": 0.03},
]  # fmt: skip


def run(*args: object, stdin: str | None = None, code: int = 0) -> str:
    """Run one command, check how it ended, and return what it printed on stdout."""
    result = CliRunner().invoke(cli, [str(a) for a in args], input=stdin)
    assert result.exit_code == code, result.output + repr(result.exception)
    return result.stdout


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a workshop begun and filled by the commands themselves."""
    path = tmp_path_factory.mktemp("real") / "saltmere"
    run("new", path)
    answer = json.loads(run("record", path, "--json", "-", stdin="\n".join(map(json.dumps, ENTRIES))))
    assert faults("record", answer) == []
    assert answer["kept"] == len(ENTRIES)
    run("exemplar", path, "roll", "--density", "0.95,1.0,0.93", "--sd", "0.04", "--skin", "82,2,15")
    return path


@pytest.mark.parametrize("name", names())
def test_every_schema_is_itself_valid(name: str) -> None:
    """Each shipped file is a JSON Schema of draft 2020-12 with a title and a description."""
    shipped = schema(name)
    Draft202012Validator.check_schema(shipped)
    assert shipped["title"]
    assert shipped["description"]


def test_a_wrong_answer_is_caught() -> None:
    """The check itself fails on a missing key, a key beyond the schema and a wrong type."""
    good = {"number": 1, "sentence": "x", "notices": [], "flags": [], "cautions": []}
    assert faults("receipt", good) == []
    assert faults("receipt", {k: v for k, v in good.items() if k != "sentence"})
    assert faults("receipt", good | {"more": 1})
    assert faults("receipt", good | {"number": "one"})


def test_the_daybook_answer_keeps_to_its_schema(folder: Path) -> None:
    """The daybook gives back what was recorded, with numbers."""
    answer = json.loads(run("daybook", folder, "--json"))
    assert faults("daybook", answer) == []
    assert answer[4] == {"number": 5, **ENTRIES[4]}


def test_the_estimate_answer_keeps_to_its_schema(folder: Path) -> None:
    """Every figure of every vessel has its percentiles and unit, in order."""
    answer = json.loads(run("estimate", folder, "--json"))
    assert faults("estimate", answer) == []
    pot = answer["vessels"]["pot"]
    assert 900 < pot["volume"]["median"] < 1600
    for figure in (pot["volume"], pot["ph"], pot["dry_lab"]["L"]):
        assert figure["p05"] <= figure["p25"] <= figure["median"] <= figure["p75"] <= figure["p95"]
    assert json.loads(run("estimate", folder, "--json")) == answer
    assert "surely between" in run("estimate", folder)


def test_the_counsel_answer_keeps_to_its_schema(folder: Path) -> None:
    """Counsel on the only pot and page; its actions are entries that the daybook would take."""
    answer = json.loads(run("counsel", folder, "--json"))
    assert faults("counsel", answer) == []
    said = run("counsel", folder)
    for course in answer["courses"]:
        assert course["sentence"] in said
        assert all("kind" in action and "at" not in action for action in course["actions"])


def test_the_comparison_answer_keeps_to_its_schema(folder: Path) -> None:
    """The shares add up to the difference, and every picture named is there."""
    answer = json.loads(run("compare", folder, "--json"))
    assert faults("comparison", answer) == []
    total = sum(part["fraction"] for part in answer["shares"].values())
    assert total == pytest.approx(1, abs=0.01)
    for path in (answer["picture"], *(panel["picture"] for panel in answer["panels"])):
        assert Path(path).is_file()


def test_the_photo_answer_keeps_to_its_schema(tmp_path: Path) -> None:
    """A drawn stroke on a grainy skin is read with its density, and what was read can be seen."""
    rng = np.random.default_rng(1)
    skin = rng.normal((205, 190, 165), 4, (600, 800, 3))
    skin[280:320, 100:700] = rng.normal((70, 60, 62), 4, (40, 600, 3))
    picture, out = tmp_path / "stroke.png", tmp_path / "seen.png"
    Image.fromarray(np.clip(skin, 0, 255).astype(np.uint8)).save(picture)
    answer = json.loads(run("photo", picture, "--overlay", out, "--json"))
    assert faults("photo", answer) == []
    assert out.is_file()
    # -log10 of the linear ratio: 70/255 and 205/255 decode to 0.0612 and 0.6105 (IEC 61966-2-1).
    assert answer["optical_density"]["R"]["value"] == pytest.approx(0.999, abs=0.06)
    assert "Channel density" in run("photo", picture)


@pytest.mark.parametrize(
    "entry",
    [
        {"at": "2026-09-15T09:00", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "3 kg"},
        {"at": "2026-09-15T09:00", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "20 ml/s"},
        {"at": "2026-09-15T09:00", "kind": "reduce", "vesel": "pot", "to": "half"},
        {"at": "never", "kind": "remark", "text": "x"},
        {"kind": "fly"},
        [1, 2],
        "soup",
    ],
)
def test_what_cannot_be_is_refused_in_json_and_in_words(folder: Path, entry: object) -> None:
    """Exit code 2, the error's parts with --json, one plain sentence without, the daybook unchanged."""
    before = run("daybook", folder, "--json")
    answer = json.loads(run("record", folder, "--json", json.dumps([entry]), code=2))
    assert faults("error", answer) == []
    assert answer["kept"] == 0
    plain = CliRunner().invoke(cli, ["record", str(folder), json.dumps([entry])])
    assert (plain.exit_code, plain.stdout) == (2, "")
    assert "Traceback" not in plain.stderr
    assert run("daybook", folder, "--json") == before


@pytest.mark.parametrize("broken", [b"", b"not a picture", b"\x89PNG\r\n\x1a\n" + b"\0" * 40])
def test_a_file_that_is_no_picture_is_one_sentence(tmp_path: Path, broken: bytes) -> None:
    """A broken picture and a missing one are errors with parts, not tracebacks."""
    path = tmp_path / "broken.png"
    path.write_bytes(broken)
    for target in (path, tmp_path / "missing.png"):
        answer = json.loads(run("photo", target, "--json", code=2))
        assert faults("error", answer) == []


def test_a_picture_that_cannot_be_read_is_never_recorded(folder: Path, tmp_path: Path) -> None:
    """Neither as a page nor as a trial: the daybook stays as it was, and the estimate still comes."""
    path = tmp_path / "hello.png"
    path.write_text("hello", "utf-8")
    before = run("daybook", folder, "--json")
    page = CliRunner().invoke(cli, ["exemplar", str(folder), "leaf-2", str(path)])
    assert page.exit_code == 2
    assert page.stderr.startswith("hello.png: ")
    entry = {
        "at": "2026-09-15T09:00",
        "kind": "reading",
        "of": "trial:t1",
        "what": "photo",
        "value": str(path),
    }
    run("record", folder, json.dumps(entry), code=2)
    assert run("daybook", folder, "--json") == before
    run("estimate", folder)


def test_the_page_and_its_twins_over_a_real_workshop(folder: Path) -> None:
    """The page shows counsel, comparison and shelf; each twin keeps to the same schema as its command."""
    with TestClient(create_app(folder), base_url="http://127.0.0.1:8377") as client:
        for _ in range(600):
            client.get("/")
            status = client.get("/api/status").json()
            assert faults("status", status) == []
            if not status["working"]:
                break
            time.sleep(0.1)
        page = client.get("/").text
        for name, address in (
            ("estimate", "/api/estimate"),
            ("counsel", "/api/counsel"),
            ("comparison", "/api/compare"),
            ("daybook", "/api/daybook"),
        ):
            answer = client.get(address).json()
            assert faults(name, answer) == [], name
        counsel = client.get("/api/counsel").json()
        assert not counsel["courses"] or counsel["courses"][0]["sentence"] in page
        assert 'class="panels"' in page
        assert 'class="vessel"' in page
        bad = client.post("/api/record", json={"kind": "reduce", "vesel": "pot", "to": "half"})
        assert bad.status_code == 422
        assert faults("error", bad.json()) == []
        assert faults("error", client.get("/api/nothing").json()) == []
        form = {
            "do": "add",
            "into": "pot",
            "stuff": "lot:vitriol",
            "amount": "3 kg",
            "at": "2026-09-15T09:00",
        }
        refused = client.post("/record", data=form)
        assert refused.status_code == 422
        assert 'value="3 kg"' in refused.text
        kept = client.post(
            "/api/record", json={"at": "2026-09-15T10:00", "kind": "remark", "text": "clear sky"}
        )
        assert kept.status_code == 201
        assert faults("receipt", kept.json()) == []
        number = kept.json()["number"]
        assert client.post("/undo", data={"number": number}, follow_redirects=False).status_code == 303
        assert client.get("/api/daybook").json()[-1]["kind"] == "void"
