"""The Python face of a workshop: a thin facade over the floors below.

>>> import inkhorn
>>> shop = inkhorn.Workshop.create("saltmere")          # doctest: +SKIP
>>> shop.record({"kind": "add", "into": "pot", ...})    # doctest: +SKIP
>>> print(shop.estimate().to_dict()["vessels"])         # doctest: +SKIP
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, Self

from PIL import Image

from inkhorn.compare import compare as comparing
from inkhorn.counsel import asked
from inkhorn.counsel.advise import advise
from inkhorn.counsel.result import Counsel
from inkhorn.counsel.wrong import ask as wrong
from inkhorn.daybook import check as checking
from inkhorn.daybook import pictures
from inkhorn.daybook.book import Recorded, effective
from inkhorn.daybook.entries import Reading
from inkhorn.daybook.inventory import Inventory, take_inventory
from inkhorn.daybook.store.sqlite import DaybookStore
from inkhorn.daybook.wire import as_mapping, decode
from inkhorn.errors import CounselError, EntryError
from inkhorn.estimate import keep, posterior
from inkhorn.estimate.later import Prediction
from inkhorn.estimate.odds import Odds, weigh_ways
from inkhorn.estimate.posterior import Posterior
from inkhorn.estimate.result import Estimate
from inkhorn.imaging import overlay as overlaying
from inkhorn.imaging.load import load_picture
from inkhorn.imaging.photo import Told, read_photo
from inkhorn.imaging.reading import PhotoReading
from inkhorn.replay.fold import Plan, make_plan
from inkhorn.replay.target import PhotoMeasure
from inkhorn.report import answers, care, darkening, later, lines, measured, pair, saying, sides
from inkhorn.report.answers import Comparison, Receipt
from inkhorn.report.darkening import Darkening
from inkhorn.report.pair import PairReading

Progress = Callable[[float], None]


class Workshop:
    """One maker's whole record: a daybook in one SQLite file and a folder of pictures.

    Use `create` or `open`; every method may raise an `InkhornError` that says
    what, where and how to mend it.
    """

    def __init__(self, store: DaybookStore, path: Path) -> None:
        self._store = store
        self.path = path
        self._posteriors: dict[str, Posterior] = {}

    @classmethod
    def create(cls, path: str | os.PathLike[str]) -> Self:
        """Begin an empty workshop in a folder."""
        return cls(DaybookStore.create(path), Path(path))

    @classmethod
    def open(cls, path: str | os.PathLike[str]) -> Self:
        """Open the workshop in a folder."""
        return cls(DaybookStore(path), Path(path))

    def close(self) -> None:
        """Let go of the file."""
        self._store.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # ------------------------------------------------------------ recording

    @property
    def daybook(self) -> tuple[Recorded, ...]:
        """Return every entry in the order of recording, voided ones too."""
        return self._store.recorded()

    def inventory(self) -> Inventory:
        """Return the vessels, lots, supports, pens, trials and exemplars there are."""
        return take_inventory(effective(self.daybook))

    def record(self, entry: str | Mapping[str, Any]) -> int:
        """Record one entry (a mapping, or JSON text) and return its number."""
        return self.receive(entry).number

    def receive(self, entry: str | Mapping[str, Any], *, key: str = "") -> Receipt:
        """Record one entry and say back what was understood, taken for granted, or unlikely.

        An entry without ``at`` is dated now. Sent again under the same ``key`` it is not recorded again.
        """
        if (earlier := self._store.arrived(key)) is not None:
            return answers.again(self.daybook, earlier)
        raw = as_mapping(entry)
        if "at" not in raw:
            raw = {"at": datetime.now().astimezone().replace(tzinfo=None, microsecond=0).isoformat(), **raw}
        # The entry is understood in full before any picture is kept or line written.
        typed = decode(raw)
        checking.check(typed, self.daybook)
        kept = pictures.with_kept(raw, self._store.keep)
        typed = decode(kept)
        if isinstance(typed, Reading) and typed.what == "photo":
            measured.must_be_read(self._store, typed, effective(self.daybook), str(raw["value"]))
        notices: tuple[str, ...] = ()

        def allow(book: tuple[Recorded, ...]) -> None:
            nonlocal notices
            notices = checking.check(typed, book)

        number = self._store.append(kept, typed, allow=allow, key=key)
        flags = posterior.doubts(self._plan(), number) if isinstance(typed, Reading) else ()
        return Receipt(
            number=number,
            sentence=lines.sentence(kept) + ".",
            notices=notices,
            flags=flags,
            cautions=care.cautions_of(typed, self.inventory()),
        )

    def sent_with(self, number: int) -> tuple[int, ...]:
        """Return the entries that were recorded in one go with one (a course that was followed, a sentence); () where it was alone."""
        return self._store.sent_with(number)

    def say(self, text: str, **how: Any) -> saying.Said:
        """Understand a sentence and record it at once, or ask; ``who``, ``at``, ``answer``, ``yes``, ``dry``: `saying.say`."""
        return saying.say(text, self.daybook, self.receive, **how)

    def undo(self, number: int, why: str = "undone") -> int:
        """Void an entry; it stays in the daybook, and the estimate leaves it out."""
        return self.record({"kind": "void", "entry": number, "why": why})

    def add_exemplar(
        self,
        name: str,
        pictures: Iterable[str | os.PathLike[str]] | None = None,
        *,
        optical_density: Mapping[str, float] | None = None,
        sd: float | None = None,
        support_lab: Mapping[str, float] | None = None,
        at: str | None = None,
    ) -> tuple[int, ...]:
        """Record pictures or measured densities of the surviving original; return the entries' numbers.

        Parameters
        ----------
        name : str
            What the exemplar is called.
        pictures : iterable of path-like, optional
            Photographs or scans.
        optical_density : mapping, optional
            Channel density of its intact ink: R, G, B; ``sd`` is its error.
        support_lab : mapping, optional
            Colour of its bare support: L, a, b under D65.
        at : str, optional
            When; now if left out.
        """
        common: dict[str, Any] = {"kind": "reading", "of": f"exemplar:{name}"} | ({"at": at} if at else {})
        facts: list[dict[str, Any]] = [{"what": "photo", "value": os.fspath(p)} for p in pictures or ()]
        if optical_density is not None:
            error = {} if sd is None else {"sd": sd}
            facts.append({"what": "optical_density", "value": dict(optical_density), **error})
        if support_lab is not None:
            facts.append({"what": "support_lab", "value": dict(support_lab)})
        if not facts:
            raise EntryError(
                "nothing was said of the exemplar", where=name, mend="Give a picture or its densities"
            )
        return tuple(self.record({**common, **fact}) for fact in facts)

    # ------------------------------------------------------------ answers

    def estimate(self, seed: int = 0, *, progress: Progress | None = None, closely: bool = False) -> Estimate:
        """Return what is in every vessel, with error bars; computed once for each state of the daybook."""
        return posterior.summarise(self._posterior(seed, progress), closely=closely, progress=progress)

    def predict(
        self, thing: str, after: float | str | None = None, *, at: datetime | None = None, seed: int = 0
    ) -> Prediction:
        """Return how a stroke of a vessel made now, or a trial, looks ``after`` seconds, or "dry"."""
        return later.predict(self._posterior(seed), self.inventory(), thing, after, at)

    def odds(self, other: Self, **how: Any) -> Odds:
        """Weigh this way of making against another's; ``exemplar``, ``vessel``, ``seed``, ``runs``: `weigh_ways`."""
        return weigh_ways(self._posterior, other._posterior, **how)

    def counsel(self, vessel: str, exemplar: str, as_: str = "now", *, keep: float = 0.0, seed: int = 0,
                progress: Progress | None = None) -> Counsel:  # fmt: skip
        """Return up to three courses for a vessel towards an exemplar, as it looks now or was new, ``keep`` ml left."""
        return advise(self._posterior(seed, progress), vessel, exemplar, as_=as_, keep=keep)

    again, today, why = asked.again, asked.today, wrong.why

    def compare(self, trial: str, exemplar: str, *, pen: str | None = None, seed: int = 0) -> Comparison:
        """Share out the visible difference between a trial and an exemplar, and draw it.

        ``pen`` is what the exemplar was written with, where that is known.
        """
        self._must_be_there("trial", trial)
        self._must_be_there("exemplar", exemplar)
        plan = self._plan()
        mine = sides.trial(plan, trial, self._store.path_of)
        theirs = sides.original(plan, exemplar, self._store.path_of)
        found = comparing.compare(
            mine.side,
            theirs.side,
            trial_sheet=mine.sheet,
            original_sheet=theirs.sheet,
            film_ratio=sides.film_ratio(plan, trial, mine, theirs, pen, seed),
            tolerance=theirs.tolerance,
            seed=seed,
        )
        notices = (*mine.notices, *theirs.notices)
        return answers.saved(found, self.path / "comparisons", trial, exemplar, notices)

    def darkening(self, trial: str, *, seed: int = 0, progress: Progress | None = None) -> Darkening:
        """Line up a trial's readings over time, with the estimate's band through them."""
        self._must_be_there("trial", trial)
        return darkening.darkening(self._posterior(seed, progress), trial, self._store.path_of)

    @staticmethod
    def photo(
        picture: str | os.PathLike[str] | bytes, *, mm_per_px: float | None = None, told: Told | None = None
    ) -> PhotoReading:
        """Read one photograph: density, wear, strokes; with the card if one lies in it."""
        source = picture if isinstance(picture, bytes) else Path(picture)
        return read_photo(source, mm_per_px=mm_per_px, told=told).reading

    @staticmethod
    def infrared(
        picture: str | os.PathLike[str],
        infrared: str | os.PathLike[str],
        *,
        band_nm: float = 940,
        told: Told | None = None,
    ) -> PairReading:
        """Read a photograph beside one of the same strokes in the infrared, and say what kind of ink they are."""
        return pair.read_pair(Path(picture), Path(infrared), band_nm=band_nm, told=told)

    @staticmethod
    def overlay(
        picture: str | os.PathLike[str] | bytes, reading: PhotoReading, out: str | os.PathLike[str]
    ) -> Path:
        """Save a picture with what was read of it drawn over, and return where."""
        source = picture if isinstance(picture, bytes) else Path(picture)
        drawn = overlaying.overlay(reading.flat or load_picture(source), reading)
        Image.fromarray(drawn).save(out)
        return Path(out)

    def picture_path(self, hash_: str) -> Path:
        """Return where a kept picture lies."""
        return self._store.path_of(hash_)

    # ------------------------------------------------------------ inside

    def _plan(self) -> Plan:
        return make_plan(*self._book())

    def _book(self) -> tuple[tuple[Recorded, ...], dict[int, PhotoMeasure]]:
        """Return the effective entries, and what was read of their pictures."""
        standing = effective(self.daybook)
        return standing, measured.of_book(self._store, standing)

    def _posterior(self, seed: int, progress: Progress | None = None) -> Posterior:
        entries, photos = self._book()
        key = keep.key_of(entries, photos, seed)
        if key not in self._posteriors:
            self._posteriors = {key: keep.posterior_of(entries, photos, seed, self._store, progress)}
        return self._posteriors[key]

    def _must_be_there(self, sort: str, name: str) -> None:
        if name not in self.inventory().of(sort):
            known = ", ".join(self.inventory().of(sort)) or "none yet"
            raise CounselError(f"there is no {sort} {name!r}", mend=f"Known: {known}")
