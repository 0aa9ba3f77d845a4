"""The store on disk keeps the contract, survives crashes, and knows a file that is not its own."""

from __future__ import annotations

import contextlib
import json
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from inkhorn.daybook.check import check
from inkhorn.daybook.store.engine import newest
from inkhorn.daybook.store.lift import revisions
from inkhorn.daybook.store.sqlite import FILE, DaybookStore
from inkhorn.daybook.store.tables import APPLICATION_ID, REVISIONS, metadata
from inkhorn.daybook.wire import decode
from inkhorn.errors import EntryError, InkhornError, PictureError, StoreError
from support.store_contract import StoreContract, remark

PNG = b"\x89PNG\r\n\x1a\n" + b"an invented picture"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return where a workshop may be made."""
    return tmp_path / "saltmere"


@pytest.fixture
def store(folder: Path) -> Iterator[DaybookStore]:
    """Return a new workshop's store."""
    with DaybookStore.create(folder) as made:
        yield made


class TestSqliteStore(StoreContract):
    """The contract, on a file."""

    @pytest.fixture
    def store(self, folder: Path) -> Iterator[DaybookStore]:
        """Return an empty store."""
        with DaybookStore.create(folder) as made:
            yield made


@contextlib.contextmanager
def bare(folder: Path) -> Iterator[sqlite3.Connection]:
    """Open the file with the driver alone; commit and close."""
    with contextlib.closing(sqlite3.connect(folder / FILE)) as connection, connection:
        yield connection


def open_files() -> int:
    """Return how many files this process holds open, nought where the system does not say."""
    place = Path("/proc/self/fd")
    return len(list(place.iterdir())) if place.exists() else 0


def count(folder: Path) -> int:
    """Return how many entries a workshop holds."""
    with bare(folder) as connection:
        return int(connection.execute("SELECT count(*) FROM entries").fetchone()[0])


