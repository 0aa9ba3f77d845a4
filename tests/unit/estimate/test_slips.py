"""A reading that disagrees is flagged in plain words, with the slip that would explain it, and only then."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest

from inkhorn.estimate import flags
from inkhorn.estimate.posterior import sample_posterior
from inkhorn.estimate.problem import make_problem
from inkhorn.replay.fold import make_plan
from inkhorn.simulate.workshops import exemplar_entries, random_workshop
from support.daybooks import recorded

BENCH: list[dict[str, Any]] = [
    {"at": "2026-08-20T10:00", "kind": "gather", "lot": "sumac-leaf", "material": "sumac leaf", "amount": "900 g"},
    {"at": "2026-08-20T10:05", "kind": "gather", "lot": "vitriol", "material": "bought green vitriol", "amount": "250 g"},
    {"at": "2026-09-01T08:00", "kind": "steep", "lot": "sumac-leaf", "amount": "200 g", "liquid": "rainwater", "liquid_amount": "2 L", "into": "tub", "for": "12 h"},
    {"at": "2026-09-02T08:00", "kind": "strain", "vessel": "tub", "into": "pot"},
    {"at": "2026-09-02T08:10", "kind": "pour", "from": "pot", "into": "jar", "amount": "300 ml"},
    {"at": "2026-09-02T08:20", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "40 g"},
    {"at": "2026-09-02T08:30", "kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-parchment", "method": "dip"},
    {"at": "2026-09-02T08:35", "kind": "mark", "vessel": "jar", "trial": "t2", "support": "goat-parchment", "method": "dip"},
    {"at": "2026-09-02T08:40", "kind": "mark", "vessel": "pot", "trial": "t3", "support": "goat-parchment", "method": "dip", "thinned": "1 in 8"},
]  # fmt: skip


def reading(of: str, what: str, said: Any, **more: Any) -> dict[str, Any]:
    """Return a reading of the next day."""
    return {"at": "2026-09-03T10:00", "kind": "reading", "of": of, "what": what, "value": said, **more}


def told(*readings: dict[str, Any]) -> tuple[str, ...]:
    """Return what is said of the last of some readings as it is recorded."""
    plan = make_plan(recorded([*BENCH, *readings]))
    return flags.on_recording(make_problem(plan), len(BENCH) + len(readings))


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (reading("vessel:pot", "ph", "28"), "the decimal point stood one place off (2.8)"),
        (reading("vessel:pot", "volume", "150 ml"), "the decimal point stood one place off (1500 ml)"),
        (reading("vessel:pot", "specific_gravity", "1.26"), "the decimal point stood one place off (1.026)"),
        (reading("vessel:pot", "volume", "1.5 ml"), "ml was written for L"),
        (reading("vessel:pot", "mass", "1.5 g"), "g was written for kg"),
        (reading("lot:vitriol", "mass", "210 kg"), "kg was written for g"),
        (reading("vessel:pot", "total_iron", "5 mg/L"), "mg/L was written for g/L"),
        (reading("vessel:pot", "temperature", "65 degC"), "it was read in F, not C"),
        (reading("vessel:pot", "temperature", "18 F"), "F was written for C"),
        (reading("vessel:pot", "volume", "300 ml"), "was it read of jar?"),
        (reading("vessel:jar", "total_iron", "90 mmol/L"), "was it read of pot?"),
        (reading("lot:sumac-leaf", "mass", "210 g"), "was it read of vitriol?"),
    ],
)  # fmt: skip
def test_the_slip_is_named(wrong: dict[str, Any], words: str) -> None:
    """Decimal point, unit, degrees and the wrong vessel are each named where they explain the figure."""
    text = told(wrong)
    assert len(text) == 1
    assert "disagrees with everything else" in text[0]
    assert words in text[0]
    assert "not dropped" in text[0]


@pytest.mark.parametrize(
    "right",
    [
        reading("vessel:pot", "ph", "2.7"),
        reading("vessel:pot", "volume", "1500 ml"),
        reading("vessel:pot", "mass", "1.6 kg"),
        reading("vessel:pot", "temperature", "19 degC"),
        reading("vessel:jar", "volume", "300 ml"),
        reading("lot:vitriol", "mass", "210 g"),
        reading("vessel:pot", "viscosity", "1.2 mPa s"),
        reading("vessel:pot", "body", "watery"),
        reading("vessel:pot", "surface", "clear"),
        reading("trial:t2", "than", "paler t1"),
    ],
)
def test_a_sound_reading_is_let_be(right: dict[str, Any]) -> None:
    """A reading near what is foreseen brings no flag."""
    assert told(right) == ()


def test_a_slip_that_explains_nothing_is_not_named() -> None:
    """A figure that no slip brings near is flagged without one: the odds are no better than the handbook asks."""
    text = told(reading("vessel:pot", "ph", "9.0", **{"with": "glass electrode"}))
    assert len(text) == 1
    assert text[0].endswith("was it read or written down wrongly?")


def test_darker_and_paler_swapped() -> None:
    """A thinned strip called darker than the full one, after both were measured, is taken for a swap."""
    full, thin = {"R": 0.62, "G": 0.63, "B": 0.6}, {"R": 0.15, "G": 0.15, "B": 0.14}
    said = [
        reading("trial:t1", "optical_density", full, sd=0.02),
        reading("trial:t3", "optical_density", thin, sd=0.02),
        reading("trial:t3", "than", "darker t1"),
    ]
    plan = make_plan(recorded([*BENCH, *said]))
    post = sample_posterior(plan, particles=384)
    texts = [f.text for f in flags.found(post.problem, post.z, post.played) if f.entry == len(BENCH) + 3]
    assert len(texts) == 1
    assert "darker and paler were swapped" in texts[0]


#: Readings of everything that a made-believe pot, stroke and skin can be asked.
_POT = ("mass", "volume", "temperature", "ph", "specific_gravity", "barkometer", "brix", "dry_residue", "viscosity",
        "drop_mass", "ten_drops", "discharge", "total_iron", "total_phenols", "gum", "body", "surface")  # fmt: skip
_STROKE = ("optical_density", "lab", "line_width", "raggedness", "depth", "hue", "flow")


def make_believe(seed: int) -> tuple[list[dict[str, Any]], int]:
    """Return a daybook of other physics with every reading asked at its end, and how many entries come before these."""
    dealt = random_workshop(seed)
    last = datetime.fromisoformat(dealt.entries[-1]["at"])
    book = [*dealt.entries, *exemplar_entries(dealt.exemplar, last.isoformat(timespec="minutes"))]
    at = (last + timedelta(minutes=30)).isoformat(timespec="minutes")
    asked = [("vessel:pot", what) for what in _POT] + [("trial:t1", what) for what in _STROKE]
    asked += [("support:skin-1", "absorbency"), ("support:skin-1", "side")]
    how = {"ph": {"with": "strip"}, "depth": {"against": "page"}, "hue": {"against": "page"}}
    noticed = [
        dealt.truth.notice({"at": at, "kind": "reading", "of": of, "what": what, **how.get(what, {})})
        for of, what in asked
    ]
    return [*book, *noticed], len(book)


def _flagged(entries: list[dict[str, Any]], particles: int) -> tuple[dict[int, str], int]:
    post = sample_posterior(make_plan(recorded(entries)), particles=particles)
    found = flags.found(post.problem, post.z, post.played)
    far = {f.entry: f.text for f in found if f.entry is not None and "disagrees" in f.text}
    return far, len(post.problem.evidence)


def test_few_flags_where_nothing_is_wrong(capsys: pytest.CaptureFixture[str]) -> None:
    """In make-believe workshops with physics of their own and no slip, at most one reading in forty is flagged."""
    far = of = 0
    for seed in range(3):
        one, n = _flagged(make_believe(seed)[0], 256)
        far, of = far + len(one), of + n
    with capsys.disabled():
        print(f"\n{far} of {of} sound readings flagged")  # noqa: T201
    assert of > 80
    assert far <= of / 40


#: A slip put into a reading: which, and how its figure is spoilt.
_SPOILT = {
    "volume": lambda text: f"{float(text.split()[0]) / 10:g} ml",
    "mass": lambda text: f"{float(text.split()[0]):g} kg",
    "total_iron": lambda text: f"{float(text.split()[0]) * 10:g} mmol/L",
    "ph": lambda text: f"{float(text) * 10:g}",
    "temperature": lambda text: f"{float(text.split()[0]) * 1.8 + 32:.0f} degC",
    "viscosity": lambda text: f"{float(text.split()[0]) * 10:g} mPa s",
}


@pytest.mark.benchmark
def test_how_often_a_slip_is_found_and_named(capsys: pytest.CaptureFixture[str]) -> None:
    """Over 24 make-believe workshops with one slip each, most are flagged and most of these are named; few others are."""
    found = named = others = readings = 0
    for seed in range(24):
        entries, before = make_believe(seed)
        what = list(_SPOILT)[seed % len(_SPOILT)]
        place = next(i for i, e in enumerate(entries) if i >= before and e.get("what") == what)
        entries[place] = {**entries[place], "value": _SPOILT[what](entries[place]["value"])}
        far, n = _flagged(entries, 256)
        text = far.pop(place + 1, "")
        found, named = found + bool(text), named + ("it would fit if" in text)
        others, readings = others + len(far), readings + n - 1
    with capsys.disabled():
        print(f"\n{found} of 24 slips flagged, {named} named; {others} of {readings} sound readings flagged")  # noqa: T201
    assert found >= 20
    assert named >= 16
    assert others <= readings / 40
