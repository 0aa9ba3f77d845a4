"""Pictures, colours and skins: readings that are no single figure."""

from __future__ import annotations

from inkhorn.sentences.answer import ask
from inkhorn.sentences.noticing import Noticing


def picture(n: Noticing) -> bool:
    """Read a picture of a trial or of the original."""
    file = n.clause.first("FILE")
    what = n.what()
    snapped = n.clause.has("verb:photograph")
    if file is None and not (what and what.value == "photo") and not snapped:
        return False
    if file is None:
        if n.clause.first("TRIAL", "EXEMPLAR") is None:
            return False
        raise ask("value", "Which file is the picture?", mend="Give the name of the file, for example t2.jpg")
    n.take(file)
    for phrase in n.free("WHAT"):
        n.take(phrase)
    of = n.subject("trial", "exemplar") or _new_exemplar(n)
    if of is None:
        raise ask(
            "of",
            "Of what is the picture?",
            *n.clause.scene.things.trials,
            mend="Name the trial or the exemplar",
        )
    n.add(of, "photo", file.thing.value if file.thing else "")
    return True


def _new_exemplar(n: Noticing) -> str | None:
    for phrase in n.free("NEWNAME"):
        before = n.clause.said[: phrase.start].rstrip()
        if before.casefold().endswith("exemplar:") or "exemplar" in n.clause.said.casefold():
            n.take(phrase)
            return f"exemplar:{phrase.thing.value}" if phrase.thing else None
    return None


def channels(n: Noticing) -> bool:
    """Read three channels of colour or of density."""
    lettered = n.clause.single("CHANNELS")
    triple = n.clause.single("TRIPLE")
    if lettered is None and triple is None:
        return False
    whats = {p.thing.value for p in n.clause.phrases if p.sort == "single" and p.type == "WHAT" and p.thing}
    lab = bool(whats & {"lab", "support_lab"}) or (lettered is not None and lettered.value == "Lab")
    if lettered is None and not (lab or "density" in whats):
        return False
    if lettered is not None and (lettered.value == "Lab") != lab:
        return False
    keys = ("L", "a", "b") if lab else ("R", "G", "B")
    token = lettered or triple
    assert token is not None  # noqa: S101 - one of them is there
    value = dict(token.data) if lettered else dict(zip(keys, token.data, strict=True))
    for phrase in n.free("CHANNELS", "TRIPLE", "WHAT"):
        n.take(phrase)
    skins = list(n.free("SUPPORT", "SKIN"))
    of = n.subject("exemplar")
    if of is not None:
        for phrase in skins:
            n.take(phrase)
        for phrase in n.free("LIQUOR"):
            n.take(phrase)
        bare = "support_lab" in whats or bool(skins)
        n.add(of, "support_lab" if lab and bare else "lab" if lab else "optical_density", value)
        return True
    of = n.subject("trial") or (n.subject("support") if lab else None)
    if of is None:
        raise ask(
            "of",
            "Of which trial?",
            *n.clause.scene.things.trials,
            mend="Name the trial, the exemplar or the skin",
        )
    n.add(of, "lab" if lab else "optical_density", value)
    return True


def skin(n: Noticing) -> bool:
    """Read how a skin takes ink, and its side."""
    scales = [p for p in n.free("SCALE") if p.thing]
    takes = [
        p
        for p in n.clause.phrases
        if p.sort == "single"
        and p.thing
        and p.thing.type == "VERB"
        and p.thing.value == "give"
        and p.thing.tense == "order"
    ]
    words = {p.thing.value for p in scales if p.thing}
    sorts = {value.partition(":")[0] for value in words}
    if sorts <= {"side"} and len(words) == 1:
        what, word = "side", next(iter(words)).partition(":")[2]
    elif sorts <= {"absorbency", "?takes"} and words:
        chosen = {"takes" if v == "?takes" else v.partition(":")[2] for v in words}
        if len(chosen) != 1:
            return False
        what, word = "absorbency", chosen.pop()
    elif words == {"?feathers"} and not n.clause.has("amount", "VESSEL", "LOT", "CALL", "DECLARE"):
        of = n.subject("support")
        raise ask(
            "value" if of else "of",
            "Does the skin drink the ink or blot it?"
            if of
            else "Which skin feathers: does it drink the ink or blot it?",
            *(("drinks", "blots") if of else n.clause.scene.things.supports),
            mend="Say the skin, and drinks or blots",
            partial={"kind": "reading", "what": "absorbency", **({"of": of} if of else {})},
        )
    elif not words and takes and n.clause.has("SUPPORT"):
        what, word = "absorbency", "takes"
    else:
        return False
    if n.clause.has("amount", "VESSEL", "LOT", "TRIAL", "CALL", "DECLARE"):
        return False
    for phrase in (*scales, *n.free("WHAT", "LIQUOR")):
        n.take(phrase)
    of = n.subject("support")
    supports = n.clause.scene.things.supports
    if of is None and what == "side" and len(supports) == 1:
        for phrase in n.free("PRONOUN"):
            n.take(phrase)
        of = f"support:{next(iter(supports))}"
    if of is None:
        return False
    n.add(of, what, word)
    return True
