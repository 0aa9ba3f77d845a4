"""A workshop on disk: a folder with ``workshop.sqlite`` and ``pictures/``."""

from __future__ import annotations

import json
import os
import threading
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, Self

import attrs
import sqlalchemy as sa

from inkhorn.daybook.arriving import stem
from inkhorn.daybook.book import Recorded
from inkhorn.daybook.entries import SCHEMA, Entry
from inkhorn.daybook.pictures import Kept, Pictures, named_in
from inkhorn.daybook.store.base import Allow, as_text, now
from inkhorn.daybook.store.engine import connect, keep_a_log, newest, reading, revision_of, upgrade, writing
from inkhorn.daybook.store.tables import arrivals, derived, entries, entry_pictures, pictures
from inkhorn.daybook.wire import decode
from inkhorn.errors import EntryError, StoreError

FILE = "workshop.sqlite"
PICTURES = "pictures"


class DaybookStore:
    """The daybook, pictures and derived figures of one workshop folder.

    Parameters
    ----------
    path : path-like
        The folder of a workshop that is already there; see `create`.

    Raises
    ------
    StoreError
        No workshop there, a damaged file, or one from a newer inkhorn.
    """

    def __init__(self, path: str | os.PathLike[str]) -> None:
        self.folder = Path(path)
        self.pictures = Pictures(self.folder / PICTURES)
        self._file = self.folder / FILE
        self._where = str(self._file)
        if not self._file.is_file():
            raise StoreError(
                "there is no workshop here",
                where=str(self.folder),
                mend="Make one with inkhorn new, or check the path",
            )
        self._engine = connect(self._file)
        self._lines: list[Recorded] = []  # what was read once stays as it is: the book is append-only
        self._lock = threading.Lock()
        try:
            self._lift()
        except BaseException:
            self.close()
            raise

    @classmethod
    def create(cls, path: str | os.PathLike[str]) -> Self:
        """Make an empty workshop in a folder, which may be there already; raise `StoreError` if it holds one."""
        folder = Path(path)
        file = folder / FILE
        if file.exists():
            raise StoreError(
                "there is already a workshop here", where=str(folder), mend="Open it, or choose another"
            )
        try:
            folder.mkdir(parents=True, exist_ok=True)
            (folder / PICTURES).mkdir(exist_ok=True)
        except OSError as error:
            raise StoreError(
                f"the folder cannot be made ({error.strerror})",
                where=str(folder),
                mend="Choose another place",
            ) from error
        # Made whole beside its place and then renamed: a crash leaves a workshop or none.
        beside = folder / f".{FILE}-{os.getpid()}"
        engine = connect(beside)
        try:
            with writing(engine, str(file)) as connection:
                upgrade(connection)
            engine.dispose()
            beside.rename(file)
        finally:
            engine.dispose()
            beside.unlink(missing_ok=True)
        engine = connect(file)
        keep_a_log(engine, str(file))
        engine.dispose()
        return cls(folder)

    def _lift(self) -> None:
        """Check that the file is a workshop, and bring it to the newest tables."""
        with reading(self._engine, self._where) as connection:
            revision = revision_of(connection, self._where)
        if revision != newest():
            with writing(self._engine, self._where) as connection:
                upgrade(connection)

    def close(self) -> None:
        """Let go of the file."""
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # ------------------------------------------------------------ the daybook

    def append(
        self, raw: Mapping[str, Any] | str, entry: Entry, *, allow: Allow | None = None, key: str = ""
    ) -> int:
        """Record one entry in one transaction and return its number; see `base.Store.append`."""
        text = as_text(raw)
        named = named_in(json.loads(text))
        with writing(self._engine, self._where) as connection:
            earlier = self._arrived(connection, key)
            if earlier is not None:
                return earlier
            if allow is not None:
                allow(self._read(connection))
            number = 1 + (connection.scalar(sa.select(sa.func.max(entries.c.number))) or 0)
            connection.execute(
                entries.insert().values(
                    number=number,
                    schema=SCHEMA,
                    kind=entry.kind,
                    at=entry.at.isoformat(),
                    raw=text,
                    recorded_at=now().isoformat(),
                )
            )
            self._link(connection, number, named)
            if key:
                connection.execute(arrivals.insert().values(key=key, number=number))
        return number

    def arrived(self, key: str) -> int | None:
        """Return the number of the entry that was sent under a key, or None."""
        with reading(self._engine, self._where) as connection:
            return self._arrived(connection, key)

    @staticmethod
    def _arrived(connection: sa.Connection, key: str) -> int | None:
        if not key:
            return None
        return connection.scalar(sa.select(arrivals.c.number).where(arrivals.c.key == key))

    def sent_with(self, number: int) -> tuple[int, ...]:
        """Return the numbers of the entries that were sent in one go with one; () where it was alone."""
        with reading(self._engine, self._where) as connection:
            key = connection.scalar(sa.select(arrivals.c.key).where(arrivals.c.number == number))
            begins = stem(key or "")
            if not begins:
                return ()
            sent = sa.select(arrivals.c.number, arrivals.c.key).where(
                arrivals.c.key.startswith(begins, autoescape=True)
            )
            found = sorted(row.number for row in connection.execute(sent) if stem(row.key) == begins)
        return tuple(found) if len(found) > 1 else ()

    def _link(self, connection: sa.Connection, number: int, named: tuple[str, ...]) -> None:
        for hash_ in named:
            if connection.scalar(sa.select(pictures.c.hash).where(pictures.c.hash == hash_)) is None:
                raise StoreError(
                    f"the picture {hash_[:19]}... was never kept here",
                    where=self._where,
                    mend="Give its file",
                )
            connection.execute(entry_pictures.insert().values(number=number, hash=hash_))

    def recorded(self) -> tuple[Recorded, ...]:
        """Return the whole book in the order of recording."""
        with reading(self._engine, self._where) as connection:
            return self._read(connection)

    def _read(self, connection: sa.Connection) -> tuple[Recorded, ...]:
        with self._lock:
            query = sa.select(entries).where(entries.c.number > len(self._lines)).order_by(entries.c.number)
            fresh = [_line(row) for row in connection.execute(query)]
            self._lines += fresh
            return tuple(self._lines)

    # ------------------------------------------------------------ pictures

    def keep(self, picture: str | os.PathLike[str] | bytes, *, name: str = "") -> str:
        """Keep a picture and return its name by content, ``"sha256:..."``."""
        kept = self.pictures.keep(picture, name=name)
        with writing(self._engine, self._where) as connection:
            if self._picture(connection, kept.hash) is None:
                values = {**attrs.asdict(kept), "kept_at": now().isoformat()}
                connection.execute(pictures.insert().values(**values))
        return kept.hash

    def picture(self, hash_: str) -> Kept:
        """Return what is known of a kept picture: its first name, media type and size."""
        with reading(self._engine, self._where) as connection:
            kept = self._picture(connection, hash_)
        if kept is None:
            raise StoreError(f"no picture {hash_!r} was kept", where=self._where)
        return kept

    @staticmethod
    def _picture(connection: sa.Connection, hash_: str) -> Kept | None:
        row = connection.execute(sa.select(pictures).where(pictures.c.hash == hash_)).first()
        if row is None:
            return None
        return Kept(hash=row.hash, name=row.name, media_type=row.media_type, size=row.size)

    def path_of(self, hash_: str) -> Path:
        """Return where a kept picture lies."""
        return self.pictures.path_of(hash_)

    # ------------------------------------------------------------ what was worked out

    def remember(self, key: str, value: Any) -> None:
        """Keep something worked out, JSON or bytes, under a key; a former value is replaced."""
        form = "bytes" if isinstance(value, bytes) else "json"
        body = value if isinstance(value, bytes) else json.dumps(value, ensure_ascii=False).encode()
        with writing(self._engine, self._where) as connection:
            connection.execute(derived.delete().where(derived.c.key == key))
            connection.execute(
                derived.insert().values(key=key, form=form, body=body, made_at=now().isoformat())
            )

    def recall(self, key: str) -> Any:
        """Return what was kept under a key, or None."""
        with reading(self._engine, self._where) as connection:
            row = connection.execute(sa.select(derived).where(derived.c.key == key)).first()
        if row is None:
            return None
        return row.body if row.form == "bytes" else json.loads(row.body)

    def forget(self, prefix: str = "") -> int:
        """Drop what was kept under keys with this beginning; return how many."""
        with writing(self._engine, self._where) as connection:
            chosen = derived.c.key.startswith(prefix, autoescape=True)
            return connection.execute(derived.delete().where(chosen)).rowcount


def _line(row: Any) -> Recorded:
    raw = json.loads(row.raw)
    try:
        entry = decode(raw, version=row.schema)
    except EntryError as error:
        raise StoreError(
            f"entry {row.number} can no longer be read: {error.sentence()}",
            mend="It was written by another version of inkhorn; update inkhorn",
        ) from error
    # A time with an offset was understood where it was recorded, not where the book is read.
    entry = attrs.evolve(entry, at=datetime.fromisoformat(row.at))
    return Recorded(
        number=row.number, entry=entry, raw=raw, recorded_at=datetime.fromisoformat(row.recorded_at)
    )
