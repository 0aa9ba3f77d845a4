"""A few rounds of the benchmark's game: it runs on workshops of every kind, and its bounds bound."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from itertools import repeat

import numpy as np
import pytest
from benchmarks.closed_loop.game import Game, Standard
from benchmarks.closed_loop.no_misfit import without_misfit
from benchmarks.closed_loop.omniscient import Omniscient
from benchmarks.closed_loop.on_cups import Chance
from benchmarks.closed_loop.rule_of_thumb import RuleOfThumb
from benchmarks.closed_loop.run import play
from benchmarks.closed_loop.standard_ink import StandardInk
from benchmarks.closed_loop.table import median_trials, share_within, tables

from inkhorn.handbook.load import row, value
from inkhorn.simulate.deal import deal

SEEDS = range(10)
ROUNDS = 3


@pytest.fixture(scope="module")
def dealt():
    """Return ten workshops: two of each kind of original."""
    return [deal(seed) for seed in SEEDS]


def play_out(game, make):
    """Let a player play to the end."""
    player = make(game, 0)
    while not game.over:
        player.play_round()
    if hasattr(player, "close"):
        player.close()
    return game


@pytest.fixture(scope="module")
def counselled():
    """Return each workshop's game after its first course, as it is kept; two at a time."""
    with ProcessPoolExecutor(2) as pool:
        return list(pool.map(play, SEEDS, repeat("inkhorn"), repeat(2)))


def test_no_game_crashes(counselled):
    """Ten workshops of every kind are counselled without an error."""
    assert [r["error"] for r in counselled] == [""] * len(SEEDS)


def test_the_first_course_brings_most_pots_nearer(counselled):
    """After one course most strokes lie nearer their page than before, and hardly one lies much further off."""
    games = [[t["distance"] for t in r["turns"]] for r in counselled]
    changed = [g[-1] / g[0] for g in games if len(g) > 1]
    assert len(changed) >= 5
    assert np.mean([c < 1 for c in changed]) > 0.5
    assert np.mean([c > 1.5 for c in changed]) <= 0.2


def test_a_match_is_a_match_by_all_three_measures(dealt):
    """What ends a game keeps colour, flow and iron within their limits; what goes on does not."""
    for one in dealt:
        game = play_out(Game(dealt=one, standard=Standard(cap=20, match=8.0)), RuleOfThumb)
        low, high = game.band
        for turn in game.turns:
            right = (
                turn.distance <= 8.0
                and low <= turn.viscosity <= high
                and turn.iron_ratio <= value("permanence.iron_to_capacity.limit")
            )
            assert turn.match == right
        assert not any(t.match for t in game.turns[:-1])


def test_who_knows_everything_matches_in_two_or_three(dealt):
    """With its plan in reach the omniscient player mostly matches with the hand's first or second attempt."""
    games = [play_out(Game(dealt=d, standard=Standard(cap=ROUNDS)), Omniscient) for d in (dealt[4], dealt[7])]
    tried = [g for g in games if not g.said_unreachable]
    assert tried
    assert any(g.turns[-1].match for g in tried)


def test_a_game_leaves_what_was_dealt_untouched(dealt):
    """Players meet the same workshop one after the other."""
    one = dealt[4]
    before = one.truth.true("pot")
    first = play_out(Game(dealt=one, standard=Standard(cap=6)), RuleOfThumb)
    assert one.truth.true("pot") == before
    again = play_out(Game(dealt=one, standard=Standard(cap=6)), RuleOfThumb)
    assert first.turns == again.turns
    assert first.book == again.book


def test_cups_are_spoiled_and_the_pot_is_not(dealt):
    """Who works on cups leaves the pot; the ledger counts what was drawn, within the hand's error."""
    game = Game(dealt=dealt[4], standard=Standard(cap=6))
    whole = game.truth.bench.volume(game.truth.bench.vessels["pot"])
    play_out(game, Chance)
    assert len(game.cups) == len(game.turns) - 1
    drawn = sum(game.cups.values())
    assert game.ledger()["ml_spoiled"] == pytest.approx(drawn, rel=0.5)
    assert drawn < whole
    assert not game.touched
    assert play_out(Game(dealt=dealt[4]), StandardInk).ledger()["ml_spoiled"] > 0


def test_one_cheap_reading_a_round_mostly_in_words(dealt):
    """A second question in a round is not answered; about six answers in ten are words."""
    words = []
    for one in dealt:
        game = Game(dealt=one)
        words.append(game.ask("viscosity")["what"] == "body")
        assert game.ask("ph") is None
    assert 2 <= sum(words) <= 9


def test_another_picture_of_the_page_is_another_reading_of_it(dealt):
    """Asked for the page once more, a maker gives a word or a second density of it, near to the first."""
    got = []
    for one in dealt:
        game = Game(dealt=one)
        entry = game.ask("page")
        assert entry is game.book[-1]
        if entry["what"] == "optical_density":
            assert entry["of"] == f"exemplar:{one.page}"
            first = one.facts["optical_density"]
            assert entry["value"] != first
            assert max(abs(entry["value"][c] - first[c]) for c in "RGB") < 0.3
        got.append(entry["what"])
    assert {"optical_density", "depth"} == set(got)


def test_without_misfit_says_that_the_model_is_right_and_no_longer_than_asked():
    """Inside the block the lasting factors have no spread, outside they are as before."""
    before = row("misfit.hue.G")
    with without_misfit():
        assert row("misfit.hue.G").spread < 1e-3
        assert value("misfit.channel") < 1e-3
        assert row("misfit.stroke") == row("misfit.stroke")
    assert row("misfit.hue.G") == before


def test_the_table_counts_as_it_says():
    """A game that matched at the third trial counts within 3 and not within 2; one without a match is endless."""
    games = [{"matched": True, "trials": 3}, {"matched": False, "trials": 12}]
    assert share_within(games, 2) == 0
    assert share_within(games, 3) == 0.5
    assert median_trials(games) == np.inf


def test_a_record_makes_a_table():
    """What a played game leaves behind can be printed."""
    records = [play(4, "reach"), play(4, "standard")]
    text = tables(records)
    assert "standard" in text
    assert "1 can be matched" in text


def test_a_jar_poured_dry_is_written_so(dealt):
    """Nobody writes of more than was in the jar: what is poured then is all but what clings to the wall."""
    game = Game(dealt=dealt[4])
    pot = game.dealt.pot
    held = game.truth.bench.volume(game.truth.bench.vessels[pot])
    some = game.draw_cup(round(held / 4), pot)
    rest = game.draw_cup(round(held * 2), pot)
    told = {e["into"]: e["amount"] for e in game.book if e["kind"] == "pour" and e["from"] == pot}
    assert told[some] == f"{round(held / 4):.3g} ml"
    assert told[rest] == "all"
    assert game.truth.bench.volume(game.truth.bench.vessels[pot]) < 0.05 * held
