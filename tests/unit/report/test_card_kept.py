"""What a maker measured of the card is told once and holds for every picture of the workshop."""

from __future__ import annotations

import io
from datetime import datetime

import numpy as np
import pytest
from PIL import Image

import inkhorn
from inkhorn.daybook.book import effective
from inkhorn.errors import EntryError, PictureError
from inkhorn.imaging.card.layout import card
from inkhorn.imaging.photo import Told, read_photo
from inkhorn.report import measured
from inkhorn.report.card import pdf
from inkhorn.report.photo_told import card_readings, card_told
from support.camera import any_shot, photograph
from support.rendered_pages import Page, render

STEPS = {"paper": {"L": 93.0, "a": 1.0, "b": -4.0}} | {
    f"black-{n}": {"L": 24.0, "a": 0.2, "b": 0.4} for n in (1, 2, 3)
}


@pytest.fixture
def shop(tmp_path):
    """Return an empty workshop."""
    with inkhorn.Workshop.create(tmp_path / "saltmere") as workshop:
        yield workshop


def _told(shop, at: str):
    return card_told(effective(shop.daybook), datetime.fromisoformat(at))[0]


def test_bar_and_steps_are_kept_as_readings_of_the_card(shop) -> None:
    """Both come back as they were measured, from the daybook alone; nothing of the bench is made by them."""
    shop.record(
        {"kind": "reading", "of": "card:a6", "what": "bar", "value": "98.4 mm", "at": "2026-09-01T10:00"}
    )
    shop.record(
        {"kind": "reading", "of": "card:a6", "what": "steps", "value": STEPS, "at": "2026-09-01T10:01"}
    )
    told = _told(shop, "2026-09-02T10:00")
    assert told.bar == pytest.approx(98.4)
    assert told.once
    assert told.reference.names == tuple(STEPS)
    np.testing.assert_allclose(told.reference.lab[0], [93, 1, -4], atol=1e-6)
    things = shop.inventory()
    assert not any(things.of(sort) for sort in ("vessel", "lot", "trial", "exemplar", "support", "pen"))


def test_the_card_in_use_at_the_time_holds(shop) -> None:
    """A card printed anew does not change what earlier pictures were measured by; a slip can be taken back."""
    reading = {"kind": "reading", "of": "card:a6", "what": "bar"}
    shop.record({**reading, "value": "98.4 mm", "at": "2026-09-01T10:00"})
    shop.record({**reading, "value": "101.2 mm", "at": "2026-09-20T10:00"})
    slip = shop.record({**reading, "value": "90 mm", "at": "2026-09-21T10:00"})
    shop.undo(slip)
    bars = [_told(shop, at).bar for at in ("2026-08-01T10:00", "2026-09-10T10:00", "2026-09-25T10:00")]
    assert bars == pytest.approx([98.4, 98.4, 101.2])


@pytest.mark.parametrize(
    ("what", "value"),
    [
        ("bar", "98 g"),
        ("steps", {"black-1": {"L": 20, "a": 0, "b": 0}, "x": {"L": 1, "a": 0, "b": 0}}),
        ("depth", "right"),
    ],
)
def test_what_is_not_of_a_card_is_refused(shop, what: str, value: object) -> None:
    """A weight for a bar, steps without their paper, and words of a stroke are refused with what to write."""
    with pytest.raises(EntryError):
        shop.record({"kind": "reading", "of": "card:a6", "what": what, "value": value})


def test_a_file_of_measured_steps_becomes_a_reading(tmp_path, shop) -> None:
    """The form that `inkhorn card --values` writes, filled in, is kept whole; one without paper is refused."""
    file = tmp_path / "card.csv"
    file.write_text("name,x_mm,y_mm,L,a,b\npaper,,,94.1,0.8,-3.9\nblack-1,139,31,19.5,0.4,0.6\ngrey-1,,,,,\n")
    bar, steps = card_readings("a6", bar="98.4 mm", chart=str(file))
    assert shop.receive(bar).sentence
    assert "1, and its paper" in shop.receive(steps).sentence
    assert set(steps["value"]) == {"paper", "black-1"}
    file.write_text("name,L,a,b\nA1,94.1,0.8,-3.9\n")
    with pytest.raises(PictureError, match="no paper"):
        card_readings("a6", chart=str(file))


def test_a_picture_without_the_card_needs_none() -> None:
    """What was told once does not refuse a picture that does not show the card; told with the picture it does."""
    page = render(Page(height=420, width=620, seed=21)).png()
    assert not read_photo(page, told=Told(bar=98.4, once=True)).reading.card
    with pytest.raises(PictureError, match="no card"):
        read_photo(page, told=Told(bar=98.4))


def test_a_recorded_picture_is_measured_by_the_card_that_was_told(tmp_path, shop) -> None:
    """The same picture says another density once the steps of its card are told, and is read anew for it only."""
    kind = card("a6")
    shot = any_shot(
        515, pdf(kind), (kind.width, kind.height), kind.window, pixels=(1500, 1125), tilt=8.0, tone="strong",
        shadow=0.0, stroke=1.0, density=0.7,
    )  # fmt: skip
    path = tmp_path / "strip.jpg"
    path.write_bytes(photograph(shot).data)
    shop.record(
        {
            "kind": "reading",
            "of": "exemplar:roll",
            "what": "photo",
            "value": str(path),
            "at": "2026-09-05T10:00",
        }
    )
    before = measured.of_book(shop._store, effective(shop.daybook))[1]
    shop.record(
        {"kind": "reading", "of": "card:a6", "what": "steps", "value": STEPS, "at": "2026-09-01T10:00"}
    )
    after = measured.of_book(shop._store, effective(shop.daybook))[1]
    assert np.abs(after.density - before.density).max() > 1e-3
    shop.undo(2)
    np.testing.assert_array_equal(
        measured.of_book(shop._store, effective(shop.daybook))[1].density, before.density
    )


def test_a_picture_that_todays_reader_refuses_is_left_out_and_said(tmp_path, shop) -> None:
    """Recorded before, a picture that cannot be read any more stands in no one's way; its reading says so."""
    path = tmp_path / "page.png"
    path.write_bytes(render(Page(height=420, width=620, seed=21)).png())
    shop.record(
        {
            "kind": "gather",
            "lot": "sumac-leaf",
            "material": "sumac leaf",
            "amount": "100 g",
            "at": "2026-09-01T08:00",
        }
    )
    shop.record(
        {"kind": "steep", "lot": "sumac-leaf", "amount": "100 g", "liquid": "rainwater", "liquid_amount": "1 L",
         "into": "tub", "for": "10 h", "at": "2026-09-01T09:00"}
    )  # fmt: skip
    shop.record(
        {
            "kind": "mark",
            "vessel": "tub",
            "trial": "t1",
            "support": "goat-1",
            "method": "pen",
            "at": "2026-09-02T09:00",
        }
    )
    number = shop.record(
        {"kind": "reading", "of": "trial:t1", "what": "photo", "value": str(path), "at": "2026-09-03T09:00"}
    )
    assert number in measured.of_book(shop._store, effective(shop.daybook))
    blank = io.BytesIO()
    Image.fromarray(np.full((300, 300, 3), 180, np.uint8)).save(blank, "PNG")
    kept = shop.daybook[number - 1].entry.value
    shop.picture_path(kept).write_bytes(blank.getvalue())
    shop._store.forget("photo/")
    assert number not in measured.of_book(shop._store, effective(shop.daybook))
    plan = shop._plan()
    assert number in [idle.number for idle in plan.idle]
