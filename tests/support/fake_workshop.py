"""A working stand-in for the workshop: it keeps what it is told and answers with invented figures.

Only the faces are tested with it: what they ask, and how they show an answer.
All its figures are invented for that and mean nothing.
"""

from __future__ import annotations

import hashlib
import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self

import pytest
from PIL import Image

import inkhorn
from inkhorn.daybook.arriving import stem
from inkhorn.daybook.book import Recorded, effective
from inkhorn.daybook.inventory import Inventory, take_inventory
from inkhorn.daybook.pictures import with_kept
from inkhorn.daybook.wire import decode
from inkhorn.errors import CounselError, EstimateError, PictureError, StoreError, TimeError
from inkhorn.handbook.load import group
from inkhorn.report import saying


def figure(median: float, low: float, high: float, unit: str = "1") -> dict[str, Any]:
    """Return a figure of the JSON answers."""
    quarter = {"p25": (median + low) / 2, "p75": (median + high) / 2}
    return {"median": median, "p05": low, **quarter, "p95": high, "unit": unit}


def vessel(volume: float, spread: float, lightness: float, density: float) -> dict[str, Any]:
    """Return the figures of one vessel."""
    return {
        "volume": figure(volume, volume * (1 - spread), volume * (1 + spread), "ml"),
        "temperature": figure(17, 15, 19, "degC"),
        "iron_total": figure(80, 60, 105, "mmol/L"),
        "iron_capacity": figure(110, 80, 150, "mmol/L"),
        "iron_to_capacity": figure(0.73, 0.52, 1.02),
        "free_iron": figure(0.4, 0, 6, "mmol/L"),
        "ph": figure(2.9, 2.7, 3.2),
        "viscosity": figure(2.1, 1.7, 2.8, "mPa s"),
        "gum": figure(38, 25, 55, "g/L"),
        "dissolved_solids": figure(96, 80, 120, "g/L"),
        "specific_gravity": figure(1.045, 1.035, 1.058),
        "dry_optical_density": {c: figure(density, density * 0.9, density * 1.1) for c in "RGB"},
        "dry_lab": {
            "L": figure(lightness, lightness - 6, lightness + 6),
            "a": figure(1, 0, 2),
            "b": figure(-2, -4, 0),
        },
    }


class Answer:
    """Anything with a to_dict."""

    def __init__(self, value: dict[str, Any]) -> None:
        self.value = value

    def to_dict(self) -> dict[str, Any]:
        """Return the answer."""
        return self.value


