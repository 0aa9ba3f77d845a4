"""Cautions that come back with an entry."""

from __future__ import annotations

from inkhorn.handbook.cautions import caution
from inkhorn.report.care import cautions_of
from support.book_builder import Bench


def _said(bench: Bench) -> tuple[str, ...]:
    return cautions_of(bench.standing[-1].entry, bench.inventory)


def test_the_lot_decides() -> None:
    """A sulfide put to weather carries its own cautions, and the general line closes them."""
    bench = Bench()
    bench.record("2026-09-01T09:00", "gather", lot="stones", material="marcasite", amount="1 kg")
    bench.record("2026-09-02T09:00", "weather", lot="stones", amount="all", liquid="rainwater",
                 liquid_amount="1 L", into="tray", for_="20 days")  # fmt: skip
    said = _said(bench)
    assert caution("sulfide") in said
    assert said[-1] == caution("closing")


def test_the_vessel_decides() -> None:
    """A sour liquor boiled in a zinc-coated pot is warned of, though the entry itself does not say of what it is."""
    bench = Bench()
    bench.record("2026-09-01T09:00", "vessel", name="pail", made_of="galvanised iron")
    bench.record("2026-09-01T10:00", "steep", lot="sumac leaf", amount="200 g", liquid="water",
                 liquid_amount="2 L", into="pail", for_="12 h")  # fmt: skip
    assert caution("galvanised") in _said(bench)


def test_looking_is_safe() -> None:
    """A reading carries none."""
    bench = Bench()
    bench.record("2026-09-01T09:00", "vessel", name="pail", made_of="galvanised iron")
    bench.record("2026-09-01T10:00", "steep", lot="sumac leaf", amount="200 g", liquid="water",
                 liquid_amount="2 L", into="pail", for_="12 h")  # fmt: skip
    bench.record("2026-09-02T10:00", "reading", of="vessel:pail", what="ph", value="4")
    assert _said(bench) == ()
