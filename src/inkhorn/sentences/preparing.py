"""Lots as they are brought in and made ready: gathered, dried, crushed, ground, washed."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

from inkhorn.sentences.answer import ask
from inkhorn.sentences.frames import Clause, Filled
from inkhorn.sentences.settling import settle
from inkhorn.sentences.times import seconds, stamp
from inkhorn.sentences.tokens import Token

Entry = dict[str, Any]


def gathered(filled: Filled, clause: Clause) -> list[Entry]:
    """Return what was gathered or bought."""
    token = filled.things.get("lot")
    if token is None:
        raise ask("material", "What was it?", mend="Name the material")
    if token.type == "LOT":
        lot = settle(token, "lot")
        material = clause.scene.things.lots[lot].material or lot
    else:
        lot = material = settle(token, "material")
        if lot == "bought-green-vitriol" and clause.has("verb:scrape"):
            lot = material = "scraped-green-vitriol"
    out: Entry = {"kind": "gather", "lot": lot, "material": material.replace("-", " ")}
    if "hydrochloric" in material:
        out["material"] = material
    if "amount" in filled.values:
        out["amount"] = filled.values["amount"]
    spare = [p for p in filled.strange if p.prep in ("off", "from", "at", "around", "on", "by", "under")]
    if spare:
        out["source"] = clause.said[spare[0].start : spare[-1].end]
        filled.strange = [p for p in filled.strange if p not in spare]
    return [out]


def prepared(filled: Filled, clause: Clause) -> list[Entry]:
    """Return how a lot was made ready, one entry a way."""
    if [verb for verb, _ in clause.verbs][:1] == ["read"]:
        raise ask("sentence", "Was something done to it, or was it only weighed?", mend="Say what was done")
    length = filled.values.pop("for", None)
    hows = [verb for verb, _ in clause.verbs if verb in ("dry", "crush", "grind", "wash")]
    token = filled.things.get("lot")
    if token is None:
        raise ask("lot", "Which lot was it?", *clause.scene.things.lots, mend="Name the lot")
    lot = settle(token, "lot")
    _not_by_itself(clause, token)
    out: list[Entry] = [{"kind": "prepare", "lot": lot, "how": how} for how in dict.fromkeys(hows)]
    told = filled.taken.get("to")
    if "to" in filled.values:
        small = told is not None and told.qty is not None and told.qty.dimension == "length"
        of = [entry for entry in out if (entry["how"] in ("crush", "grind")) == small]
        (of or out)[-1]["to"] = filled.values["to"]
    if length is not None and not clause.moments() and any(tense == "past" for _, tense in clause.verbs):
        begin = stamp(clause.scene.now - timedelta(seconds=seconds(length)))
        return [{"at": begin, **entry} for entry in out]
    return out


_CRUMBLED = re.compile(
    r"crumbled|cracked|broke|split|splintered|flaked|fell apart|fallen apart", re.IGNORECASE
)


def _not_by_itself(clause: Clause, lot: Token) -> None:
    """Ask whether it was crushed, where it may have crumbled by itself: "the pyrite has crumbled"."""
    verb = next((p for p in clause.phrases if p.type == "VERB"), None)
    hand = any(t.type == "SUBJECT" for t in clause.dropped)
    done = any(
        clause.said[t.start : t.end].casefold() in ("was", "were", "been", "being", "got", "get")
        for t in clause.dropped
    )
    tool = any(p.type in ("MANNER", "INSTRUMENT") for p in clause.phrases)
    if verb is None or hand or done or tool or lot.start > verb.start:
        return
    if _CRUMBLED.match(clause.said[verb.start : verb.end]) and not clause.has("amount"):
        raise ask(
            "how",
            "Did you crush it, or did it crumble by itself?",
            mend="Say “crushed the …”, or keep it as a remark",
        )
