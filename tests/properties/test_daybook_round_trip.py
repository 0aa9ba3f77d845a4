"""Entries survive the way to JSON and back, whatever they are."""

from __future__ import annotations

import contextlib
import json
import pickle

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inkhorn.daybook.schema import KINDS
from inkhorn.daybook.wire import decode, encode
from inkhorn.errors import InkhornError
from support.entry_strategies import KEYS, raw_entries

_SLOW = settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def test_every_kind_is_generated() -> None:
    """The strategies leave no kind of entry out."""
    assert set(KEYS) | {"amend"} == set(KINDS)


@_SLOW
@given(raw_entries())
def test_decode_undoes_encode(raw: dict) -> None:
    """``decode(encode(e)) == e``, through JSON text, for entries of every kind."""
    entry = decode(raw)
    assert decode(json.loads(json.dumps(encode(entry)))) == entry


@pytest.mark.parametrize("kind", sorted(KEYS))
def test_every_kind_round_trips(kind: str) -> None:
    """Each kind by itself is read, written and read again as the same."""

    @settings(max_examples=20, deadline=None)
    @given(raw_entries(kind))
    def run(raw: dict) -> None:
        entry = decode(raw)
        assert entry.kind == kind
        assert decode(encode(entry)) == entry
        assert encode(decode(encode(entry))) == encode(entry)
        assert pickle.loads(pickle.dumps(entry)) == entry  # noqa: S301 - our own bytes

    run()


@_SLOW
@given(raw_entries(), st.data())
def test_a_foreign_key_is_always_refused(raw: dict, data: st.DataObject) -> None:
    """No kind takes a key that it does not have."""
    key = data.draw(st.text(st.characters(codec="ascii", categories=("Ll",)), min_size=1, max_size=8))
    if key in KINDS[raw["kind"]].all_keys or key == "kind":
        return
    with pytest.raises(InkhornError, match="has no key"):
        decode({**raw, key: "x"})


@_SLOW
@given(
    raw_entries(),
    st.data(),
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=30), st.lists(st.integers()),
              st.dictionaries(st.text(max_size=3), st.integers(), max_size=3)),
)  # fmt: skip
def test_whatever_is_written_the_error_is_ours(raw: dict, data: st.DataObject, junk: object) -> None:
    """Any value in any key is either understood or refused with one of inkhorn's errors."""
    key = data.draw(st.sampled_from(sorted(raw)))
    with contextlib.suppress(InkhornError):  # anything else fails the test
        assert decode({**raw, key: junk}).kind in KINDS
