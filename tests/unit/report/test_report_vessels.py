"""Vessels in words."""

from __future__ import annotations

from inkhorn.report import vessels

_SPREAD = {"median": 1000.0, "p05": 900.0, "p25": 950.0, "p75": 1050.0, "p95": 1100.0, "unit": "ml"}
_NONE = dict.fromkeys(("median", "p05", "p25", "p75", "p95"), None) | {"unit": "1"}


def test_iron_without_tannin_is_said_and_has_no_row() -> None:
    """A pot of vitriol and water has no ratio of iron to tannin: that is said, not reckoned."""
    pot = {"volume": _SPREAD, "iron_to_capacity": _NONE}
    assert "Iron, and no tannin to hold it." in vessels.paragraph("pot", pot)
    assert [row[0] for row in vessels.rows(pot)] == ["in it"]


def test_no_iron_is_said() -> None:
    """A liquor without iron says so, and never a share."""
    nought = dict.fromkeys(("median", "p05", "p25", "p75", "p95"), 0.0) | {"unit": "1"}
    assert "No iron in it." in vessels.paragraph("pot", {"volume": _SPREAD, "iron_to_capacity": nought})
