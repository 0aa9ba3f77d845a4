"""The lines under a comparison: a bar for each cause, and what the percents are of."""

from __future__ import annotations

from inkhorn.report import shared_out


def _answer(**shares: float) -> dict[str, object]:
    return {
        "difference": {"median": sum(shares.values())},
        "shares": {name: {"median": s, "p05": s - 1, "p95": s + 1} for name, s in shares.items()},
    }


def test_percents_are_of_what_is_left_to_see() -> None:
    """Wear of 12 of which the ink hides 2 is 120 percent of the 10 left; the ink comes last, in minus signs."""
    wear, ink = shared_out.bars(_answer(ink=-2.0, wear=12.0))
    assert wear.split()[0] == "wear"
    assert "120 percent" in wear
    assert "=" * 30 in wear
    assert " ----- " in ink
    assert "-20 percent" in ink


def test_it_is_told_why_percents_pass_a_hundred() -> None:
    """Said where a cause hides part of the rest, and only there; a difference of nothing has no percents at all."""
    assert "more than 100" in (shared_out.note(_answer(ink=-2.0, wear=12.0)) or "")
    assert shared_out.note(_answer(ink=2.0, wear=8.0)) is None
    nothing = _answer(ink=-2.0, wear=2.0)
    assert shared_out.note(nothing) is None
    assert shared_out.bars(nothing) == []
