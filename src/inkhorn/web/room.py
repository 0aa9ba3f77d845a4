"""What the views of one workshop share: the door to it, the desk, and what was just said."""

from __future__ import annotations

import hashlib
import secrets
import threading
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import attrs
from PIL import Image

import inkhorn
from inkhorn.daybook.book import Recorded
from inkhorn.report import later, photos
from inkhorn.web import shots
from inkhorn.web.cups import pot_of
from inkhorn.web.desk import Answer, Desk
from inkhorn.web.fields import Bench
from inkhorn.web.standing import Reader, Standing

if TYPE_CHECKING:
    from inkhorn.workshop import Workshop

_PATIENCE = 0.1  # how long the page waits for an answer that may be at hand, in seconds


@attrs.frozen(kw_only=True)
class Question:
    """What counsel is asked about: the pot, the page to match, and in which state of it."""

    vessel: str | None
    exemplar: str | None
    trial: str | None
    as_: str = "now"


@attrs.define(kw_only=True)
class Room:
    """One workshop as the page sees it.

    One reader serves every page, each writing opens the workshop anew, and the
    desk's one thread keeps its own open, with the draws that it made last.
    """

    name: str
    open: Callable[[], Workshop]
    desk: Desk = attrs.field(factory=Desk)
    darkroom: Desk = attrs.field(factory=Desk)
    pictures: dict[str, Path] = attrs.field(factory=dict)
    receipts: dict[int, dict[str, Any]] = attrs.field(factory=dict)
    folder: TemporaryDirectory[str] = attrs.field(factory=lambda: TemporaryDirectory(prefix="inkhorn-"))
    writing: threading.Lock = attrs.field(factory=threading.Lock)
    _own: Workshop | None = None
    _reader: Reader = attrs.field(
        init=False, default=attrs.Factory(lambda self: Reader(self.open), takes_self=True)
    )

    def now(self) -> Standing:
        """Return the workshop as it stands now."""
        return self._reader.now()

    def sent_with(self, number: int) -> tuple[int, ...]:
        """Return the entries that were recorded in one go with one; () where it was alone."""
        return self._reader.sent_with(number)

    def estimate(self, after: int, *, patience: float = _PATIENCE) -> Answer:
        """Return the newest estimate, and have it brought up to entry ``after``."""
        return self.desk.ask("estimate", after, self.work_estimate, patience=patience)

    def counsel(self, after: int, question: Question, *, patience: float = _PATIENCE) -> Answer:
        """Return the newest counsel on a question."""
        key = ("counsel", question.vessel, question.exemplar, question.as_)
        return self.desk.ask(key, after, lambda: self.work_counsel(question), patience=patience)

    def comparison(self, after: int, question: Question, *, patience: float = _PATIENCE) -> Answer:
        """Return the newest comparison of the trial and the page."""
        key = ("compare", question.trial, question.exemplar)
        return self.desk.ask(key, after, lambda: self.work_comparison(question), patience=patience)

    def darkening(self, after: int, trial: str) -> Answer:
        """Return how a trial has darkened."""
        work = lambda: dict(self._desk_s().darkening(trial).to_dict())  # noqa: E731
        return self.desk.ask(("darkening", trial), after, work, patience=_PATIENCE)

    def later(self, after: int, trial: str) -> Answer:
        """Return in sentences how a trial is foreseen to look."""
        work = lambda: later.sentences(self._desk_s().predict(f"trial:{trial}").to_dict())  # noqa: E731
        return self.desk.ask(("later", trial), after, work, patience=_PATIENCE)

    def recipe(self, after: int, vessel: str) -> Answer:
        """Return how to make the ink of a vessel again."""
        work = lambda: dict(self._desk_s().again(vessel).to_dict())  # noqa: E731
        return self.desk.ask(("again", vessel), after, work, patience=_PATIENCE)

    def wrong(self, after: int, said: str, how: Mapping[str, Any]) -> Answer:
        """Return what may be wrong, of a complaint; ``how`` as `Workshop.why` takes it."""
        work = lambda: dict(self._desk_s().why(said, **how).to_dict())  # noqa: E731
        return self.desk.ask(("wrong", said, repr(sorted(how.items()))), after, work, patience=_PATIENCE)

    def today(self, after: int, vessel: str, how: Mapping[str, Any]) -> Answer:
        """Return what brings the ink of a vessel back; ``how`` as `Workshop.today` takes it."""
        work = lambda: dict(self._desk_s().today(vessel, **how).to_dict())  # noqa: E731
        return self.desk.ask(("today", vessel, repr(sorted(how.items()))), after, work, patience=_PATIENCE)

    def look(self, recorded: Sequence[Recorded], number: int, *, patience: float = _PATIENCE) -> Answer:
        """Return what was read of the photograph of an entry, in words and drawn over it.

        Photographs are read apart from the desk, so that one is not kept waiting by an estimate.
        """
        hash_ = next((shots.hash_in(line.raw) for line in recorded if line.number == number), "")
        if not hash_:
            return Answer()
        return self.darkroom.ask(("look", hash_), 0, lambda: self.work_look(hash_), patience=patience)

    def kept(self, hash_: str) -> Path:
        """Return where a kept picture lies."""
        with self.open() as workshop:
            return workshop.picture_path(hash_)

    def known_counsel(self, question: Question) -> Answer:
        """Return the last counsel on a question, as it is."""
        return self.desk.known(("counsel", question.vessel, question.exemplar, question.as_))

    def known_comparison(self, question: Question) -> Answer:
        """Return the last comparison of a trial and a page, as it is."""
        return self.desk.known(("compare", question.trial, question.exemplar))

    def work_look(self, hash_: str) -> dict[str, Any]:
        """Read a kept photograph."""
        with self.open() as workshop:
            return self.read(workshop.picture_path(hash_))

    def work_estimate(self) -> dict[str, Any]:
        """Work the estimate out."""
        return dict(self._desk_s().estimate().to_dict())

    def work_counsel(self, question: Question) -> dict[str, Any]:
        """Work the counsel out."""
        pot, page = question.vessel or "", question.exemplar or ""
        return dict(self._desk_s().counsel(pot, page, as_=question.as_).to_dict())

    def work_comparison(self, question: Question) -> dict[str, Any]:
        """Work the comparison out and put its picture where the page can fetch it."""
        out = dict(self._desk_s().compare(question.trial or "", question.exemplar or "").to_dict())
        out["src"] = self.show(Path(out["picture"]))
        out["shown"] = [
            {
                "caption": panel["caption"],
                "src": self.show(Path(panel["picture"])),
                **_size(Path(panel["picture"])),
            }
            for panel in out["panels"]
        ]
        return out

    def read(self, path: Path) -> dict[str, Any]:
        """Read a photograph; return what was read in words, and a picture that shows it."""
        reading = inkhorn.Workshop.photo(path)
        drawn = Path(self.folder.name) / f"{secrets.token_hex(8)}.png"
        inkhorn.Workshop.overlay(path, reading, drawn)
        answer = reading.to_dict()
        told = {"plain": photos.plain(answer), "read": photos.sentences(answer)}
        return told | {"overlay": self.show(drawn), **_size(drawn)}

    def idle(self) -> bool:
        """Tell whether nothing is being worked out."""
        return self.desk.idle() and self.darkroom.idle()

    def turn(self) -> int:
        """Return a number that grows with every answer, so that a page knows when to look again."""
        return self.desk.turn + self.darkroom.turn

    def close(self) -> None:
        """End the desk's work and drop what was only drawn for the page."""
        self.desk.close()
        self.darkroom.close()
        self._reader.close()
        self.folder.cleanup()

    def _desk_s(self) -> Workshop:
        """Return the workshop that only the desk's thread uses."""
        if self._own is None:
            self._own = self.open()
        return self._own

    def show(self, path: Path) -> str:
        """Let the page fetch one picture, and return its address; no other file can be fetched."""
        mark = f"{path.stat().st_mtime_ns}" if path.exists() else ""
        token = hashlib.sha256(f"{path}|{mark}".encode()).hexdigest()[:24]
        self.pictures[token] = path
        return f"/picture/{token}"


def _size(path: Path) -> dict[str, int]:
    """Return a picture's width and height, so that the page does not jump when it arrives."""
    with Image.open(path) as picture:
        return {"width": picture.width, "height": picture.height}


def question_of(bench: Bench, asked: Mapping[str, str]) -> Question:
    """Choose what counsel is about: what was asked, or else what was last worked at; of a cup drawn to try on, its pot."""
    vessel, exemplar, as_ = asked.get("vessel"), asked.get("exemplar"), asked.get("as", "now")
    return Question(
        vessel=vessel if vessel in bench.vessels else pot_of(bench.vessel, bench.cups) or None,
        exemplar=exemplar if exemplar in bench.exemplars else next(reversed(bench.exemplars), None),
        trial=next(reversed(bench.trials), None),
        as_=as_ if as_ in {"now", "new"} else "now",
    )
