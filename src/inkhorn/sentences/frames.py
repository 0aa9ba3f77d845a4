"""From the phrases of a clause to the keys of an entry: the frames, and the rule that nothing told is dropped.

Every amount, name and moment of a clause must find a place in the entry that is
made of it; where one does not, the frame does not fit. Words that no key could
hold are kept as unread.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any

import attrs

from inkhorn.daybook.schema import KINDS
from inkhorn.sentences.lexicon import table
from inkhorn.sentences.phrases import Phrase
from inkhorn.sentences.scene import Scene, role_of
from inkhorn.sentences.tokens import Token

#: A verb and a word that stands apart from it ("put it away"), and what they are together.
_TOGETHER: Mapping[tuple[str, str], str] = MappingProxyType(
    {
        ("pour", "away"): "discard", ("put", "away"): "store", ("pour", "out"): "discard",
        ("rest", "away"): "store", ("throw", "away"): "discard", ("throw", "out"): "discard", ("get", "down_to"): "boil", ("bring", "down_to"): "boil", ("bring", "down"): "boil", ("give", "away"): "discard",
        ("boil", "off"): "boil_off", ("boil", "away"): "boil_off", ("lift", "out"): "lift",
        ("pour", "waste"): "discard", ("put", "waste"): "discard", ("throw", "waste"): "discard", ("give", "waste"): "discard", ("lose", "waste"): "discard",
        ("get", "waste"): "discard", ("run", "waste"): "discard", ("strain", "waste"): "discard", ("pour", "off"): "pour", ("made", "up_to"): "fill", ("mark", "off"): "pour",
    }
)  # fmt: skip
DEFERRED = frozenset({"LIQUOR", "PRONOUN"})
#: Words by themselves that any entry may have beside it.
_HARMLESS = frozenset(
    {
        "PARTICLE",
        "STRAY",
        "MANNER",
        "COMMA",
        "INSTRUMENT",
        "AHEAD",
        "MOMENT",
        "COVER",
        "PIECES",
        "PLUS",
        "DECLARE",
        "PREP",
        "STRIP",
    }
)

#: Verbs of heat, by which something may be steeped in what boils.
_HEATING = frozenset({"boil", "simmer", "warm"})
_VAGUE_POUR = frozenset({"mix", "add", "put", "throw", "give", "get", "run", "store", "fill"})
#: Verbs that say of themselves nothing of an addition.
_VAGUE = frozenset(
    {
        "run",
        "give",
        "get",
        "throw",
        "read",
        "sieve",
        "lift",
        "cut",
        "hold",
        "have",
        "scrape",
        "grind",
        "crush",
    }
)
#: Steps that are done to all of a thing, so that "all of it" tells nothing more.
_OF_ALL = frozenset({"prepare", "skim", "strain", "warm", "rest", "store", "reduce", "crystallise"})
#: Words for taking back what had gone in: "removed 2 g of gum", "took it out again".
_TAKEN_OUT = re.compile(
    r"\b(?:remov\w+|withdr\w+|t(?:ake|ook) [^,.;]*\b(?:out again|back out|out of it|back))\b", re.IGNORECASE
)
#: Words for what goes over the side, and not off as steam.
_SPILT = re.compile(
    r"\b(?:knock\w*|spil\w*|tipp\w*|toppl\w*|dropp?ed (?:the|it)|kick\w*|slipp\w*|leak\w*|crack\w*|slosh\w*|cat|dog|boil(?:ed|s|ing)? over|froth\w* over|(?:ran|run|running) over|overflow\w*|elbow\w*|jogg\w*|jolt\w*|bump\w*|fell|floor|table)\b",
    re.IGNORECASE,
)
#: Prepositions that say too much to be passed over where nothing stands behind them.
_MEANT = frozenset({"more_than", "less_than", "above", "until", "up_to", "than", "per", "since", "down_to"})


@attrs.frozen(kw_only=True)
class Clause:
    """A clause: the phrases of one or more segments, said of a scene."""

    phrases: tuple[Phrase, ...]
    scene: Scene
    said: str = ""
    dropped: tuple[Token, ...] = ()
    joints: tuple[int, ...] = ()

    @functools.cached_property
    def verbs(self) -> tuple[tuple[str, str], ...]:
        """Return its verbs by class and tense, with what stands apart from them."""
        apart = {
            p.thing.value
            for p in self.phrases
            if p.sort == "single" and p.thing and p.thing.type in ("PARTICLE", "STRAY", "PREP")
        }
        apart |= {p.prep for p in self.phrases if p.prep in ("down_to", "up_to")}
        out = []
        for phrase in self.phrases:
            if phrase.sort == "single" and phrase.thing and phrase.thing.type == "VERB":
                value = phrase.thing.value
                value = next(
                    (_TOGETHER[value, word] for word in sorted(apart) if (value, word) in _TOGETHER), value
                )
                out.append((value, phrase.thing.tense))
        return tuple(out)

    @functools.cached_property
    def features(self) -> frozenset[str]:
        """Return what a frame may want or shun: terminals, verbs, roles of lots, prepositions."""
        out: set[str] = {f"verb:{verb}" for verb, _ in self.verbs}
        if any(t.type == "FILL" and t.value == "aux" for t in self.dropped) and all(
            t == "order" for _, t in self.verbs
        ):
            out.add("BE")
        if _SPILT.search(self.said):
            out.add("SPILT")
        if "verb:put" in out and any(p.type == "COVER" for p in self.phrases):
            out.add("LIDDED")
        for phrase in self.phrases:
            out.add(phrase.type)
            if phrase.prep:
                out.add(f"P:{phrase.prep}")
            if phrase.prep == "down_to" or (
                phrase.prep == "from"
                and phrase.type == "VOLUME"
                and phrase.bare
                and any(p.bare and p.prep == "to" and p.type == "VOLUME" for p in self.phrases)
            ):
                out.add("DOWN")
            if phrase.amount is not None and not _whole(phrase):
                out |= {"amount", phrase.amount.type}
            out |= {m.type for m in phrase.mods}
            for token in phrase.words:
                if token.type == "ARROW":
                    out.add("ARROW")
            thing = phrase.thing
            after = next((p for p in self.phrases if p.start > phrase.start), None)
            if (
                thing is not None
                and thing.type in ("LOT", "MATERIAL")
                and after is not None
                and after.type == "LIQUOR"
                and not after.prep
            ):
                out.add("BROUGHT")
            if thing is not None and thing.type in ("LOT", "MATERIAL"):
                out |= {
                    f"role:{self.scene.role(name) if thing.type == 'LOT' else role_of(name)}"
                    for name in thing.names
                }
            if (
                thing is not None
                and thing.type in ("LOT", "MATERIAL", "MARC")
                and phrase.prep in ("off", "from")
            ):
                out.add("OFF")
            if (
                thing is not None
                and thing.type == "SCALE"
                and (
                    thing.value == "?mould"
                    or (thing.value.startswith("surface:") and thing.value != "surface:clear")
                )
            ):
                out.add("FILM")
            if thing is not None and thing.type == "MANNER" and thing.value == "place" and phrase.prep:
                out.add("PLACE")
            if thing is not None and thing.type == "PARTICLE" and thing.value == "down":
                out.add("DOWN")
        if not self.verbs and any(p.type == "AHEAD" for p in self.phrases) and _lasts(self):
            out.add("KEPT")  # "it may stand now till Thursday"
        if not self.verbs and any(p.type == "COVER" for p in self.phrases):
            if _lasts(self):
                out.add("KEPT")  # "lid on, two days, pot"
            elif any(p.thing and p.thing.type == "MANNER" and p.thing.value == "place" for p in self.phrases):
                out.add("PLACE")  # "jar corked, cellar"
        return frozenset(out)

    @property
    def ours(self) -> bool:
        """Whether it says what somebody has ("I have 300 g", "we are down to a litre")."""
        mine = any(t.type == "SUBJECT" for t in self.dropped) and "HEAT" not in self.features
        return mine and any(t.type == "FILL" and t.value in ("have", "aux") for t in self.dropped)

    def all(self, *types: str) -> tuple[Phrase, ...]:
        """Return the phrases whose thing, or amount alone, is of some terminals."""
        return tuple(p for p in self.phrases if p.type in types)

    def first(self, *types: str) -> Phrase | None:
        """Return the first such phrase."""
        return next(iter(self.all(*types)), None)

    def has(self, *features: str) -> bool:
        """Return whether it has one of some features."""
        return bool(self.features & set(features))

    def single(self, kind: str) -> Token | None:
        """Return the first word by itself of a terminal."""
        return next(
            (p.thing for p in self.phrases if p.sort == "single" and p.thing and p.thing.type == kind), None
        )

    def moments(self) -> tuple[Any, ...]:
        """Return the moments it tells."""
        return tuple(
            p.thing.data for p in self.phrases if p.sort == "single" and p.thing and p.thing.type == "MOMENT"
        )


def _lasts(clause: Clause) -> bool:
    """Return whether a clause tells how long, or until when."""
    return any(p.amount is not None and p.amount.type == "TIME" for p in clause.phrases) or any(
        moment.role == "until" for moment in clause.moments()
    )


@attrs.define(kw_only=True)
class Filled:
    """What a frame made of a clause.

    ``values`` holds amounts as text, ``things`` the tokens of names; ``left``
    is what found no place, ``unread`` what no key could hold, ``strange`` what
    stands unknown behind a preposition.
    """

    kind: str
    rank: int
    values: dict[str, str] = attrs.field(factory=dict)
    things: dict[str, Token] = attrs.field(factory=dict)
    taken: dict[str, Phrase] = attrs.field(factory=dict)
    left: list[Phrase] = attrs.field(factory=list)
    unread: list[Phrase] = attrs.field(factory=list)
    strange: list[Phrase] = attrs.field(factory=list)

    @property
    def lacking(self) -> int:
        """Return how many of the keys that its kind needs are not there; a vessel left unsaid does not count."""
        kind = KINDS[self.kind]
        given = {*self.values, *self.things}
        needed = {key.name for key in kind.keys if key.needed} - {"vessel", "from", "into"}
        either = sum(min(len(set(keys) - given) for keys in sets) for sets in kind.either)
        return len(needed - given) + either


def frames() -> Mapping[str, Mapping[str, Any]]:
    """Return the table of frames."""
    return _frames()


@functools.cache
def _frames() -> Mapping[str, Mapping[str, Any]]:
    return table("frames")


def fillings(clause: Clause) -> Iterator[Filled]:
    """Yield what each frame that may fit makes of a clause."""
    verbs = [verb for verb, _ in clause.verbs]
    for name, frame in frames().items():
        kind = frame.get("kind", name)
        if kind in ("add", "gather", "steep") and "BROUGHT" in clause.features:
            continue  # of a liquor of galls, no galls were added
        if (
            kind == "add"
            and verbs
            and set(verbs) <= _VAGUE
            and not clause.has("amount", "VESSEL", "LIQUOR", "PRONOUN", "AGAIN")
        ):
            continue  # "ran the galls through the mill"
        if (
            kind == "pour"
            and set(verbs) <= _VAGUE_POUR
            and not clause.has(
                "amount",
                "SHARE",
                "P:into",
                "P:to",
                "P:from",
                "P:off",
                "P:over",
                "P:with",
                "ARROW",
                "LIQUOR",
                "PRONOUN",
            )
        ):
            continue  # "the jar is empty"
        out = any(
            p.sort == "single" and p.thing and p.thing.type == "PARTICLE" and p.thing.value == "out"
            for p in clause.phrases
        )
        if kind in ("add", "neutralise", "gather") and out and "gather" not in verbs:
            continue  # "100 g of nails in, 80 g out"
        if (
            kind == "store"
            and "rest" in verbs
            and any(m.role in ("since", "until") for m in clause.moments())
        ):
            continue  # "has stood with its lid on since nine, by the window"
        if kind == "reduce" and verbs and set(verbs) <= {"lose"} and "SPILT" in clause.features:
            continue  # "knocked it over, lost 200 ml"
        if kind == "discard" and set(verbs) <= {"lose"} and "SPILT" not in clause.features:
            continue
        if kind == "reduce" and clause.ours and not verbs:
            continue  # "we are down to 300 ml of ink"
        if kind == "add" and clause.ours and not verbs and not clause.has("VESSEL", "LIQUOR", "AGAIN"):
            continue  # "I have 300 g of galls"
        if kind in ("add", "gather") and "LOT" in clause.features and _TAKEN_OUT.search(clause.said):
            continue  # what is taken out again is neither added nor gathered
        if kind == "gather" and verbs and set(verbs) <= {"read"} and "LOT" in clause.features:
            continue  # what was weighed of a lot that is there is not gathered
        if kind == "steep" and set(verbs) & _HEATING and not ({"LOT", "LIQUID"} <= clause.features):
            continue
        if kind == "skim" and not verbs and not clause.has("SCUM"):
            continue  # "mould on the ink" is seen, not skimmed
        if kind == "add" and clause.has("TIME") and clause.has("role:tannin", "role:sulfide", "role:"):
            continue  # what stands for a time is steeped
        if (
            kind == "strain"
            and clause.has("LOT")
            and not clause.has("VESSEL", "LIQUOR", "PRONOUN")
            and not clause.scene.holding()
        ):
            continue  # "sieved the chalk"
        if clause.features & set(frame.get("without", ())):
            continue
        if frame.get("with") and not clause.features & set(frame["with"]):
            continue
        heads = [verb for verb in verbs if verb in frame["verbs"]]
        if verbs and not heads:
            continue
        if not verbs and "" not in frame["verbs"]:
            continue
        if any(verb not in (*frame["verbs"], *frame.get("also", ())) for verb in verbs):
            continue
        yield fill(kind, frame, clause)


def fill(kind: str, frame: Mapping[str, Any], clause: Clause) -> Filled:
    """Put the phrases of a clause into the slots of a frame."""
    out = Filled(kind=kind, rank=frame["rank"])
    phrases = _told_better(clause.phrases)
    named = [p for p in phrases if p.sort == "phrase" and p.thing is not None]
    sure = [p for p in named if p.thing and p.thing.type not in DEFERRED]
    loose = [p for p in named if p not in sure]
    for phrase in (*sure, *loose):
        if not _take_thing(out, frame, phrase):
            other = phrase.thing is not None and phrase.thing.value == "?other"
            spare = phrase in loose and phrase.amount is None and phrase.prep not in _MEANT and not other
            (out.unread if spare else out.left).append(phrase)
    for phrase in phrases:
        if (
            phrase.bare
            and not _take_amount(out, frame, phrase)
            and not (_whole(phrase) and out.kind in _OF_ALL)
        ):
            out.left.append(phrase)
    for phrase in clause.phrases:
        _rest(out, frame, phrase)
    return out


def _told_better(phrases: Sequence[Phrase]) -> Sequence[Phrase]:
    """Drop a measure that nobody can turn into a figure where the figure is told beside it: "a bottle of it, 100 ml"."""
    figures = [
        p for p in phrases if p.bare and p.amount and p.amount.type in ("MASS", "VOLUME") and not p.prep
    ]
    vague = [
        p
        for p in phrases
        if p.thing and p.qty is not None and p.qty.dimension == "unknown" and p.type in ("LOT", "MATERIAL")
    ]
    if len(figures) != 1 or len(vague) != 1:
        return phrases
    return [attrs.evolve(p, amount=None) if p is vague[0] else p for p in phrases]


def _take_thing(out: Filled, frame: Mapping[str, Any], phrase: Phrase) -> bool:
    thing = phrase.thing
    assert thing is not None  # noqa: S101 - the caller chose phrases with a thing
    for slot in frame["slot"]:
        if thing.type not in slot["things"] or phrase.prep not in slot["preps"]:
            continue
        key = slot["key"]
        if key in out.things and out.things[key] is not thing and not slot.get("free"):
            if out.things[key].value and out.things[key].value == thing.value and phrase.amount is None:
                return True  # named again
            continue
        if phrase.qty is not None:
            amount = slot.get("amount")
            if amount is None and _whole(phrase) and out.kind in _OF_ALL:
                out.things[key] = thing
                out.taken.setdefault(key, phrase)
                return True
            if amount is None or phrase.qty.dimension not in slot["dims"] or amount in out.values:
                continue
            out.values[amount] = phrase.qty.text
            out.taken[amount] = phrase
        if not slot.get("free"):
            out.things[key] = thing
            out.taken.setdefault(key, phrase)
        for mod in phrase.mods:
            if mod.type == "TEMP" and mod.qty and any(s["key"] == "temperature" for s in frame["slot"]):
                out.values.setdefault("temperature", mod.qty.text)
            elif mod.type == "TEMP":
                out.unread.append(attrs.evolve(phrase, words=(mod,)))
            elif mod.type == "PIECES" and out.kind == "steep":
                out.values.setdefault("pieces", mod.value)
        return True
    return False


def _take_amount(out: Filled, frame: Mapping[str, Any], phrase: Phrase) -> bool:
    qty = phrase.qty
    assert qty is not None  # noqa: S101 - the caller chose bare amounts
    for exact in (True, False):
        for slot in frame["slot"]:
            amount = slot.get("amount")
            if amount is None or amount in out.values:
                continue
            fits = qty.dimension in slot["dims"] and phrase.prep in slot["preps"] and not slot["things"]
            loosely = qty.dimension in slot.get("loose", ()) and (
                not phrase.prep or phrase.prep in slot["preps"]
            )
            if (exact and fits and phrase.prep) or (not exact and loosely):
                out.values[amount] = qty.text
                out.taken[amount] = phrase
                return True
    return False


def _rest(out: Filled, frame: Mapping[str, Any], phrase: Phrase) -> None:
    """Settle a phrase that is neither a thing nor an amount."""
    if phrase.sort == "unknown":
        out.left.append(phrase)
    elif phrase.sort == "spare":
        out.strange.append(phrase)
    elif phrase.sort == "single":
        kind = phrase.type
        limits = kind == "PREP" and phrase.thing is not None and phrase.thing.value in _MEANT
        if kind == "VERB" or (kind in _HARMLESS and not limits):
            return
        if kind == "WORD":
            out.unread.append(phrase)
        elif (
            (kind in ("SCUM", "SCALE") and out.kind == "skim")
            or (
                kind == "WHAT"
                and out.kind == "skim"
                and phrase.thing is not None
                and phrase.thing.value == "surface"
            )
            or (kind == "AGAIN" and out.kind in ("add", "reduce", "gather", "rest"))
            or (kind == "AGAIN" and phrase.thing is not None and phrase.thing.value == "another")
            or (kind == "CALL" and any("NEWNAME" in slot["things"] for slot in frame["slot"]))
        ):
            return
        elif "text" not in frame:
            out.left.append(phrase)


def _whole(phrase: Phrase) -> bool:
    """Return whether an amount is all there is."""
    return phrase.qty is not None and phrase.qty.text == "all"


def words_of(phrases: Sequence[Phrase], said: str) -> tuple[str, ...]:
    """Return phrases as they stand in the sentence."""
    return tuple(said[p.start : p.end] for p in phrases)
