"""Each step that can hurt carries its usual caution, and the general line last (common practice of workshops)."""

from __future__ import annotations

import pytest

from inkhorn.handbook.cautions import caution, cautions_for


@pytest.mark.parametrize(
    ("entry", "materials", "keys"),
    [
        ({"kind": "weather"}, ["pyrite"], ("sulfide", "acid", "hydrogen_sulfide")),
        ({"kind": "neutralise"}, ["iron-filings"], ("hydrogen", "galvanised", "acid")),
        ({"kind": "neutralise"}, [], ("hydrogen", "galvanised", "acid")),
        ({"kind": "neutralise"}, ["chalk"], ("acid", "froth")),
        ({"kind": "steep"}, ["iron-nails"], ("hydrogen", "galvanised")),
        ({"kind": "add"}, ["iron-filings"], ("hydrogen", "galvanised")),
        ({"kind": "add"}, ["sulfuric-acid"], ("acid",)),
        ({"kind": "crystallise"}, [], ("iron", "acid", "sulfide")),
        ({"kind": "vessel", "made_of": "galvanised iron"}, [], ("galvanised",)),
        ({"kind": "vessel", "made_of": "copper"}, [], ("copper",)),
    ],
)
def test_a_step_names_what_can_hurt(entry, materials, keys) -> None:
    """Hydrogen with iron, acid and foul gas with sulfides, zinc never: beside the step, the general line last."""
    texts = cautions_for(entry, materials)
    assert set(texts) == {caution(key) for key in (*keys, "closing")}
    assert texts[-1] == caution("closing")


def test_harmless_steps_carry_none() -> None:
    """Water, a stoneware crock and a remark call for nothing."""
    for entry in (
        {"kind": "add"},
        {"kind": "vessel", "made_of": "stoneware, lead-free glaze"},
        {"kind": "remark"},
    ):
        assert cautions_for(entry) == ()


def test_gathering_is_not_said_of_a_sulfide_already_at_hand() -> None:
    """The law of gathering is said where something is gathered, not where it is weathered."""
    assert caution("gathering") not in cautions_for({"kind": "weather"}, ["pyrite"])
    assert caution("gathering") in cautions_for({"kind": "gather"}, ["oak-bark"])


def test_gathering_is_not_said_of_what_is_bought() -> None:
    """Who buys a tin of vitriol rings no tree; who scrapes it off a rock, or names nothing known, is told."""
    assert caution("gathering") not in cautions_for({"kind": "gather"}, ["bought-green-vitriol"])
    assert caution("gathering") in cautions_for({"kind": "gather"}, ["scraped-green-vitriol"])
    assert caution("gathering") in cautions_for({"kind": "gather"})