class TestFile:
    """What the file is, for anybody who opens it."""

    def test_layout(self, store: DaybookStore, folder: Path) -> None:
        """A workshop is a folder with workshop.sqlite and pictures, and nothing left over."""
        names = {path.name for path in folder.iterdir()}
        assert {"workshop.sqlite", "pictures"} <= names
        assert not [name for name in names if name.startswith(".")]
        assert store.folder == folder

    def test_settings(self, store: DaybookStore) -> None:
        """Write-ahead log, foreign keys on, each commit flushed to disk, our mark in the header."""
        with store._engine.connect() as connection:
            asked = {
                name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
                for name in ("journal_mode", "foreign_keys", "synchronous", "application_id")
            }
        assert asked == {
            "journal_mode": "wal", "foreign_keys": 1, "synchronous": 2, "application_id": APPLICATION_ID,
        }  # fmt: skip

    def test_migrations_make_the_tables(self, store: DaybookStore) -> None:
        """The migrations lead to the tables that the program believes in, and to the newest revision."""
        with store._engine.connect() as connection:
            context = MigrationContext.configure(connection, opts={"compare_type": True})
            assert context.get_current_revision() == newest()
            assert compare_metadata(context, metadata) == []

    def test_every_migration_is_known_by_name(self) -> None:
        """The list that an opened file is held against names the migrations there are, in their order."""
        assert revisions() == REVISIONS

    def test_nothing_is_changed_or_taken_out(self, store: DaybookStore, folder: Path) -> None:
        """The file itself refuses to change or delete an entry."""
        store.append(remark("x"), decode(remark("x")))
        with bare(folder) as connection:
            for statement in ("UPDATE entries SET raw = ''", "DELETE FROM entries"):
                with pytest.raises(sqlite3.IntegrityError, match="append-only"):
                    connection.execute(statement)

    def test_numbers_are_unique(self, store: DaybookStore, folder: Path) -> None:
        """Two entries with one number cannot be in the file."""
        store.append(remark("x"), decode(remark("x")))
        with bare(folder) as connection, pytest.raises(sqlite3.IntegrityError):
            connection.execute("INSERT INTO entries SELECT * FROM entries")

    def test_the_json_is_kept_to_the_letter(self, store: DaybookStore, folder: Path) -> None:
        """The file holds the very text that was given, and its schema version."""
        text = '{"kind": "remark",   "text": "x", "at": "2026-09-12T10:15"}'
        store.append(text, decode(json.loads(text)))
        with bare(folder) as connection:
            assert connection.execute("SELECT raw, schema FROM entries").fetchone() == (text, 1)

    def test_opened_again(self, store: DaybookStore, folder: Path) -> None:
        """What was recorded is there when the workshop is opened again."""
        for i in range(3):
            store.append(remark(str(i)), decode(remark(str(i))))
        before = store.recorded()
        store.close()
        with DaybookStore(folder) as again:
            assert again.recorded() == before
            assert again.append(remark("x"), decode(remark("x"))) == 4

    def test_a_second_opening_sees_what_the_first_records(self, store: DaybookStore, folder: Path) -> None:
        """Two open stores of one workshop see each other's entries."""
        with DaybookStore(folder) as other:
            store.append(remark("x"), decode(remark("x")))
            assert len(other.recorded()) == 1
            other.append(remark("y"), decode(remark("y")))
        assert len(store.recorded()) == 2

    def test_a_time_with_an_offset_stays_as_it_was_understood(
        self, store: DaybookStore, folder: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Reading the book in another time zone moves nothing."""
        raw = {**remark("x"), "at": "2026-09-12T10:15+05:30"}
        store.append(raw, decode(raw))
        at = store.recorded()[0].entry.at
        monkeypatch.setenv("TZ", "Pacific/Auckland")
        time.tzset()
        try:
            with DaybookStore(folder) as again:
                assert again.recorded()[0].entry.at == at
        finally:
            monkeypatch.undo()
            time.tzset()

    def test_nothing_is_left_open(self, folder: Path) -> None:
        """Opening and closing many times leaves no file open."""
        DaybookStore.create(folder).close()
        before = open_files()
        for _ in range(30):
            with DaybookStore(folder) as again:
                again.recorded()
        assert open_files() <= before


class TestNotAWorkshop:
    """A folder or file that is none is told so, and left as it was."""

    def test_no_folder(self, tmp_path: Path) -> None:
        """An empty path is no workshop."""
        with pytest.raises(StoreError, match="no workshop here") as caught:
            DaybookStore(tmp_path / "nowhere")
        assert caught.value.mend

    @pytest.mark.parametrize(
        "content", [b"not a database at all" * 100, b"", b"SQLite format 3\x00" + b"\x00" * 500]
    )
    def test_another_kind_of_file(self, tmp_path: Path, content: bytes) -> None:
        """A file that is no database, an empty one or a damaged one is refused and not touched."""
        (tmp_path / FILE).write_bytes(content)
        with pytest.raises(StoreError) as caught:
            DaybookStore(tmp_path)
        assert caught.value.mend
        assert (tmp_path / FILE).read_bytes() == content

    def test_another_programs_database(self, tmp_path: Path) -> None:
        """A database of something else is refused and not touched."""
        with bare(tmp_path) as connection:
            connection.execute("CREATE TABLE entries (a)")
        before = (tmp_path / FILE).read_bytes()
        with pytest.raises(StoreError, match="no workshop"):
            DaybookStore(tmp_path)
        assert (tmp_path / FILE).read_bytes() == before

    def test_a_newer_workshop(self, store: DaybookStore, folder: Path) -> None:
        """Tables of a newer inkhorn are refused, saying to update."""
        store.close()
        with bare(folder) as connection:
            connection.execute("UPDATE alembic_version SET version_num = '9999'")
        with pytest.raises(StoreError, match="newer inkhorn") as caught:
            DaybookStore(folder)
        assert "Update" in caught.value.mend

    def test_an_entry_of_a_newer_schema(self, store: DaybookStore, folder: Path) -> None:
        """An entry whose shape is from the future is refused, saying to update."""
        with bare(folder) as connection:
            connection.execute(
                "INSERT INTO entries VALUES (1, 99, 'remark', '2026-09-12T10:15', '{}', '2026-09-12T10:15+00:00')"
            )
        with pytest.raises(StoreError, match="entry 1 can no longer be read"):
            store.recorded()

    def test_made_twice(self, store: DaybookStore, folder: Path) -> None:
        """A workshop is never made over another."""
        store.append(remark("x"), decode(remark("x")))
        with pytest.raises(StoreError, match="already a workshop"):
            DaybookStore.create(folder)
        assert count(folder) == 1

    def test_a_folder_that_cannot_be_made(self, tmp_path: Path) -> None:
        """Where a file is in the way, no folder can be made."""
        (tmp_path / "file").write_text("x")
        with pytest.raises(StoreError, match="cannot be made"):
            DaybookStore.create(tmp_path / "file" / "w")

    def test_a_writer_that_never_ends(
        self, store: DaybookStore, folder: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Where another program holds the file, the error says to wait."""
        monkeypatch.setattr("inkhorn.daybook.store.engine._PATIENCE", 50)
        other = sqlite3.connect(folder / FILE, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with (
            DaybookStore(folder) as impatient,
            pytest.raises(StoreError, match="another program is writing") as caught,
        ):
            impatient.append(remark("x"), decode(remark("x")))
        assert "Wait" in caught.value.mend
        other.execute("ROLLBACK")
        other.close()
        assert store.append(remark("x"), decode(remark("x"))) == 1


_WRITER = """
import sys
from inkhorn.daybook.store.sqlite import DaybookStore
from inkhorn.daybook.wire import decode
raw = {"at": "2026-09-12T10:15", "kind": "remark", "text": "x" * 3000}
with DaybookStore(sys.argv[1]) as store:
    print("ready", flush=True)
    for _ in range(int(sys.argv[2])):
        print(store.append(raw, decode(raw)), flush=True)
"""
_HALF = """
import os, sys, signal
import sqlalchemy as sa
from inkhorn.daybook.store.sqlite import DaybookStore
from inkhorn.daybook.wire import decode
hash_ = sys.argv[2]
raw = {"at": "2026-09-12T10:15", "kind": "remark", "text": "x", "picture": hash_}
store = DaybookStore(sys.argv[1])
@sa.event.listens_for(store._engine, "before_cursor_execute")
def stop(conn, cursor, statement, *rest):
    if "entry_pictures" in statement and statement.startswith("INSERT"):
        os.kill(os.getpid(), signal.SIGKILL)  # the entry is in, its picture is not yet linked
store.append(raw, decode(raw))
"""


def writer(folder: Path, entries: int) -> subprocess.Popen[str]:
    """Start a process that records entries and prints each number when it is kept."""
    return subprocess.Popen(
        [sys.executable, "-c", _WRITER, str(folder), str(entries)], stdout=subprocess.PIPE, text=True
    )


class TestCrashes:
    """Whatever happens in the middle, the file holds the old or the new, never half."""

    def test_two_processes_get_numbers_of_their_own(self, store: DaybookStore, folder: Path) -> None:
        """Two processes that record at once share no number and leave no gap."""
        running = [writer(folder, 40) for _ in range(2)]
        numbers = [int(n) for run in running for n in run.communicate()[0].split()[1:]]
        assert [run.returncode for run in running] == [0, 0]
        assert sorted(numbers) == list(range(1, 81))
        assert [line.number for line in store.recorded()] == list(range(1, 81))

    @pytest.mark.parametrize("after", [0, 7, 23])
    def test_killed_while_writing(self, store: DaybookStore, folder: Path, after: int) -> None:
        """Everything that was said to be kept is there after a kill, whole, and writing goes on."""
        told = 0
        with writer(folder, 10**6) as run:
            assert run.stdout is not None
            for line in run.stdout:
                told = int(line) if line.strip() != "ready" else 0
                if told >= after:
                    break
            run.send_signal(signal.SIGKILL)
            told = max([told, *(int(line) for line in run.stdout if line.strip().isdigit())])
        lines = store.recorded()
        assert len(lines) in (told, told + 1)
        assert [line.number for line in lines] == list(range(1, len(lines) + 1))
        assert all(len(line.entry.text) == 3000 for line in lines)
        assert store.append(remark("x"), decode(remark("x"))) == len(lines) + 1

    def test_killed_between_two_tables(self, store: DaybookStore, folder: Path) -> None:
        """An entry whose picture was not linked yet is not there at all."""
        kept = store.keep(PNG, name="line.png")
        run = subprocess.run([sys.executable, "-c", _HALF, str(folder), kept], check=False)
        assert run.returncode == -signal.SIGKILL
        assert store.recorded() == ()
        raw = {**remark("x"), "picture": kept}
        assert store.append(raw, decode(raw)) == 1

    def test_a_creation_that_fails_leaves_no_workshop(
        self, folder: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Where making the tables fails, no file is left that looks like a workshop, and one can be made."""

        def fail(_connection: sa.Connection) -> None:
            raise StoreError("stopped")

        with monkeypatch.context() as patch:
            patch.setattr("inkhorn.daybook.store.sqlite.upgrade", fail)
            with pytest.raises(StoreError, match="stopped"):
                DaybookStore.create(folder)
        assert [path.name for path in folder.iterdir()] == ["pictures"]
        DaybookStore.create(folder).close()


class TestChecked:
    """The daybook's check, made inside the writing transaction."""

    def test_two_stores_cannot_both_use_the_last_of_a_lot(self, store: DaybookStore, folder: Path) -> None:
        """The second of two stores sees what the first has taken, and is refused."""
        gather = {
            "at": "2026-09-01T10:00",
            "kind": "gather",
            "lot": "gum",
            "material": "plum gum",
            "amount": "50 g",
        }
        use = {"at": "2026-09-02T10:00", "kind": "add", "into": "jar", "lot": "gum", "amount": "40 g"}
        later = {**use, "at": "2026-09-02T11:00"}
        with DaybookStore(folder) as other:
            store.append(gather, decode(gather), allow=lambda book: check(decode(gather), book))
            assert len(other.recorded()) == 1
            store.append(use, decode(use), allow=lambda book: check(decode(use), book))
            with pytest.raises(EntryError, match="can be left of gum"):
                other.append(later, decode(later), allow=lambda book: check(decode(later), book))
        assert count(folder) == 2


class TestPictures:
    """Pictures in the folder, what is known of them in the file."""

    def test_kept_and_found(self, store: DaybookStore, folder: Path, tmp_path: Path) -> None:
        """A picture is found by its content, with the name and type it came with; twice is once."""
        (tmp_path / "line.png").write_bytes(PNG)
        name = store.keep(tmp_path / "line.png")
        assert store.path_of(name).read_bytes() == PNG
        assert (store.picture(name).name, store.picture(name).media_type) == ("line.png", "image/png")
        assert store.keep(PNG, name="again.png") == name
        assert store.picture(name).name == "line.png"
        assert len([path for path in (folder / "pictures").rglob("*") if path.is_file()]) == 1

    def test_an_entry_names_only_kept_pictures(self, store: DaybookStore) -> None:
        """An entry that names a picture nobody kept is refused; nothing is recorded."""
        raw = {**remark("x"), "picture": "sha256:" + "0" * 64}
        with pytest.raises(StoreError, match="never kept"):
            store.append(raw, decode(raw))
        assert store.recorded() == ()

    def test_unknown(self, store: DaybookStore) -> None:
        """A picture that is not there is our own error."""
        for ask in (store.picture, store.path_of):
            with pytest.raises(InkhornError):
                ask("sha256:" + "0" * 64)
        with pytest.raises(PictureError):
            store.path_of("../../etc/passwd")
