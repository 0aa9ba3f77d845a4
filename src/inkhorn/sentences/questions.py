"""One short question for each thing that an entry may lack."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inkhorn.daybook.names import said
from inkhorn.daybook.schema import KINDS
from inkhorn.sentences.answer import Question
from inkhorn.sentences.lexicon import table


def lacking(kind: str, key: str, entry: Mapping[str, Any]) -> Question:
    """Return the question for a key that an entry of a kind lacks."""
    texts: Mapping[str, Any] = table("questions")
    text = texts.get(kind, {}).get(key) or texts["any"].get(key) or f"What about {key.replace('_', ' ')}?"
    known = {name: said(str(value)) for name, value in entry.items() if isinstance(value, str)}
    thing = known.get("lot") or known.get("liquid") or known.get("vessel") or known.get("from") or "it"
    says = KINDS[kind].all_keys[key].says if key in KINDS[kind].all_keys else key
    return Question(text=text.replace("{thing}", thing), field=key, mend=f"{key.replace('_', ' ')}: {says}")
