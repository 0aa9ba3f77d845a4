"""A newcomer at the page with a make-believe pot: what is said on the page is done to the truth, and seen of it.

The page's own clock goes on by days; it stands in the past, so that nothing is dated after the real clock.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import attrs
from playwright.sync_api import Page, expect

import inkhorn
from inkhorn.simulate import nature
from inkhorn.simulate.notices import run_time
from inkhorn.simulate.truth import Truth
from inkhorn.simulate.workshops import tuned
from support.browser import until

LONG = 90_000  # ms; an answer on a busy machine
PAGE, POT, PEN = "saltmere-roll", "pot", "reed-3mm"
#: From raw leaf to ink: days and hours after the first morning, what is said, and what is done by it.
DAY: tuple[tuple[float, str, Mapping[str, Any]], ...] = (
    (9.0, "gathered 900 g of sumac leaf", {"kind": "gather", "lot": "sumac-leaf", "material": "sumac leaf", "amount": "900 g"}),
    (9.2, "bought 250 g of green vitriol", {"kind": "gather", "lot": "bought-green-vitriol", "material": "bought green vitriol", "amount": "250 g"}),
    (9.4, "gathered 100 g of plum gum", {"kind": "gather", "lot": "plum-gum", "material": "plum gum", "amount": "100 g"}),
    (10.0, "put 240 g of sumac leaf to soak in 2.5 litres of rainwater in the tub for a day",
     {"kind": "steep", "lot": "sumac-leaf", "amount": "240 g", "liquid": "rainwater", "liquid_amount": "2.5 L", "into": "tub", "for": "24 h"}),
    (35.0, "strained the tub into the pot", {"kind": "strain", "vessel": "tub", "into": POT}),
    (36.0, "boiled the pot down to 1.2 litres", {"kind": "reduce", "vessel": POT, "to": "1.2 L"}),
    (41.0, "added 9 g of the vitriol to the pot", {"kind": "add", "into": POT, "lot": "bought-green-vitriol", "amount": "9 g"}),
    (41.2, "added 6 g of plum gum to the pot", {"kind": "add", "into": POT, "lot": "plum-gum", "amount": "6 g"}),
)  # fmt: skip


@attrs.define(kw_only=True)
class Newcomer:
    """One person at one page.

    Parameters
    ----------
    page : Page
        The window; its clock is set.
    address : str
        Of the bench.
    workshop : Path
        The workshop's folder, to see what was recorded.
    folder : Path
        Where photographs are rendered.
    seed : int
        Which make-believe nature.
    stronger : float
        How much stronger the page's ink was than what the newcomer brews.
    """

    page: Page
    address: str
    workshop: Path
    folder: Path
    seed: int
    stronger: float
    heard: list[str] = attrs.field(factory=list)
    morning: datetime = attrs.field(
        factory=lambda: datetime.combine(
            datetime.now().astimezone().date() - timedelta(days=20), datetime.min.time()
        )
    )
    hour: float = 8.0
    truth: Truth = attrs.field(init=False)

    def __attrs_post_init__(self) -> None:
        """Write the original: this brew's own ink, stronger, by another pen, aged and worn."""
        self.truth = Truth(self.seed)
        ahead = self.truth.copy()
        for hour, _, entry in DAY:
            ahead.apply({"at": self._at(hour), **entry})
        ink = tuned(ahead.bench.vessels[POT].liquor, ahead.bench.n, strength=self.stronger)
        self.truth.exemplar(PAGE, ink, ageing=0.5, pen=PEN)
        self.page.clock.install(time=self._at(self.hour))
        self.page.goto(self.address)

    def _at(self, hour: float) -> str:
        return (self.morning + timedelta(hours=hour)).isoformat(timespec="minutes")

    def wait(self, until: float) -> None:
        """Let the hours go by on the page's clock."""
        self.hour = max(self.hour, until)
        self.page.clock.set_fixed_time(self._at(self.hour))

    def records(self) -> list[dict[str, Any]]:
        """Return what stands in the daybook."""
        with inkhorn.Workshop.open(self.workshop) as opened:
            return [dict(line.to_dict()) for line in opened.daybook]

    @contextmanager
    def keeping(self) -> Iterator[None]:
        """Wait until the page says that what was sent within is kept; note what it answers."""
        before = len(self.records())
        yield
        box = self.page.locator("#do")
        until(lambda: _number(box.inner_text()) > before or self.page.locator("#do .heard, #do .wrong").count() > 0,
              seconds=LONG / 1000)  # fmt: skip
        assert _number(box.inner_text()) == len(self.records()), box.inner_text()
        self.heard.append(_plain(self.page.locator(".receipt").inner_text()))

    def say(self, text: str) -> None:
        """Say something in one's own words."""
        with self.keeping():
            self.page.locator("#text").fill(text)
            self.page.get_by_role("button", name="Say it").click()

    def home(self) -> None:
        """Come back to the bench once every answer to what was recorded is worked out."""
        self.page.goto(self.address)
        self.page.wait_for_function(
            "() => fetch('/api/status').then(a => a.json()).then(s => !s.working)", timeout=LONG
        )
        self.page.goto(self.address)
        expect(self.page.locator("[data-working]")).to_have_count(0, timeout=LONG)

    def counsel(self) -> str:
        """Return what stands on top of the bench."""
        self.home()
        self.heard.append(_plain(self.page.locator("section.lead").inner_text()))
        return _plain(self.page.locator("#counsel").inner_text())

    def brew(self) -> None:
        """Tell how the ink was made, from the leaf to the gum."""
        for hour, text, entry in DAY:
            self.wait(hour)
            self.say(text)
            self.truth.apply({"at": self._at(hour), **entry})

    def show_page(self) -> None:
        """Photograph the page to be matched."""
        request = {"at": self._at(self.hour), "kind": "reading", "of": f"exemplar:{PAGE}", "what": "photo"}
        picture = self.truth.notice(request, folder=self.folder)["value"]
        self.page.get_by_label("Call it").fill(PAGE)
        self.page.locator("#page-shot").set_input_files(picture)
        with self.keeping():
            self.page.get_by_role("button", name="Keep it").click()
        expect(self.page.locator("#look .overlay")).to_be_visible(timeout=LONG)

    def mark(self) -> None:
        """Make the first mark with the form, every later one with the tile that says it again."""
        self.wait(self.hour + 1)
        again = self.page.get_by_role("button", name=re.compile("Same again Mark"))
        if again.count():
            with self.keeping():
                again.first.click()
        else:
            self.page.goto(f"{self.address}/?do=mark")
            self.page.locator("#f-support").fill("goat parchment")
            self.page.locator("label.chip", has_text=re.compile("^a written line$")).click()
            self.page.locator("#f-pen").fill("reed 3 mm")
            with self.keeping():
                self.page.get_by_role("button", name="Keep it").click()
        self.truth.apply(self.records()[-1])

    def photograph(self) -> str:
        """Photograph the newest mark a day later, and wait until it is measured; return what was read."""
        self.wait(self.hour + 25)
        trial = self.records()[-1]["trial"]
        request = {"at": self._at(self.hour), "kind": "reading", "of": f"trial:{trial}", "what": "photo"}
        picture = self.truth.notice(request, folder=self.folder)["value"]
        with self.keeping():
            self.page.locator("#quick").set_input_files(picture)
        expect(self.page.locator("#look .overlay")).to_be_visible(timeout=LONG)
        return _plain(self.page.locator("#look").inner_text())

    def follow(self, tap: str = "I did it") -> None:
        """Do as counsel says, and tell it with one tap."""
        self.wait(self.hour + 1)
        before = len(self.records())
        with self.keeping():
            self.page.get_by_role("button", name=tap).first.click()
        for entry in self.records()[before:]:
            self.truth.apply(entry)

    def check(self) -> None:
        """Do the check that counsel would have first, and write down what it shows."""
        self.wait(self.hour + 1)
        self.page.locator(".lead .way").click()
        self.page.locator("#do form.form h3").wait_for()
        asked = {key: self.page.locator(f"#do input[name={key}]") for key in ("do", "of", "what")}
        what = asked["what"].input_value() if asked["what"].count() else ""
        assert what in {"discharge", "depth", "ph", "volume", "specific_gravity"}, self.page.url
        request = {
            "at": self._at(self.hour),
            "kind": "reading",
            "of": asked["of"].input_value(),
            "what": what,
        }
        seen = self.truth.notice(request | ({"against": PAGE} if what == "depth" else {}))["value"]
        if what == "depth":
            self.page.locator("#f-value label.chip", has_text=re.compile(f"^{seen}$")).click()
        else:
            self.page.get_by_label("It is").fill(seen)
        if what == "discharge":
            water = run_time(self.truth.bench, nature.water_viscosity(20.0, self.truth.bench.n), 1.0)
            self.page.get_by_label("The same of plain water").fill(f"{water:.0f} s")
        with self.keeping():
            self.page.get_by_role("button", name="Keep it").click()

    def distance(self) -> float:
        """Return how far the pot's dry stroke truly is from the page now.

        The truth lets a pot stand (dry, oxidise) only when something is done with it. A pot left open for a day
        writes otherwise than before, and that day is not to be put down to what is done next.
        """
        now = self.truth.copy()
        now.bench.settle(now.bench.vessels[POT], self.morning + timedelta(hours=self.hour))
        return now.distance(POT, PAGE, pen=PEN)


def _number(text: str) -> int:
    """Return the number of the last entry that a receipt speaks of, 0 where there is none."""
    found = re.search(r"Kept as entr(?:y|ies [\d, ]+ and) (\d+)", text)
    return int(found[1]) if found else 0


def _plain(text: str) -> str:
    return re.sub(r"\s+", " ", text).strip()