class FakeWorkshop:
    """The facade's methods over a list in memory; every opening of one folder shares the list."""

    folders: dict[Path, list[Recorded]] = {}  # noqa: RUF012
    keys: dict[tuple[Path, str], int] = {}  # noqa: RUF012
    gate = threading.Event()
    gate.set()
    fault: Exception | None = None
    on_a_cup = False

    def __init__(self, path: Path) -> None:
        self.path = path

    def close(self) -> None:
        """Let go of nothing."""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @classmethod
    def create(cls, path: str | Path) -> FakeWorkshop:
        """Begin an empty daybook."""
        path = Path(path).resolve()
        if path in cls.folders:
            raise StoreError("there is a workshop already", where=str(path), mend="Choose another folder")
        path.mkdir(parents=True, exist_ok=True)
        cls.folders[path] = []
        return cls(path)

    @classmethod
    def open(cls, path: str | Path) -> FakeWorkshop:
        """Open what was begun."""
        path = Path(path).resolve()
        if path not in cls.folders:
            raise StoreError(
                "there is no workshop here", where=str(path), mend=f"Begin one with inkhorn new {path}"
            )
        return cls(path)

    @property
    def daybook(self) -> list[Recorded]:
        """Every entry."""
        return self.folders[self.path]

    def sent_with(self, number: int) -> tuple[int, ...]:
        """Return what was kept in one go with an entry."""
        mine = {key: sent for (path, key), sent in self.keys.items() if path == self.path}
        begins = next((stem(key) for key, sent in mine.items() if sent == number), "")
        found = sorted(sent for key, sent in mine.items() if begins and stem(key) == begins)
        return tuple(found) if len(found) > 1 else ()

    def receive(self, entry: Any, *, key: str = "") -> Answer:
        """Keep an entry that can be read; refuse what the tests need refused."""
        raw = json.loads(entry) if isinstance(entry, str) else dict(entry)
        if (self.path, key) in self.keys:
            earlier = self.keys[self.path, key]
            return Answer(
                {
                    "number": earlier,
                    "sentence": "You said it before.",
                    "notices": [],
                    "flags": [],
                    "cautions": [],
                }
            )
        if str(raw.get("at", "")).startswith("1999"):
            raise TimeError("the tub is busy until 2026-09-13 04:15", where="at", mend="Give a later time")
        raw = with_kept(raw, self._keep)
        read = decode(raw)
        number = len(self.folders[self.path]) + 1
        now = datetime(2026, 9, 14, tzinfo=UTC)
        self.folders[self.path].append(Recorded(number=number, entry=read, raw=raw, recorded_at=now))
        if key:
            self.keys[self.path, key] = number
        sentence = f"You say: {raw['kind']}."
        return Answer(
            {
                "number": number,
                "sentence": sentence,
                "notices": ["Taken as read."],
                "flags": [],
                "cautions": [],
            }
        )

    def _keep(self, path: str) -> str:
        data = Path(path).read_bytes()
        if not data.startswith((b"\x89PNG", b"\xff\xd8")):
            raise PictureError("this is no picture", where=Path(path).name, mend="Send a JPEG or a PNG")
        digest = hashlib.sha256(data).hexdigest()
        (self.path / digest).write_bytes(data)
        return f"sha256:{digest}"

    def picture_path(self, hash_: str) -> Path:
        """Return where a kept picture lies."""
        place = self.path / hash_.partition(":")[2]
        if not place.is_file():
            raise PictureError("no such picture was kept")
        return place

    def darkening(self, trial: str) -> Answer:
        """Return an invented curve."""
        density = {c: {"value": 0.8, "sd": 0.03} for c in "RGB"}
        band = [
            {"after_s": t, "optical_density": {c: figure(d, d - 0.1, d + 0.1) for c in "RGB"}}
            for t, d in ((30.0, 0.5), (3600.0, 0.7), (600000.0, 0.85))
        ]
        return Answer(
            {
                "trial": trial,
                "points": [{"entry": 10, "after_s": 12600.0, "optical_density": density, "followed": False}],
                "band": band,
                "sentence": f"{trial} was read once.",
                "notices": [],
            }
        )

    def predict(self, thing: str) -> Answer:
        """Return nothing foreseen."""
        return Answer({"of": thing, "moments": [], "course": None, "ess": 300})

    def say(self, text: str, **how: Any) -> Any:
        """Understand a sentence as the workshop does."""
        return saying.say(text, self.daybook, self.receive, **how)  # type: ignore[arg-type]

    def record(self, entry: Any) -> int:
        """Keep an entry and return its number."""
        return int(self.receive(entry).to_dict()["number"])

    def undo(self, number: int) -> None:
        """Take an entry back."""
        self.record({"at": "2026-09-14T10:00", "kind": "void", "entry": number, "why": "undone"})

    def inventory(self) -> Inventory:
        """Return the names that the entries mention."""
        return take_inventory(effective(self.folders[self.path]))

    def add_exemplar(self, name: str, **facts: Any) -> tuple[int, ...]:
        """Keep the facts of a page."""
        before = len(self.folders[self.path])
        told = {"at": "2026-09-10T09:00", "kind": "reading", "of": f"exemplar:{name}"}
        for path in facts.get("pictures", ()):
            if not Path(path).read_bytes().startswith((b"\x89PNG", b"\xff\xd8")):
                raise PictureError("this is no picture", where=Path(path).name, mend="Send a JPEG or a PNG")
            self.record(told | {"what": "photo", "value": str(path)})
        for what in ("optical_density", "support_lab"):
            if what in facts:
                self.record(told | {"what": what, "value": facts[what]})
        return tuple(range(before + 1, len(self.folders[self.path]) + 1))

    def estimate(self, seed: int = 0, progress: Any = None) -> Answer:
        """Return invented figures once the gate is open."""
        self.gate.wait(20)
        if self.fault is not None:
            raise self.fault
        if progress is not None:
            progress(0.5)
        names = list(self.inventory().vessels)
        if not names:
            raise EstimateError("there is nothing to estimate yet", mend="Record a step first")
        sizes = [(3200, 0.15, 60, 0.35), (640, 0.25, 30, 0.9), (45, 0.05, 32, 0.85), (45, 0.05, 84, 0.0)]
        return Answer(
            {
                "seed": seed,
                "draws": 512,
                "ess": 300.0,
                "unknowns": 40,
                "log_evidence": -12.5,
                "vessels": {n: vessel(*sizes[i % len(sizes)]) for i, n in enumerate(names)},
                "lots": {},
                "misfit": {},
                "flags": [{"entry": 1, "text": "This weight stands far from all the rest."}],
            }
        )

    def counsel(
        self, vessel: str, exemplar: str, as_: str = "now", *, keep: float = 0.0, progress: Any = None
    ) -> Answer:
        """Return invented courses."""
        del keep
        if progress is not None:
            progress(0.5)
        self.gate.wait(20)
        if exemplar not in self.inventory().exemplars:
            raise CounselError("there is no such page", where=exemplar, mend="Show it first")
        if vessel not in self.inventory().vessels:
            raise CounselError("there is no such vessel", where=vessel, mend="Name one on the shelf")
        course = {
            "vessel": vessel,
            "cup": [],
            "actions": [{"kind": "reduce", "vessel": vessel, "to": "about 510 ml"}],
            "sentence": "Boil off a fifth, about 25 minutes at a low simmer. No more iron.",
            "why": "The dry stroke should come from 9 to about 3 units from the page.",
            "distance": figure(3.1, 1.6, 5.2),
            "flow_ok": 0.93,
            "permanence_ok": 0.98,
            "match": 0.4,
            "optical_density": {c: figure(1.0, 0.9, 1.1) for c in "RGB"},
            "cautions": ["Boil in open air or under a hood; acid liquor spits as it thickens."],
        }
        if self.on_a_cup:
            cup = f"{vessel}-2"
            course |= {
                "actions": [{"kind": "add", "into": vessel, "lot": "bought-vitriol", "amount": "6 g"}],
                "cup": [
                    {"kind": "pour", "from": vessel, "into": cup, "amount": "100 ml"},
                    {"kind": "store", "vessel": cup, "how": "stoppered jar"},
                    {"kind": "add", "into": cup, "lot": "bought-vitriol", "amount": "1 g"},
                ],
                "sentence": "Stir in 6 g of vitriol. Better first on a cup of it, and keep the pot: draw 100 ml into a jar that shuts and stir in 1 g.",
            }
        other = (
            course
            | {"cup": []}
            | {"sentence": "Leave the pot open for two days, then look again.", "cautions": []}
        )
        return Answer(
            {
                "vessel": vessel,
                "exemplar": exemplar,
                "tried": 600,
                "now": {"distance": figure(9.2, 7, 12), "flow_ok": 0.97, "permanence_ok": 0.98, "match": 0.0},
                "courses": [course, other],
                "reachable": 0.83,
                "stop": False,
                "series": None,
                "would_reach": [],
                "believes": ["The pot holds about 640 ml."],
                "because": ["The pH of the pot moved the estimate most."],
                "would_change": "No single quick check is likely to change this.",
                "check_first": [
                    {
                        "reading": "discharge",
                        "gain": 0.8,
                        "ml": 12.0,
                        "turns": "",
                        "sentence": f"First time a dropper of the {vessel} running out, and the same of water: it settles how far to boil.",
                        "does": [],
                    },
                    {
                        "reading": "more_iron",
                        "gain": 0.0,
                        "ml": 0.0,
                        "turns": "",
                        "sentence": "Stir 0.2 g of the vitriol into 10 ml of it in a saucer: that tells whether the tannin holds the iron.",
                        "does": [
                            {"kind": "pour", "from": vessel, "into": "saucer-1", "amount": "10 ml"},
                            {"kind": "add", "into": "saucer-1", "lot": "vitriol", "amount": "0.2 g"},
                        ],
                    },
                ],
                "as": as_,
                "note": "",
            }
        )

    def again(self, vessel: str) -> Answer:
        """Return an invented recipe."""
        self.gate.wait(20)
        if vessel == "cup":
            raise CounselError("the cup holds no ink", where=vessel, mend="Ask about another vessel")
        steps = (
            "Soak 300 g of the leaf for a day.",
            "Boil it down till ten drops run as slow as the sample's.",
            "Last, try it, and boil a little off if it is too weak.",
        )
        boil = ["Boiling liquor scalds: stir it.", str(group("cautions")["closing"]["text"])]
        return Answer(
            {
                "vessel": vessel,
                "trial": None,
                "ml": 500,
                "steps": [
                    {"entry": {}, "sentence": text, "cautions": boil * bool(n)}
                    for n, text in enumerate(steps)
                ],
                "why": "Seven new lots in ten come to a match. It gives half a litre.",
                "keep": "Keep a spoonful of this ink.",
                "folded": ["the water that dried off"],
                "cannot": ["what was drawn from the old jar"],
                "by_weight": {"sentence": "By weight alone four in ten."},
            }
        )

    def compare(self, trial: str, exemplar: str, *, pen: str | None = None) -> Answer:
        """Return an invented comparison with a plain picture."""
        del pen
        self.gate.wait(20)
        path = self.path / f"{trial}-{exemplar}.png"
        Image.new("RGB", (640, 220), (226, 214, 190)).save(path)
        return Answer(
            {
                "trial": trial,
                "exemplar": exemplar,
                "sentence": "Most of what you see is ink: yours is paler than the page was; wear hides the rest.",
                "difference": figure(21, 18, 24, "dE00"),
                "ink_difference": figure(14, 11, 17, "dE00"),
                "ink_shift": {axis: figure(2, 1, 3) for axis in "Lab"},
                "shares": {
                    name: figure(21 * part, 18 * part, 24 * part, "dE00") | {"fraction": part}
                    for name, part in {
                        "wear": 0.2,
                        "skin": 0.04,
                        "pen": 0.08,
                        "camera": -0.02,
                        "ink": 0.7,
                    }.items()
                },
                "picture": str(path),
                "panels": [
                    {"caption": c, "picture": str(path)}
                    for c in ("The original", "Your line on its skin", "Both")
                ],
            }
        )

    @staticmethod
    def photo(path: str | Path) -> Answer:
        """Return an invented reading."""
        if not Path(path).exists():
            raise StoreError("there is no such file", where=str(path))
        density = {c: {"value": 0.82, "sd": 0.03} for c in "RGB"}
        return Answer(
            {
                "card": False,
                "scale_mm_per_px": None,
                "optical_density": density,
                "lab": None,
                "lab_sd": None,
                "support_lab": None,
                "support_lab_sd": None,
                "scale_sd": None,
                "coverage": 0.1,
                "strokes": [],
                "wear": {"intact": 0.7, "thinned": 0.2, "bare": 0.1},
                "warnings": ["There is no card in the picture."],
            }
        )

    @staticmethod
    def overlay(picture: Any, reading: Any, out: Any) -> None:
        """Write a picture as wide as what was read."""
        side = 4 * len(reading.to_dict()["optical_density"])
        Image.new("RGB", (side, side), "grey" if Path(picture).exists() else "white").save(out)


