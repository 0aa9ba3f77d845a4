"""Nothing is made or lost in a replay: whatever went in is in a vessel, a marc or the loss account."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from inkhorn.handbook.load import value
from inkhorn.replay.draws import Draws, standard_normal
from inkhorn.replay.fold import make_plan, play
from inkhorn.replay.liquor import Liquor
from support.daybooks import recorded
from support.strategies import daybooks

N = 7
GROUPS = {t: value(f"binding.groups.{t}") for t in ("gallotannin", "gallic", "ellagitannin", "condensed")}


def tallies(liquor: Liquor) -> dict[str, np.ndarray]:
    """Return every conserved amount of a liquor."""
    return {
        "iron": liquor["iron2"] + liquor["iron3"] + liquor["complex_iron"],
        "aluminium": liquor["aluminium"],
        "calcium": liquor["calcium"],
        "sulfur": liquor["sulfate"],
        "chlorine": liquor["chloride"],
        "carbonate": liquor["carbonate"],
        "strong ions": liquor["strong"],
        "pyrogallol groups": sum(liquor[t] * GROUPS[t] for t in ("gallotannin", "gallic", "ellagitannin"))
        + liquor["complex_pyrogallol"],
        "catechol groups": liquor["condensed"] * GROUPS["condensed"] + liquor["complex_catechol"],
        "gum": liquor["gum"] + liquor["gel"],
        "acetate": liquor["acetate"],
        "ethanol": liquor["ethanol"],
        "insolubles": liquor["insolubles"],
    }


def draws_of(plan, n=N, seed=3):
    """Return draws of the prior of a plan."""
    z = np.array([standard_normal(seed, name, n) for name in plan.unknowns]).reshape(-1, n)
    return Draws(plan.unknowns, z)


def everything(world) -> Liquor:
    """Return all that is somewhere on the bench, on the shelf as grown crystals, or in the loss account."""
    total = world.lost
    for state in world.vessels.values():
        total = total + state.liquor
        if state.marc is not None:
            total = total + state.marc.inside + state.marc.held
    for marc in world.marcs.values():
        total = total + marc.inside + marc.held
    for lot in world.lots.values():
        if lot.holds is not None:
            total = total + lot.holds * lot.mass
    return total


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(daybooks())
def test_every_element_is_conserved(entries):
    """Iron, aluminium, calcium, sulfur, chlorine, phenol groups, gum and ions add up to 1e-12."""
    plan = make_plan(recorded(entries))
    world = play(plan, draws_of(plan)).world
    have, came = tallies(everything(world)), tallies(world.entered)
    for name, amount in came.items():
        scale = np.maximum(np.abs(amount), 1e-9)
        assert np.all(np.abs(have[name] - amount) <= 1e-12 * scale + 1e-18), name


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(daybooks())
def test_nothing_is_negative(entries):
    """No amount in any vessel falls below zero, but for the net charge of strong ions, which may."""
    plan = make_plan(recorded(entries))
    world = play(plan, draws_of(plan)).world
    for state in world.vessels.values():
        for name in tallies(state.liquor):
            if name != "strong ions":
                assert np.all(tallies(state.liquor)[name] >= -1e-15), name
        assert np.all(state.liquor["water"] >= 0)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(daybooks())
def test_one_draw_is_the_same_column_of_many(entries):
    """Replaying one draw gives exactly what it gives among many."""
    plan = make_plan(recorded(entries))
    z = np.array([standard_normal(3, name, N) for name in plan.unknowns]).reshape(-1, N)
    many = play(plan, Draws(plan.unknowns, z)).world
    one = play(plan, Draws(plan.unknowns, np.ascontiguousarray(z[:, 2:3]))).world
    for name, state in one.vessels.items():
        np.testing.assert_allclose(
            state.liquor.amounts[:, 0], many.vessels[name].liquor.amounts[:, 2], rtol=1e-9, atol=1e-15
        )


def test_a_leak_would_be_seen():
    """Twin that must fail: with part of a pour forgotten, the account does not add up."""
    entries = [
        {
            "at": "2026-09-01T08:00",
            "kind": "add",
            "into": "tub",
            "lot": "ferrous-sulfate-heptahydrate",
            "amount": "10 g",
        },
        {"at": "2026-09-01T09:00", "kind": "add", "into": "tub", "liquid": "water", "amount": "500 ml"},
    ]
    plan = make_plan(recorded(entries))
    world = play(plan, draws_of(plan)).world
    leaked = world.with_vessel("pot", world.vessels["tub"])
    with pytest.raises(AssertionError):
        np.testing.assert_allclose(
            tallies(everything(leaked))["iron"], tallies(world.entered)["iron"], rtol=1e-12
        )
