"""The best parting of a sentence into clauses, and the entries of one clause after the other."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import Any

import attrs

from inkhorn.sentences.clauses import clause_of
from inkhorn.sentences.order import in_turn
from inkhorn.sentences.phrases import Phrase, phrases
from inkhorn.sentences.reading import Reading, left_out, not_read
from inkhorn.sentences.relaxing import relaxed
from inkhorn.sentences.scene import Scene, after_entry
from inkhorn.sentences.segments import Segment

Entry = dict[str, Any]
#: What passing over a relative clause costs ("which I had soaked"); a yes is asked for it.
_ASIDE = 2.5
#: What borrowing the verb of the clause before costs.
_LENT = 0.3
#: What a clause costs more for each full stop or semicolon in its midst.
_STOPPED = 0.5
#: What a clause may be read as where it is told whole.
_TOLD = 6
_SUBJECTS = frozenset({"TRIAL", "SUPPORT", "VESSEL", "LOT", "EXEMPLAR", "LIQUOR", "MARC", "NEWNAME"})
_BESIDE = frozenset({"than", "against", "to", "as", "with", "from"})
_GOODS = frozenset({"LOT", "LIQUID", "MATERIAL", "CRYSTAL"})


@attrs.frozen(kw_only=True)
class _Sentence:
    said: str
    parts: tuple[Segment, ...]
    cut: tuple[tuple[Phrase, ...], ...]

    def clause(self, start: int, end: int, scene: Scene) -> Reading:
        """Read some segments as one clause, with what the one before lends, or pass over them."""
        parts, cut = self.parts[start:end], self.cut[start:end]
        best = clause_of(self.said, parts, cut, scene)
        whose = self.subject(start, end)
        if whose is not None and best.cost <= _TOLD:
            found = clause_of(
                self.said,
                parts,
                tuple(tuple(p for p in group if p.type != "PRONOUN") for group in cut),
                scene,
                (whose,),
            )
            if found.entries and all(entry["kind"] == "reading" for entry in found.entries):
                best = found
        for lent in self.lends(start, end):
            found = clause_of(self.said, parts, cut, scene, lent)
            if found.entries and found.cost + _LENT < best.cost:
                best = attrs.evolve(found, cost=found.cost + _LENT)
        if end - start == 1 and parts[0].joint == "REL" and best.cost > _ASIDE:
            words = (self.said[parts[0].start : parts[0].end],)
            best = Reading(cost=_ASIDE, unread=words, guesses=left_out(words))
        return best

    def _goods_before(self, own: Sequence[Phrase], start: int) -> Iterator[tuple[Phrase, ...]]:
        """Yield what the same verb was said of before: "meant to add 5 g of gum but added 8 g"."""
        verbs = {p.thing.value for p in own if p.type == "VERB" and p.thing}
        if not verbs or any(p.type in _GOODS for p in own) or not any(p.amount is not None for p in own):
            return
        group = self.cut[start - 1]
        goods = [p for p in group if p.type in _GOODS]
        if goods and verbs & {p.thing.value for p in group if p.type == "VERB" and p.thing}:
            yield (attrs.evolve(goods[-1], amount=None, prep=""),)

    def _goods_of_it(self, own: Sequence[Phrase], start: int) -> Iterator[tuple[Phrase, ...]]:
        """Yield the lot that "they" are: "spread the cones out, and they're dry now, 900 g"."""
        verbs = {p.thing.value for p in own if p.type == "VERB" and p.thing}
        said = any(p.type == "PRONOUN" and p.thing and p.thing.value == "?it" for p in own)
        if (
            not (verbs and verbs <= {"dry", "crush", "grind", "wash", "read"})
            or not said
            or any(p.type in _GOODS for p in own)
        ):
            return
        goods = [p for p in self.cut[start - 1] if p.type == "LOT"]
        if len(goods) == 1 and verbs != {"read"}:
            yield (attrs.evolve(goods[0], amount=None, prep=""),)

    def _goods_alone(self, own: Sequence[Phrase], start: int) -> Iterator[tuple[Phrase, ...]]:
        """Yield what was told before without a verb: "30 g of copperas yesterday evening and 10 g this morning"."""
        goods = [p for p in self.cut[start - 1] if p.type in _GOODS and p.amount is not None]
        weighed = any(p.amount is not None and p.amount.type == "MASS" for p in own)
        if len(goods) == 1 and weighed and not any(p.type in _GOODS for p in own):
            yield (attrs.evolve(goods[0], amount=None, prep=""),)

    def subject(self, start: int, end: int) -> Phrase | None:
        """Return the trial or the skin that a clause before was about, where this one reads something and names none."""
        own = [p for group in self.cut[start:end] for p in group]
        first = self.parts[start]
        named = any(p.type in _SUBJECTS and p.prep not in _BESIDE for p in own)
        reads = any(p.type in ("SCALE", "CHANNELS", "TRIPLE", "WHAT") for p in own) or _weighs(own)
        said = any(p.type == "PRONOUN" for p in own)
        if (
            not start
            or named
            or not reads
            or first.stance
            or not (said or first.joint in ("AND", "COMMA", "BUT"))
        ):
            return None
        for group in reversed(self.cut[:start]):
            stepped = any(p.type == "VERB" for p in group)
            for phrase in group:
                weighed = phrase.type == "LOT" and _weighs(own)
                if (
                    (weighed or phrase.type in ("TRIAL", "SUPPORT", *(() if stepped else ("VESSEL",))))
                    and phrase.prep not in _BESIDE
                    and phrase.amount is None
                ):
                    return attrs.evolve(phrase, prep="")
                if phrase.type in _SUBJECTS:
                    return None
        return None

    def lends(self, start: int, end: int) -> Iterator[tuple[Phrase, ...]]:
        """Yield what the clause before may lend one that has no verb: its verb, and the thing of it."""
        own = [p for group in self.cut[start:end] for p in group]
        first = self.parts[start]
        if start and not first.stance:
            yield from self._goods_before(own, start)
            yield from self._goods_of_it(own, start)
        if (
            not start
            or first.joint not in ("AND", "COMMA", "BUT", "STOP", "THEN")
            or first.stance
            or any(p.type == "VERB" for p in own)
        ):
            return
        giver = next(
            (n for n in range(start - 1, -1, -1) if any(p.type in ("VERB", "METHOD") for p in self.cut[n])),
            None,
        )
        if not any(p.type == "WHAT" for p in own) and any(p.amount is not None for p in own):
            what = next((p for group in reversed(self.cut[:start]) for p in group if p.type == "WHAT"), None)
            if what is not None:
                yield (what,)
        if giver is None and first.joint != "STOP" and not self.parts[start - 1].stance:
            yield from self._goods_alone(own, start)
        if giver is None or self.parts[giver].stance or first.joint == "STOP":
            return
        before = [p for group in self.cut[giver:start] for p in group]
        verbs = tuple(p for p in before if p.type == "VERB")
        methods = (
            () if any(p.type == "METHOD" for p in own) else tuple(p for p in before if p.type == "METHOD")
        )
        yield (*verbs, *methods)
        goods = [p for p in before if p.type in _GOODS]
        if goods and not any(p.type in _GOODS for p in own):
            yield (*verbs, attrs.evolve(goods[-1], amount=None, prep=""))


def _weighs(own: Sequence[Phrase]) -> bool:
    """Return whether a clause tells what "it" came to by weight: of the lot that was told of before."""
    verbs = {p.thing.value for p in own if p.type == "VERB" and p.thing}
    told = {p.type for p in own if p.type != "PARTICLE"}
    return (
        verbs == {"read"}
        and told <= {"VERB", "PRONOUN", "MASS", "MANNER", "INSTRUMENT"}
        and {"PRONOUN", "MASS"} <= told
    )


def best(said: str, parts: Sequence[Segment], scene: Scene) -> Reading:
    """Return the cheapest parting of the segments into clauses, and what it says.

    Parameters
    ----------
    said : str
        The sentence.
    parts : sequence of Segment
        Its segments.
    scene : Scene
        The bench.
    """
    cost, starts, whole = _parting(said, parts, scene)
    if any(part.joint == "REL" for part in parts):
        main = [part for part in parts if part.joint != "REL"]
        aside = [said[part.start : part.end] for part in parts if part.joint == "REL"]
        if main and main[0] is parts[0]:
            other = _parting(said, main, scene)
            if other[0] + _ASIDE * len(aside) < cost - 1e-9:
                found = _in_order(other[2], other[1], scene)
                return attrs.evolve(
                    found, guesses=(*found.guesses, *left_out(aside)), unread=(*found.unread, *aside)
                )
    return _in_order(whole, starts, scene)


def _parting(said: str, parts: Sequence[Segment], scene: Scene) -> tuple[float, list[int], _Sentence]:
    whole = _Sentence(said=said, parts=tuple(parts), cut=tuple(phrases(part.tokens) for part in parts))
    count = len(parts)
    found: list[tuple[float, tuple[int, ...]]] = [(0.0, ()), *((float("inf"), ()) for _ in range(count))]
    for end in range(1, count + 1):
        for start in range(end):
            if found[start][0] == float("inf") or not _may_join(parts[start:end]):
                continue
            stops = sum(part.joint == "STOP" for part in parts[start + 1 : end])
            cost = found[start][0] + whole.clause(start, end, scene).cost + _STOPPED * stops
            if cost < found[end][0] - 1e-9:
                found[end] = (cost, (*found[start][1], start))
    return found[count][0], [*found[count][1], count], whole


def _may_join(parts: Sequence[Segment]) -> bool:
    """Return whether segments may be one clause: of one stance, and no contrast in the midst."""
    dated = any(part.joint == "REL" and any(t.type == "MOMENT" for t in part.tokens) for part in parts[1:])
    same = len({part.stance for part in parts}) == 1 and all(part.joint != "THEN" for part in parts[1:])
    return same and not dated  # "the vitriol I weighed this morning": the time is not that of the step


def _in_order(sentence: _Sentence, starts: Sequence[int], scene: Scene) -> Reading:
    """Read the clauses one after the other, each in the scene that those before leave."""
    whole: list[Reading] = []
    joints: list[str] = []
    for start, end in itertools.pairwise(starts):
        found = sentence.clause(start, end, scene)
        if found.failed:
            less = relaxed(sentence.said, sentence.parts[start:end], scene)
            found = less if less is not None and (less.entries or found.question is None) else found
        elif found.question is not None and not found.question.mild:
            less = relaxed(sentence.said, sentence.parts[start:end], scene, gently=True)
            found = less if less is not None and less.entries else found
        whole.append(found)
        joints.append(sentence.parts[start].joint)
        for entry in found.entries:
            scene = after_entry(scene, entry)
    return _together(whole, joints, scene)


def _together(whole: Sequence[Reading], joints: Sequence[str], scene: Scene) -> Reading:
    """Return the readings of the clauses as one."""
    entries = tuple(entry for found in whole for entry in found.entries)
    mild = [found for found in whole if found.question and found.question.mild] if entries else []
    question = next((found.question for found in whole if found.question and found not in mild), None)
    refused = next((found.refused for found in whole if found.refused), "")
    unread = tuple(word for found in whole for word in found.unread)
    guesses = tuple(guess for found in whole for guess in found.guesses if found.entries or entries)
    guesses = (*guesses, *left_out([word for found in mild for word in found.unread]))
    failed = [found for found in whole if found.failed]
    if question is None and failed:
        grave = [found for found in failed if not found.idle] or ([] if entries else failed)
        if grave:
            question = not_read(grave[0].unread)
        else:
            guesses = (*guesses, *left_out([word for found in failed for word in found.unread]))
    if entries:
        entries = in_turn(whole, joints, scene.now)
        guesses = (
            *guesses,
            *left_out([word for found in whole if found.idle and not found.failed for word in found.unread]),
        )
    return Reading(
        cost=0,
        entries=entries,
        question=question,
        refused="" if entries else refused,
        unread=unread,
        passed=tuple(word for found in whole for word in found.passed),
        guesses=tuple(dict.fromkeys(guesses)),
        partial=next((found.partial for found in whole if found.partial), {}),
    )
