"""Corrections and remarks: an earlier entry is amended or struck out, or plain text is kept."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.measures import measures
from inkhorn.daybook.readings import FORMS
from inkhorn.errors import QuantityError
from inkhorn.quantities import read_quantity
from inkhorn.sentences.answer import Ask, ask
from inkhorn.sentences.scene import Scene
from inkhorn.sentences.settling import settle
from inkhorn.sentences.striking import Mended, entry_number, last_recorded, line_of, struck_out
from inkhorn.sentences.times import stamp
from inkhorn.sentences.tokens import Token
from inkhorn.sentences.unmarked import stepped_instead

Entry = dict[str, Any]
_KEYS = ("amount", "to", "for", "liquid_amount", "up_to", "width", "capacity", "depth", "temperature")
_NAMES_OF: Mapping[str, tuple[str, ...]] = {"mark": ("pen", "support", "vessel", "trial", "method")}
#: Words before a correction that open it where they stand first.
_OPENERS = re.compile(
    r"^(?:oh |ah |er |hm )*(?:actually|rather|change|amend|correct|make that|make it|it was only|it only|that was|that is|this was|entry \d+|i (?:wrote|said|put down|entered|noted) (?:about |only )?\d|(?:it|that|this|the \w+) was (?:done |made |really )?(?:at|around|about) (?:noon|midday|half|quarter|\w+ (?:o'?clock|past|to)|(?:one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|\d{1,2}(?:[.:]\d\d)?)(?: [ap]\.?m\.?)?\s*[.!]?$)|it was (?:about |only |just )?\d[\d.,]* ?[a-z%]*\s*$)",
    re.IGNORECASE,
)


def remark(said: str, typed: Sequence[Token]) -> Entry | None:
    """Return the remark that a sentence says it is, or None."""
    if not typed or typed[0].type != "REMARK":
        return None
    text = said[typed[0].end :].lstrip(" ,:;.-")
    text = re.sub(r"^that\s+", "", text)
    return {"kind": "remark", "text": text} if text else None


def mend(said: str, typed: Sequence[Token], scene: Scene, recorded: Sequence[Recorded]) -> Mended | None:
    """Return the correction that a sentence makes, or None where it makes none."""
    if any(t.type == "ASKING" for t in typed[:2]) or said.rstrip().endswith("?"):
        return None
    marks = {t.value for t in typed if t.type == "MEND"}
    try:
        if "void" in marks or re.search(
            r"\btake (?:entry )?\d+ (?:back )?out\b|\btake entry \d+", said, re.IGNORECASE
        ):
            return struck_out(said, typed, scene)
        if not _mends(said, typed, marks, scene):
            return None
        return _amend(said, typed, scene, recorded)
    except Ask as asked:
        aside = not marks and not _OPENERS.match(said) and asked.question.text.startswith("I do not see what")
        return None if aside else Mended(question=asked.question)


def _mends(said: str, typed: Sequence[Token], marks: set[str], scene: Scene) -> bool:
    first = next((t.start for t in typed if t.type == "MEND"), len(said))
    done = any(
        t.type == "VERB" and t.tense == "past" and t.value in ("add", "put", "pour", "steep")
        for t in typed
        if t.end <= first
    )
    told = [
        t
        for t in typed
        if t.end <= first
        and (t.type in ("LOT", "LIQUID") or (t.qty is not None and t.qty.dimension in ("mass", "volume")))
    ]
    if marks == {"instead"} and stepped_instead(typed) is not None and not _says_last(typed, scene):
        return False
    if done and len(told) > 1 and marks and marks <= {"before"}:
        return False  # "added 40 g of vitriol, should have been 50": the step was done as it is told
    if marks & {"sorry", "correction", "instead"} or (typed and typed[0].type == "MEND"):
        return True
    if _OPENERS.match(said):
        return scene.last() is not None
    contrast = _contrasted(typed)
    if (
        contrast
        and scene.last() is not None
        and not any(t.tense == "order" and t.type == "VERB" for t in typed[:1])
    ):
        return _meant(typed, scene, sure=True) is not None
    trial = next((t for t in typed if t.type == "TRIAL"), None)
    marked = trial is not None and any(
        t.type in ("DILUTION", "PEN") or (t.type == "VERB" and t.value in ("mark", "dip")) for t in typed
    )
    anew = any(t.value == "again" or t.type == "AGAIN" for t in typed)
    if marked and not anew and not any(t.type in ("SCALE", "WHAT", "METHOD", "CHANNELS") for t in typed):
        return True
    return "before" in marks


# ---------------------------------------------------------------- amendments


def _says_last(typed: Sequence[Token], scene: Scene) -> bool:
    """Return whether what is told after "instead of" is what the last entry says: then it is that which is corrected."""
    last = last_recorded(scene)
    known = [t for t in _contrasted(typed) if t.qty is not None and t.qty.dimension in ("mass", "volume")]
    return last is not None and bool(known) and all(_says(last.raw, t) for t in known)


def _contrasted(typed: Sequence[Token]) -> list[Token]:
    """Return the tokens that stand behind "not" or "instead of", up to the next comma."""
    out: list[Token] = []
    inside = False
    for token in typed:
        if (token.type == "NOT" and token.value == "not") or (
            token.type == "MEND" and token.value == "instead"
        ):
            inside = True
        elif inside and token.type in ("COMMA", "STOP", "COLON", "BUT", "SUBJECT"):
            inside = False
        elif inside and token.type not in ("FILL", "PREP", "S", "SUBJECT"):
            out.append(token)
    return out


def _says(raw: Mapping[str, Any], token: Token) -> bool:
    """Return whether an entry has what a token says."""
    if token.names:
        held = {
            str(raw.get(key))
            for key in ("lot", "liquid", "vessel", "into", "from", "pen", "support", "trial", "marc_of")
        }
        held.add(str(raw.get("of", "")).partition(":")[2])
        return bool(held & set(token.names))
    if token.type == "MOMENT" and token.data.at is not None:
        return str(raw["at"])[:16] == stamp(token.data.at)
    if token.qty is not None:
        return _key_of(raw, token, same=True) is not None
    return False


def _began_at(raw: Mapping[str, Any], token: Token) -> bool:
    """Return whether a bare figure is the hour at which an entry began: "at two, not three"."""
    if token.type != "NUMBER" or token.qty is None or not token.qty.figure.isdigit():
        return False
    hour, minute = (int(part) for part in str(raw["at"])[11:16].split(":"))
    return minute == 0 and hour % 12 == int(token.qty.figure) % 12  # numbers-in-code: halves of the day


def _meant(typed: Sequence[Token], scene: Scene, *, sure: bool = False) -> Recorded | None:
    """Return the entry that a correction is about: the newest that has what it contrasts or names."""
    contrast = _contrasted(typed)
    outside = [t for t in typed if t not in contrast]
    newest = sorted(scene.book, key=lambda line: -line.number)
    trial = next((t for t in outside if t.type == "TRIAL"), None)
    if trial is not None:
        return next(
            (line for line in newest if line.kind == "mark" and line.raw.get("trial") == trial.value), None
        )
    known = [t for t in contrast if t.names or t.qty is not None or t.type == "MOMENT"]
    hours = any(t.type == "MOMENT" and t.data.clock is not None for t in outside)
    verbs = {t.value for t in outside if t.type == "VERB"}
    lots = {name for t in outside if t.type == "LOT" for name in t.names}
    what = next((t.value for t in outside if t.type == "WHAT"), "")
    if sure and not known:
        return None
    for line in newest if not sure else newest[:3]:
        if known and not all(_says(line.raw, t) or (hours and _began_at(line.raw, t)) for t in known):
            continue
        if verbs & {"boil", "simmer", "boil_off"} and line.kind != "reduce":
            continue
        if verbs & {"strain"} and line.kind != "strain":
            continue
        if what and not (line.kind == "reading" and line.raw.get("what") == what):
            continue
        if lots and not known and line.raw.get("lot") not in lots:
            continue
        return line
    return None


def _amend(said: str, typed: Sequence[Token], scene: Scene, recorded: Sequence[Recorded]) -> Mended:
    del recorded
    number = entry_number(said)
    line = line_of(scene, number) if number else None
    contrast = _contrasted(typed)
    outside = [t for t in typed if t not in contrast]
    swap = any(t.type == "MEND" and t.value == "instead" for t in typed)
    if line is None:
        last = last_recorded(scene)
        line = _meant(typed, scene)
        what = next((t.value for t in outside if t.type == "WHAT"), "")
        other = bool(what) and last is not None and last.raw.get("what") != what
        if (
            line is None
            and not contrast
            and last is not None
            and not other
            and not any(t.type == "LOT" for t in typed)
        ):
            line = last
        if line is None and last is not None and swap:
            line = last
    if line is None:
        raise ask(
            "entry",
            "Which entry is to be corrected?",
            mend="Name it by its number, and say what it should be",
        )
    if not any(
        t.qty is not None or t.names or t.type in ("MOMENT", "NEWNAME", "SCALE", "METHOD") for t in outside
    ):
        other = any(t.value == "?other" for t in typed)
        if other:
            raise ask(
                "into" if "into" in line.raw else "vessel",
                "Which vessel?",
                *scene.things.vessels,
                mend="Name the vessel",
            )
    later = _after_dots(outside)
    raw = _changed(line.raw, later, number)
    if raw == line.raw:
        raise ask(
            "value" if line.kind == "reading" else "amount",
            "What should it say instead?",
            mend="Say what it should be",
        )
    beside = ("WORD", "PLAN", "ASKING", "HEARSAY")
    odd = [said[t.start : t.end] for t in later if t.type in beside or (t.type == "NOT" and t.value != "not")]
    guesses = [f"I left out “{word}”" for word in odd]
    newest = last_recorded(scene)
    if number is None and newest is not None and line.number != newest.number:
        guesses.append(f"I take it for a correction of entry {line.number}")
    amended = {"kind": "amend", "entry": line.number, "replacement": {"at": line.raw["at"], **raw}}
    return Mended(entries=(amended,), guesses=tuple(guesses))


def _after_dots(tokens: Sequence[Token]) -> list[Token]:
    """Return what is said last where somebody corrects himself in the midst: "at nine really... twenty to ten"."""
    places = [n for n, t in enumerate(tokens) if t.type == "STOP" and t.value in ("...", "…")]
    return list(tokens[places[-1] + 1 :]) if places else list(tokens)


def _changed(raw: Mapping[str, Any], tokens: Sequence[Token], number: int | None) -> Entry:
    """Return an entry with what a correction says put in; every telling token must find its key."""
    out = dict(raw)
    reading = raw["kind"] == "reading"
    for place, token in enumerate(tokens):
        if token.qty is not None and not (number is not None and token.qty.text == str(number) and place < 4):
            key = _key_of(raw, token)
            if key is None:
                raise ask(
                    "amount",
                    f"I do not see what “{token.value}” is to change.",
                    mend="Say which figure it stands for",
                )
            out[key] = _figure(raw, key, token)
        elif token.type == "MOMENT" and token.data.at is not None:
            if not _names_the_day(raw, token):
                out["at"] = stamp(token.data.at)
        elif token.type == "NEWNAME" and "trial" in raw:
            if any(t.type == "VERB" and t.value in ("mark", "dip") for t in tokens):
                raise ask(
                    "trial",
                    f"Is {token.value} a new trial, or another name for {raw['trial']}?",
                    mend=f"Say how {token.value} was made, with nothing of what it was not; or “{raw['trial']} should be {token.value}”",
                )
            out["trial"] = token.value
        elif token.type == "TRIAL" and raw.get("trial") != token.value:
            raise ask("trial", "Which trial?", mend="Name the trial")
        elif token.type in ("LOT", "MATERIAL") and "lot" in raw:
            out["lot"] = raw["lot"] if raw["lot"] in token.names else settle(token, "lot")
        elif token.type == "LIQUID" and "liquid" in raw:
            out["liquid"] = token.value.replace("-", " ")
        elif token.type == "VESSEL":
            _vessel(out, token, tokens[place - 1] if place else None)
        elif token.type in ("PEN", "SUPPORT") and token.type.lower() in _NAMES_OF.get(str(raw["kind"]), ()):
            out[token.type.lower()] = settle(token, token.type.lower())
        elif token.type == "METHOD" and "method" in raw:
            out["method"] = token.value
        elif token.type == "SCALE" and reading and token.value.partition(":")[0] == raw.get("what"):
            out["value"] = token.value.partition(":")[2]
        elif token.type == "INSTRUMENT" and reading:
            continue  # "I misread the strip"
        elif token.type in (
            "LOT",
            "LIQUID",
            "MATERIAL",
            "PEN",
            "SUPPORT",
            "SCALE",
            "CHANNELS",
            "TRIPLE",
            "FILE",
            "NEWNAME",
            "EXEMPLAR",
            "INSTRUMENT",
            "COVER",
            "HEAT",
        ):
            raise ask(
                "entry",
                "I do not see what that is to change.",
                mend="Name the entry by its number, and say what it should be",
            )
    return out


def _names_the_day(raw: Mapping[str, Any], token: Token) -> bool:
    """Return whether a day without an hour is the day of the entry: "yesterday's vitriol" names it, and does not change it."""
    told = token.data
    return bool(told.day_only) and str(raw["at"])[:10] == stamp(told.at)[:10]


def _vessel(out: Entry, token: Token, before: Token | None) -> None:
    name = settle(token, "vessel")
    if out["kind"] == "reading":
        out["of"] = f"vessel:{name}"
        return
    if before is not None and before.value in ("from", "off") and "from" in out:
        out["from"] = name
    elif "into" in out and (
        "vessel" not in out or (before is not None and before.value in ("into", "to", "in"))
    ):
        out["into"] = name
    elif "vessel" in out:
        out["vessel"] = name
    else:
        raise ask("entry", "I do not see what that vessel is to change.", mend="Name the entry by its number")


def _figure(raw: Mapping[str, Any], key: str, token: Token) -> str:
    qty = token.qty
    assert qty is not None  # noqa: S101 - the caller chose an amount
    if qty.dimension == "number" and key != "thinned":
        old = str(raw[key])
        unit = re.sub(r"^[^\d]*[\d.,/ -]+", "", old)
        return qty.bare() if raw["kind"] == "reading" and not unit else qty.bare(unit)
    return qty.text


def _key_of(raw: Mapping[str, Any], token: Token, *, same: bool = False) -> str | None:
    """Return the key of an entry that an amount may stand for; ``same`` where it must be what stands there."""
    qty = token.qty
    if qty is None:
        return None
    if raw["kind"] == "reading":
        if raw["what"] not in FORMS.get(str(raw["of"]).partition(":")[0], {}) or not isinstance(
            raw["value"], str
        ):
            return None
        keys: Sequence[str] = ("value",)
    elif qty.dimension == "dilution":
        return "thinned" if raw["kind"] == "mark" else None
    else:
        keys = [key for key in _KEYS if isinstance(raw.get(key), str)]
    for key in keys:
        if _fits(str(raw[key]), qty.text if qty.dimension != "number" else "", qty.figure, same=same):
            return key
    return None


def _fits(old: str, new: str, figure: str, *, same: bool) -> bool:
    """Return whether an amount may stand in the place of another, or is the same figure."""
    if not new:
        numbers = re.findall(r"\d+(?:\.\d+)?", old)
        return (figure in numbers) if same else bool(numbers)
    for dimension in (
        "mass",
        "volume",
        "time",
        "temperature",
        "length",
        "fraction",
        "viscosity",
        "mass_conc",
        "amount_conc",
    ):
        try:
            was = read_quantity(old, expect=(dimension,), measures=measures())
            now = read_quantity(new, expect=(dimension,), measures=measures())
        except QuantityError:
            continue
        return not same or abs(was.value - now.value) <= 1e-6 * abs(was.value)
    if same:
        return False
    return _swappable(old, new)


def _swappable(old: str, new: str) -> bool:
    """Return whether a share may stand for a volume: "down to a third" for "to 900 ml"."""
    for text in (old, new):
        try:
            read_quantity(text, expect=("volume", "fraction"), measures=measures())
        except QuantityError:
            return False
    return True
