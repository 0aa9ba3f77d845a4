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
from inkhorn.daybook.inventory import Inventory, mentions
from inkhorn.report import photos
from inkhorn.web.desk import Answer, Desk
from inkhorn.web.forms import Bench

if TYPE_CHECKING:
    from inkhorn.workshop import Workshop

_PATIENCE = 0.3  # how long the page waits for an answer that may be at hand, in seconds


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

    It is opened anew for each request, so that no two threads ever share a
    database connection; the desk's one thread keeps its own open, with the
    draws that it made last.
    """

    name: str
    open: Callable[[], Workshop]
    desk: Desk = attrs.field(factory=Desk)
    pictures: dict[str, Path] = attrs.field(factory=dict)
    receipts: dict[int, dict[str, Any]] = attrs.field(factory=dict)
    folder: TemporaryDirectory[str] = attrs.field(factory=lambda: TemporaryDirectory(prefix="inkhorn-"))
    writing: threading.Lock = attrs.field(factory=threading.Lock)
    _own: Workshop | None = None

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
        return {"read": photos.sentences(reading.to_dict()), "overlay": self.show(drawn), **_size(drawn)}

    def close(self) -> None:
        """End the desk's work and drop what was only drawn for the page."""
        self.desk.close()
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


def bench_of(things: Inventory, recorded: Sequence[Recorded]) -> Bench:
    """Return the names on the bench, and which of them were in hand last."""
    trial = next(reversed(list(things.trials.values())), None)
    return Bench(
        vessels=tuple(things.vessels),
        lots=tuple(things.lots),
        supports=tuple(things.supports),
        pens=tuple(things.pens),
        trials=tuple(things.trials),
        exemplars=tuple(things.exemplars),
        vessel=last_vessel(things, recorded),
        support=(trial and trial.support) or "",
        pen=(trial and trial.pen) or "",
        method=(trial and trial.method) or "",
    )


def question_of(bench: Bench, asked: Mapping[str, str]) -> Question:
    """Choose what counsel is about: what was asked, or else what was last worked at."""
    vessel, exemplar, as_ = asked.get("vessel"), asked.get("exemplar"), asked.get("as", "now")
    return Question(
        vessel=vessel if vessel in bench.vessels else bench.vessel or None,
        exemplar=exemplar if exemplar in bench.exemplars else next(reversed(bench.exemplars), None),
        trial=next(reversed(bench.trials), None),
        as_=as_ if as_ in {"now", "new"} else "now",
    )


def last_vessel(things: Inventory, recorded: Sequence[Recorded]) -> str:
    """Return the vessel that was worked at last, or nothing where there is none."""
    for line in sorted(recorded, key=lambda line: (line.entry.at, line.number), reverse=True):
        named = [
            name for sort, name, _ in mentions(line.entry) if sort == "vessel" and name in things.vessels
        ]
        if named and line.kind != "vessel":
            return named[-1]
    return next(reversed(list(things.vessels)), "")
