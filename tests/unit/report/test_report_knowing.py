"""What was learnt, in words: names, digits, sections."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import inkhorn
from inkhorn.report import knowing, unknowns, words

_FIGURE = {"median": 183.2, "p05": 152.0, "p25": 170.0, "p75": 196.0, "p95": 214.4, "unit": "ml"}
_ASKED = re.compile(r"""\.of\(\s*f?"([^"]+)"\s*,""")


def _asked_for() -> list[str]:
    """Return every name that the model asks for, its changing parts filled in."""
    out = set()
    for path in sorted(Path(inkhorn.__file__).parent.glob("replay/**/*.py")):
        for name in _ASKED.findall(path.read_text("utf-8")):
            out.add(name)
    return sorted(out)


def test_every_unknown_that_the_model_asks_for_has_a_plain_name() -> None:
    """No name that replay asks for falls through the table."""
    parts = {
        "c": "R", "kind": "pyrogallol", "number": "7", "i": "0", "scale": "body", "name": "gallic", "wall": "iron",
    }  # fmt: skip
    asked = _asked_for()
    assert len(asked) > 60
    for name in asked:
        filled = re.sub(r"\{([^}]+)\}", lambda found: parts.get(found[1].rpartition(".")[2], "thing"), name)
        assert unknowns.is_named(filled), filled


@pytest.mark.parametrize(
    ("name", "plain"),
    [
        ("lot:sumac-leaf/tannin", "tannin in the sumac leaf"),
        ("entry:11/liquid_amount", '"about 5 L" of entry 11'),
        ("who:somebody/volume", "how whoever wrote it judges volumes by eye"),
        ("trial:t3/load", "how much more ink than usual lies in t3"),
        ("misfit/hue.R", "how dark in red this ink is, against the handbook's"),
        ("something/quite.new", "something quite new"),
    ],
)
def test_plain_names(name: str, plain: str) -> None:
    """Names are words of the bench; an unknown without one keeps its own words."""
    assert unknowns.plain(name, {11: {"liquid_amount": "about 5 L"}}) == plain


@pytest.mark.parametrize("ess", [4, 20, 100, 700, 5000])
def test_no_digit_is_shown_that_other_draws_would_change(ess: float) -> None:
    """The step of what is shown is never below the Monte Carlo error of the median or of the ends."""
    middle, ends = words.noise(_FIGURE, ess)
    coarse, fine = words._steps(_FIGURE, ess)
    assert coarse >= middle
    assert fine >= ends


def test_the_monte_carlo_error_is_that_of_a_normal_sample() -> None:
    """Of a normal figure the error of the median is near sqrt(pi / 2) sd / sqrt(n) (Kenney and Keeping 1962)."""
    normal = {"median": 0.0, "p05": -1.645, "p25": -0.6745, "p75": 0.6745, "p95": 1.645, "unit": "1"}
    middle, ends = words.noise(normal, 100)
    assert middle == pytest.approx(0.1253, rel=0.1)
    assert ends == pytest.approx(0.1 * (0.05 * 0.95) ** 0.5 / 0.1031, rel=0.1)
    assert words.noise(normal, None) == (0.0, 0.0)


def test_many_draws_change_no_word() -> None:
    """With draws enough the words are those without a word about draws."""
    assert words.phrase(_FIGURE, 1000) == words.phrase(_FIGURE)
    assert words.phrase(_FIGURE, 5) != words.phrase(_FIGURE)


def test_steps_go_up_to_the_next_round_number() -> None:
    """1, 2 and 5 times a power of ten stay; what lies between goes up."""
    for error, step in ((1, 1), (1.2, 2), (2, 2), (2.1, 5), (5, 5), (7, 10), (0.031, 0.05), (0, 0)):
        assert words.step_over(error) == pytest.approx(step)


def _answer() -> dict[str, object]:
    band = {"median": 2500.0, "p05": 2300.0, "p95": 2700.0}
    most = {
        "of": "vessel:pot", "figure": "volume", "bits": 0.5, "unit": "ml",
        "without": {"median": 2400.0, "p05": 1900.0, "p95": 2900.0}, "with": band,
    }  # fmt: skip
    return {
        "draws": 1024,
        "ess": 640.0,
        "taught": [
            {"entry": 3, "bits": 0.93, "error": 0.04, "sure": True, "shape": 0.2, "most": most},
            {"entry": 4, "bits": 2.2, "error": 0.3, "sure": False, "shape": 0.9, "most": None},
            {"entry": 5, "bits": 0.01, "error": 0.01, "sure": True, "shape": 0.1, "most": None},
        ],
        "least_known": [
            {
                "of": "vessel:pot", "figure": "iron_to_capacity", "times_too_wide": 4.2, "variance_left": 0.44,
                "because": "lot:sumac-leaf/tannin", "share": 0.4,
                "value": {"median": 0.8, "p05": 0.3, "p25": 0.6, "p75": 1.0, "p95": 1.2, "unit": "1"},
            }
        ],
        "lots": {"vitriol": {"iron_fraction": {**_FIGURE, "median": 0.19, "p05": 0.17, "p25": 0.18, "p75": 0.2,
                                               "p95": 0.22, "unit": "1"}}},
    }  # fmt: skip


def test_the_story_of_an_estimate() -> None:
    """A reading that taught is told with its bands, one that cannot be told as a lower bound, one of nothing not."""
    reading = {"kind": "reading", "of": "vessel:pot", "what": "volume", "value": "2500 ml", "number": 3}
    photo = {"kind": "reading", "of": "trial:t3", "what": "photo", "value": "sha256:0", "number": 4}
    told = dict(knowing.story(_answer(), [reading, photo]))
    first, second, hint = told["What taught most"]
    assert "--closely" in hint
    assert first.startswith("Entry 3, volume 2500 ml of the pot: 0.9 bits, most about how much is in the pot")
    assert "between 1900 and 2900 ml without it" in first
    assert "between 2300 and 2700 ml with it" in first
    assert "photograph of t3: at least 2 bits" in second
    (least,) = told["Least known"]
    assert "between 30 and 120 percent, 4 times wider than a decision needs" in least
    assert "40 percent is left" in least
    assert "tannin in the sumac leaf" in least
    assert told["On the shelf"] == ["vitriol: iron about 19 percent (surely between 17 and 22)."]


def test_the_worth_of_the_draws_is_said() -> None:
    """How many draws, how many they are worth, and what that does, in one sentence."""
    assert "1024 draws, worth about 640 independent ones" in knowing.draws(_answer())