STORY: list[dict[str, Any]] = [
    {"at": "2026-09-12T10:00", "kind": "vessel", "name": "tub", "capacity": "6 L"},
    {"at": "2026-09-12T10:15", "kind": "steep", "lot": "sumac-leaf", "amount": "640 g", "liquid": "spring water", "liquid_amount": "about 5 L", "into": "tub", "for": "18 h"},
    {"at": "2026-09-13T05:00", "kind": "strain", "vessel": "tub", "into": "small pot"},
    {"at": "2026-09-13T13:00", "kind": "reduce", "vessel": "small pot", "to": "about 700 ml"},
    {"at": "2026-09-13T14:00", "kind": "add", "into": "small pot", "lot": "bought-green-vitriol", "amount": "60 g"},
    {"at": "2026-09-13T14:05", "kind": "add", "into": "small pot", "lot": "plum-gum", "amount": "a third of the plum-gum jar"},
    {"at": "2026-09-13T14:30", "kind": "pour", "from": "small pot", "into": "horn", "amount": "45 ml"},
    {"at": "2026-09-13T15:00", "kind": "reading", "of": "vessel:small pot", "what": "ph", "value": "3.5", "with": "strip"},
    {"at": "2026-09-13T15:10", "kind": "mark", "vessel": "small pot", "trial": "t1", "support": "goat-1", "method": "pen", "pen": "reed-3mm"},
    {"at": "2026-09-13T18:40", "kind": "reading", "of": "trial:t1", "what": "optical_density", "value": {"R": 0.82, "G": 0.88, "B": 0.86}},
    {"at": "2026-09-13T18:45", "kind": "reading", "of": "exemplar:saltmere", "what": "optical_density", "value": {"R": 1.02, "G": 1.0, "B": 0.97}},
]  # fmt: skip


def story(path: Path) -> FakeWorkshop:
    """Return a workshop in which a few days of the invented roll were recorded."""
    workshop = FakeWorkshop.create(path)
    for entry in STORY:
        workshop.record(entry)
    return workshop


@contextmanager
def few_days(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Put the stand-in in the workshop's place, record a few days in ``folder``, and forget them afterwards."""
    monkeypatch.setattr(inkhorn, "Workshop", FakeWorkshop, raising=False)
    path = folder / "saltmere"
    story(path)
    yield path
    FakeWorkshop.gate.set()
    FakeWorkshop.fault = None
    FakeWorkshop.folders.clear()
