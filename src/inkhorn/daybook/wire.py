"""JSON to entries and back.

Every fault of an entry is reported at once. Older JSON is lifted to the
newest shape by small functions, one a version; what was written stays as it is.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any

from inkhorn.daybook.entries import SCHEMA, Amend, Entry, Reading, Void
from inkhorn.daybook.names import nearest
from inkhorn.daybook.readings import read_amount, read_channel_sd, read_form, read_value
from inkhorn.daybook.schema import KINDS, Key, Kind
from inkhorn.errors import (
    EntryError,
    EntryErrors,
    InkhornError,
    MissingKeyError,
    UnknownKeyError,
    UnknownNameError,
)
from inkhorn.quantities import Quantity

Upcaster = Callable[[dict[str, Any]], dict[str, Any]]
#: ``UPCASTERS[n]`` lifts JSON of schema version n to version n + 1.
UPCASTERS: Mapping[int, Upcaster] = MappingProxyType({})


def upcast(
    raw: Mapping[str, Any],
    version: int,
    *,
    steps: Mapping[int, Upcaster] = UPCASTERS,
    newest: int = SCHEMA,
) -> dict[str, Any]:
    """Lift JSON of an older schema version to the newest; raise `EntryError` for one from the future."""
    if not 1 <= version <= newest:
        raise EntryError(
            f"the entry is of schema version {version}, and this inkhorn reads up to {newest}",
            mend="Update inkhorn",
        )
    out = dict(raw)
    for step in range(version, newest):
        out = steps[step](out)
    return out


def decode(obj: Mapping[str, Any], *, version: int = SCHEMA) -> Entry:
    """Read one entry.

    Parameters
    ----------
    obj : mapping
        JSON object with ``kind``, ``at`` and the keys of its kind.
    version : int
        Schema version it was written in.

    Raises
    ------
    EntryErrors
        All that is wrong with it, each naming the key and, where there is one, the nearest known name.
    """
    if not isinstance(obj, Mapping):
        raise EntryErrors(
            [EntryError("an entry is a JSON object", mend='Write {"at": ..., "kind": ..., ...}')]
        )
    raw = upcast(obj, version)
    kind = _kind(raw)
    faults: list[InkhornError] = []
    fields = _fields(raw, kind, faults)
    if kind.cls is Reading:
        _reading(raw, fields, faults)
    if kind.cls is Amend and "replacement" in fields:
        _replacement(raw, fields, faults)
    if faults:
        raise EntryErrors(faults)
    return kind.cls(**fields)


def _kind(raw: Mapping[str, Any]) -> Kind:
    name = raw.get("kind")
    if not isinstance(name, str):
        known = ", ".join(KINDS)
        raise EntryErrors([MissingKeyError("the entry has no kind", where="kind", mend=f"One of {known}")])
    kind = KINDS.get(name.strip().casefold())
    if kind is None:
        near = nearest(name, KINDS)
        mend = f"The nearest is {near}" if near else f"One of {', '.join(KINDS)}"
        raise EntryErrors([UnknownNameError(f"{name!r} is no kind of entry", where="kind", mend=mend)])
    return kind


def _fields(raw: Mapping[str, Any], kind: Kind, faults: list[InkhornError]) -> dict[str, Any]:
    keys = kind.all_keys
    for name in raw:
        if name not in keys and name != "kind":
            near = nearest(str(name), keys)
            mend = f"The nearest is {near}" if near else f"It has {', '.join(keys)}"
            faults.append(UnknownKeyError(f"{kind.name} has no key {name!r}", where=kind.name, mend=mend))
    fields: dict[str, Any] = {}
    for key in keys.values():
        value = raw.get(key.name)
        if value is not None:
            _read(key, value, kind, fields, faults)
        elif key.needed:
            faults.append(
                MissingKeyError(
                    f"{kind.name} needs {key.name}", where=kind.name, mend=f"{key.name}: {key.says}"
                )
            )
    given = {key.name for key in keys.values() if raw.get(key.name) is not None}
    faults += [fault for sets in kind.either if (fault := _either(kind, sets, given))]
    return fields


def _read(key: Key, value: Any, kind: Kind, fields: dict[str, Any], faults: list[InkhornError]) -> None:
    try:
        fields[key.field] = key.read(value, f"{kind.name} {key.name}")
    except EntryErrors as error:
        faults += error.faults
    except EntryError as error:
        faults.append(error)


def _either(kind: Kind, sets: tuple[tuple[str, ...], ...], given: set[str]) -> InkhornError | None:
    """Return a fault unless the given keys settle on one of the sets and leave out what only others have."""
    says = "; or ".join(" and ".join(keys) for keys in sets)
    heads = [keys for keys in sets if keys[0] in given]
    first_keys = {keys[0] for keys in sets}
    if len(first_keys & given) > 1 and kind.name != "reduce":
        both = " and ".join(sorted(first_keys & given))
        return MissingKeyError(f"{kind.name} takes only one of {both}", where=kind.name, mend=f"Give {says}")
    whole = [keys for keys in sets if given.issuperset(keys)]
    if not whole:
        lacking = [k for k in (heads[0] if heads else sets[0]) if k not in given]
        return MissingKeyError(
            f"{kind.name} needs {' and '.join(lacking)}", where=kind.name, mend=f"Give {says}"
        )
    if kind.name == "add" and {"amount", "up_to"} <= given:
        return MissingKeyError("add takes either amount or up_to", where="add", mend=f"Give {says}")
    return None


def _reading(raw: Mapping[str, Any], fields: dict[str, Any], faults: list[InkhornError]) -> None:
    """Read what, value, sd and water of a reading: their form hangs on what was read of which thing."""
    subject, what = fields.get("of"), fields.get("what")
    if subject is None or what is None or "value" not in fields:
        return
    try:
        fields["what"], form = read_form(subject, what, "reading what")
        instrument = fields.get("with_", "")
        sd = fields.get("sd")
        fields["value"] = read_value(
            fields["what"], form, fields["value"], sd=sd, instrument=instrument, where="reading value"
        )
        if sd is not None and form.sort == "channels":
            fields["sd"] = read_channel_sd(sd, form.channels, "reading sd")
        elif sd is not None and form.sort != "quantity":
            raise UnknownKeyError(f"{fields['what']} takes no sd", where="reading sd")
        if "against" in fields and not form.against:
            raise UnknownKeyError(
                f"{fields['what']} is not held against an exemplar",
                where="reading against",
                mend="Leave it out",
            )
        if "water" in fields:
            if not form.water:
                raise UnknownKeyError(f"{fields['what']} takes no figure for water", where="reading water")
            fields["water"] = read_amount(
                fields["what"], form, raw["water"], instrument=instrument, where="reading water"
            )
            if fields["water"].dimension != fields["value"].dimension:
                raise UnknownKeyError("water is to be measured as the ink was", where="reading water")
    except EntryErrors as error:
        faults += error.faults
    except EntryError as error:
        faults.append(error)


def _replacement(raw: Mapping[str, Any], fields: dict[str, Any], faults: list[InkhornError]) -> None:
    given = raw["replacement"]
    try:
        fields["replacement"] = decode(given)
    except EntryErrors as error:
        faults += error.faults
        return
    if isinstance(fields["replacement"], Amend | Void):
        faults.append(
            EntryError("a replacement is an entry of its own, no amendment", where="amend replacement")
        )


def encode(entry: Entry, *, at: bool = True) -> dict[str, Any]:
    """Write one entry as JSON.

    Parameters
    ----------
    entry : Entry
        Any kind.
    at : bool
        Whether to write the time; an action that is only advised has none yet.
    """
    kind = KINDS[entry.kind]
    out: dict[str, Any] = {"at": _at(entry.at)} if at else {}
    out["kind"] = entry.kind
    own = [key for key in kind.all_keys.values() if key.name not in ("at", "who", "note", "picture")]
    tail = [kind.all_keys[name] for name in ("who", "note", "picture")]
    for key in (*own, *tail):
        value = getattr(entry, key.field)
        if value is not None:
            out[key.name] = _plain(value)
    return out


def _at(at: datetime) -> str:
    whole = at.second == 0 and at.microsecond == 0
    return at.isoformat(timespec="minutes" if whole else "auto")


def _plain(value: Any) -> Any:
    if isinstance(value, Quantity):
        return value.text
    if isinstance(value, Entry):
        return encode(value)
    return dict(value) if isinstance(value, dict) else value


def as_mapping(entry: str | Mapping[str, Any]) -> dict[str, Any]:
    """Return an entry as it is written, from a mapping or from JSON text."""
    if isinstance(entry, Mapping):
        return dict(entry)
    try:
        parsed = json.loads(entry) if isinstance(entry, str) else None
    except json.JSONDecodeError:
        parsed = None
    if not isinstance(parsed, dict):
        raise EntryError(
            "this is not an entry: sentences are not understood yet",
            mend='Give it as JSON, for instance {"kind": "add", "into": "pot", "lot": "gum", "amount": "20 g"}',
        )
    return parsed
