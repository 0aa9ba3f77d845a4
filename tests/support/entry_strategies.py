"""Hypothesis strategies for entries as JSON, of every kind, with words of the invented Saltmere roll."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

NUMBERS = st.one_of(
    st.integers(1, 9999).map(str),
    st.floats(0.01, 999, allow_nan=False).map(lambda x: f"{x:.2f}"),
    st.sampled_from(["1/2", "2 1/2", "¾", "1,5"]),
)
HEDGES = st.sampled_from(["", "about ", "roughly ", "~", "nearly "])


def _with(units: list[str]) -> st.SearchStrategy[str]:
    plain = st.builds(lambda h, n, u: f"{h}{n} {u}", HEDGES, NUMBERS, st.sampled_from(units))
    ranges = st.builds(
        lambda a, b, u: f"{a}-{a + b} {u}", st.integers(1, 500), st.integers(1, 500), st.sampled_from(units)
    )
    spread = st.builds(
        lambda a, b, u: f"{a} ± {b} {u}", st.integers(1, 500), st.integers(1, 50), st.sampled_from(units)
    )
    return st.one_of(plain, ranges, spread)


MASS = _with(["g", "kg", "oz", "grain", "lb"])
VOLUME = _with(["ml", "L", "pints", "spoonfuls", "cups", "imperial pint"])
TIME = st.one_of(_with(["h", "days", "min"]), st.sampled_from(["overnight", "1 h 30 min", "a week"]))
TEMPERATURE = st.one_of(
    st.integers(-5, 99).map(lambda x: f"{x} degC"), st.sampled_from(["lukewarm", "62 °F", "15-20 C"])
)
LENGTH = _with(["mm", "cm", "fingers"])
SHARE = st.sampled_from(["all", "half", "a third", "30 %", "roughly a third of the plum-gum jar"])
HEAT = st.sampled_from(["simmer", "gentle", "boil", "300 W"])
NAMES = st.sampled_from(
    ["tub", "t1", "goat-1", "sumac-leaf", "plum-gum", "reed-3mm", "page", "Small Crock", "pot_2"]
)
TEXT = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), min_size=1, max_size=40).filter(
    str.strip
)
MATERIAL = st.sampled_from(
    ["sumac leaf", "Alder cones", "bought green vitriol", "plum gum", "wine", "pyrite", "chalk"]
)
LIQUID = st.sampled_from(["spring water", "rainwater", "Wine", "vinegar", "tap water"])
MOMENT = st.one_of(
    st.datetimes().map(lambda t: t.isoformat(timespec="minutes")),
    st.datetimes().map(lambda t: t.isoformat()),
    st.sampled_from(["2026-09-12T10:15+02:00", "2026-09-12T10:15:30Z", "2026-09-12 10:15"]),
)
FIGURE = st.floats(0, 3, allow_nan=False)
RGB = st.fixed_dictionaries({"R": FIGURE, "G": FIGURE, "B": FIGURE})
LAB = st.fixed_dictionaries({"L": st.floats(0, 100), "a": st.floats(-90, 90), "b": st.floats(-90, 90)})
CHANNEL_SD = st.one_of(st.none(), st.floats(1e-3, 1))


def _keys(needed: dict[str, Any], may: dict[str, Any] | None = None) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries(needed, optional=may or {})


def _reading(subject: str, what: str, value: st.SearchStrategy[Any], **may: Any) -> st.SearchStrategy[Any]:
    return _keys({"of": NAMES.map(lambda n: f"{subject}:{n}"), "what": st.just(what), "value": value}, may)


_LIQUOR_READINGS = [
    _reading(subject, what, value, **may)
    for subject in ("vessel", "lot")
    for what, value, may in [
        ("mass", MASS, {"with": st.sampled_from(["kitchen scale", "balance"])}),
        ("volume", VOLUME, {"with": st.just("jug")}),
        ("temperature", TEMPERATURE, {"sd": st.floats(0.1, 5)}),
        ("ph", st.one_of(st.floats(1, 9).map(lambda x: f"{x:.1f}"), st.floats(1, 9), st.just("3-4")),
         {"with": st.sampled_from(["strip", "glass electrode"]), "sd": st.sampled_from([0.1, "0.2"])}),
        ("specific_gravity", st.sampled_from(["1.045", "1.02 g/ml"]), {}),
        ("barkometer", st.sampled_from(["20", "20 bk"]), {}),
        ("brix", st.sampled_from(["6", "6 %"]), {}),
        ("dry_residue", st.sampled_from(["55 g/L", "5.5 %"]), {"with": st.just("dish")}),
        ("viscosity", st.sampled_from(["2.4 mPa s", "about 3 cP"]), {}),
        ("drop_mass", st.just("0.045 g"), {"water": st.just("0.050 g")}),
        ("ten_drops", st.just("0.45 g"), {"water": st.just("0.5 g")}),
        ("discharge", st.just("34 s"), {"water": st.just("21 s"), "with": st.just("syringe")}),
        ("total_iron", st.sampled_from(["4.2 g/L", "75 mmol/L", "900 mg/L"]), {"sd": st.floats(0.01, 0.5)}),
        ("total_phenols", st.sampled_from(["12 g/L", "70 mmol/L"]), {}),
        ("gum", st.sampled_from(["30 g/L", "3 %"]), {}),
        ("body", st.sampled_from(["watery", "Flows well", "drags"]), {}),
        ("surface", st.sampled_from(["clear", "mould spots"]), {}),
    ]
]  # fmt: skip
READINGS = st.one_of(
    *_LIQUOR_READINGS,
    _reading("trial", "optical_density", RGB, sd=CHANNEL_SD),
    _reading("trial", "optical_density", RGB, sd=RGB.filter(lambda d: min(d.values()) > 0)),
    _reading("trial", "lab", LAB, sd=CHANNEL_SD),
    _reading("trial", "line_width", st.just("0.9 mm"), **{"with": st.just("loupe")}),
    _reading("trial", "raggedness", st.just("40 um")),
    _reading("trial", "photo", st.just("sha256:" + "0" * 64)),
    _reading("trial", "depth", st.sampled_from(["far too pale", "right"]), against=NAMES),
    _reading("trial", "hue", st.sampled_from(["much bluer", "a little browner"]), against=NAMES),
    _reading("trial", "flow", st.sampled_from(["skips", "floods"])),
    _reading("trial", "than", st.builds("{} {}".format, st.sampled_from(["darker", "same"]), NAMES)),
    _reading("support", "lab", LAB, sd=CHANNEL_SD),
    _reading("support", "side", st.sampled_from(["hair", "flesh"])),
    _reading("support", "absorbency", st.sampled_from(["beads", "drinks"])),
    _reading("exemplar", "photo", st.just("sha256:" + "0" * 64)),
    _reading("exemplar", "optical_density", RGB, sd=CHANNEL_SD),
    _reading("exemplar", "lab", LAB),
    _reading("exemplar", "support_lab", LAB),
)

KEYS: dict[str, st.SearchStrategy[dict[str, Any]]] = {
    "gather": _keys(
        {"lot": NAMES, "material": MATERIAL, "amount": st.one_of(MASS, VOLUME)},
        {"source": TEXT, "part": TEXT, "age": TEXT, "leave": st.one_of(TEXT, st.booleans())},
    ),
    "prepare": _keys(
        {"lot": NAMES, "how": st.sampled_from(["dry", "crush", "grind", "wash"])},
        {"to": st.one_of(MASS, VOLUME, LENGTH)},
    ),
    "bring": _keys({"vessel": NAMES, "material": MATERIAL, "amount": st.one_of(VOLUME, MASS)}),
    "vessel": _keys({"name": NAMES}, {"capacity": VOLUME, "made_of": TEXT, "depth": LENGTH}),
    "support": _keys(
        {"name": NAMES, "material": st.sampled_from(["goat parchment", "rag paper"])},
        {"side": st.sampled_from(["hair", "flesh"]), "preparation": TEXT},
    ),
    "pen": _keys({"name": NAMES, "cut": st.sampled_from(["reed", "goose quill"]), "width": LENGTH}),
    "steep": st.one_of(
        *(
            _keys(
                {
                    **source,
                    "liquid": LIQUID,
                    "liquid_amount": st.one_of(VOLUME, MASS),
                    "into": NAMES,
                    "for": TIME,
                },
                {
                    "temperature": TEMPERATURE,
                    "pieces": st.sampled_from(["whole", "crushed", "3 mm", "ground"]),
                },
            )
            for source in ({"lot": NAMES, "amount": st.one_of(MASS, VOLUME, SHARE)}, {"marc_of": NAMES})
        )
    ),
    "strain": _keys({"vessel": NAMES, "into": NAMES}),
    "reduce": st.one_of(
        _keys({"vessel": NAMES, "to": st.one_of(VOLUME, SHARE, LENGTH)}, {"for": TIME, "heat": HEAT}),
        _keys({"vessel": NAMES, "for": TIME, "heat": HEAT}),
    ),
    "weather": _keys(
        {"lot": NAMES, "amount": MASS, "liquid": LIQUID, "liquid_amount": VOLUME, "into": NAMES, "for": TIME},
        {"temperature": TEMPERATURE},
    ),
    "neutralise": _keys({"vessel": NAMES, "lot": NAMES, "amount": MASS}, {"for": TIME}),
    "crystallise": _keys({"vessel": NAMES, "lot": NAMES}, {"amount": MASS}),
    "add": st.one_of(
        _keys({"into": NAMES, "lot": NAMES, "amount": st.one_of(MASS, VOLUME, SHARE)}),
        _keys({"into": NAMES, "liquid": LIQUID, "amount": VOLUME}),
        _keys({"into": NAMES, "liquid": LIQUID, "up_to": st.one_of(VOLUME, LENGTH)}),
    ),
    "pour": _keys({"from": NAMES, "into": NAMES, "amount": st.one_of(VOLUME, SHARE)}),
    "warm": _keys({"vessel": NAMES, "to": TEMPERATURE}, {"for": TIME}),
    "rest": _keys({"vessel": NAMES, "for": TIME}, {"covered": st.booleans()}),
    "skim": _keys({"vessel": NAMES}),
    "store": _keys({"vessel": NAMES, "how": TEXT}),
    "discard": _keys({"vessel": NAMES, "amount": st.one_of(VOLUME, SHARE)}),
    "mark": _keys(
        {
            "vessel": NAMES,
            "trial": NAMES,
            "support": NAMES,
            "method": st.sampled_from(["dip", "drop", "pen", "line", "pangram"]),
        },
        {
            "pen": NAMES,
            "thinned": st.sampled_from(["1 in 8", "1 in 4"]),
            "temperature": TEMPERATURE,
            "angle": st.just("35 deg"),
        },
    ),
    "reading": READINGS,
    "remark": _keys({"text": TEXT}),
    "void": _keys({"entry": st.integers(1, 10**6), "why": TEXT}),
}
_COMMON = {"who": TEXT, "note": TEXT, "picture": st.just("sha256:" + "1" * 64)}


def _whole(kind: str) -> st.SearchStrategy[dict[str, Any]]:
    common = st.fixed_dictionaries({"at": MOMENT, "kind": st.just(kind)}, optional=_COMMON)
    return st.builds(lambda c, k: {**c, **k}, common, KEYS[kind])


def raw_entries(*kinds: str) -> st.SearchStrategy[dict[str, Any]]:
    """Draw entries as JSON of some kinds, or of every kind, amendments included."""
    plain = st.one_of(*(_whole(kind) for kind in (kinds or KEYS)))
    if kinds:
        return plain
    steps = st.one_of(*(_whole(kind) for kind in KEYS if kind != "void"))
    amend = st.builds(
        lambda at, n, r: {"at": at, "kind": "amend", "entry": n, "replacement": r},
        MOMENT,
        st.integers(1, 10**6),
        steps,
    )
    return st.one_of(plain, amend)
