"""The file under the casebook: opening, versions, transactions, and faults in plain words.

The rollback journal is used rather than WAL: a casebook is written a few times a day by one person, so readers and
writers seldom meet and then wait for each other; in return it is one file that can be copied, synchronised and read
from a read-only folder or a network drive, none of which WAL allows. Every write is one transaction that is on the disk
before the command says so.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

APPLICATION = 0x5341_5953  # 'SAYS': tells a casebook from other programs' databases
WAIT = 10.0
"""Seconds to wait for another process that is writing."""
CHECKED = 32_000_000
"""Files up to so many bytes are checked for damage when opened."""

MIGRATIONS: tuple[str, ...] = (
    # 1: cases, and what happened in each, in order
    """
    CREATE TABLE cases (
        id INTEGER PRIMARY KEY,
        uid TEXT NOT NULL UNIQUE,
        name TEXT NOT NULL,
        opened TEXT NOT NULL
    ) STRICT;
    CREATE TABLE events (
        id INTEGER PRIMARY KEY,
        case_id INTEGER NOT NULL REFERENCES cases(id) ON DELETE CASCADE,
        at TEXT NOT NULL,
        kind TEXT NOT NULL,
        body TEXT NOT NULL
    ) STRICT;
    CREATE INDEX events_of_case ON events(case_id, id);
    """,
    # 2: the place of an event within its case, so that an export read back keeps the order whatever ids are free
    """
    ALTER TABLE events ADD COLUMN place INTEGER NOT NULL DEFAULT 0;
    UPDATE events SET place = (SELECT count(*) FROM events e WHERE e.case_id = events.case_id AND e.id <= events.id);
    CREATE UNIQUE INDEX place_of_event ON events(case_id, place);
    """,
)
VERSION = len(MIGRATIONS)


class CasebookError(Exception):
    """The casebook cannot be used as asked; one line for the user, saying what to do."""


def usual_path(path: Path | str | None = None) -> Path:
    """Where the casebook lies: as given, else SAYSO_CASEBOOK, else the platform's data folder."""
    named = path or os.environ.get("SAYSO_CASEBOOK")
    if named:
        return Path(named).expanduser()
    import platformdirs

    return platformdirs.user_data_path("sayso") / "casebook.sqlite"


class Store:
    """One open casebook file."""

    def __init__(self, path: Path, *, create: bool = True) -> None:
        self.path = path
        with self._plain():
            self._db = self._open(create)
            try:
                self._prepare()
            except BaseException:
                self._db.close()
                raise

    def close(self) -> None:
        """Closes the file; everything written is already on the disk."""
        self._db.close()

    # --- opening ---------------------------------------------------------------------------------------------------
    def _open(self, create: bool) -> sqlite3.Connection:
        path = self.path
        if path.is_dir():
            raise CasebookError(f"{path} is a folder; name a file, such as {path / 'casebook.sqlite'}")
        if not path.exists():
            if not create:
                raise CasebookError(f"there is no casebook at {path}; `sayso audit … --save` begins one")
            try:
                path.parent.mkdir(parents=True, exist_ok=True)
                # What sellers wrote is nobody else's business: readable by the owner alone.
                os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
            except OSError as error:
                raise CasebookError(
                    f"the casebook {path} cannot be created ({error.strerror}); name another place with --casebook"
                ) from None
        self.writable = os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)
        mode = "rw" if self.writable else "ro"
        return sqlite3.connect(f"{path.absolute().as_uri()}?mode={mode}", uri=True, timeout=WAIT, isolation_level=None)

    def _prepare(self) -> None:
        db = self._db
        db.execute("PRAGMA foreign_keys = ON")
        db.execute("PRAGMA trusted_schema = OFF")
        db.execute("PRAGMA synchronous = EXTRA")
        db.execute("PRAGMA secure_delete = ON")  # what is deleted is gone from the file as well
        empty = db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0
        (application,) = db.execute("PRAGMA application_id").fetchone()
        (version,) = db.execute("PRAGMA user_version").fetchone()
        if not empty and application != APPLICATION:
            raise CasebookError(f"{self.path} is a database of another program; name another file with --casebook")
        if version > VERSION:
            raise CasebookError(
                f"{self.path} was written by a newer sayso (form {version}, this one knows {VERSION}); update sayso, "
                "or name another file with --casebook. Nothing was changed"
            )
        if not empty and self.path.stat().st_size <= CHECKED:
            (found,) = db.execute("PRAGMA quick_check(1)").fetchone()
            if found != "ok":
                raise sqlite3.DatabaseError(str(found))
        if version < VERSION and self.writable:
            self._migrate()
        elif version < VERSION:
            raise CasebookError(f"{self.path} is of an older form and cannot be written to be brought up to date")

    def _migrate(self) -> None:
        with self.writing():
            # Another process may have done it while this one waited.
            (version,) = self._db.execute("PRAGMA user_version").fetchone()
            for step in MIGRATIONS[version:]:
                for statement in step.split(";"):
                    if statement.strip():
                        self._db.execute(statement)
            self._db.execute(f"PRAGMA application_id = {APPLICATION}")
            self._db.execute(f"PRAGMA user_version = {VERSION}")

    # --- using -----------------------------------------------------------------------------------------------------
    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction: all of it is stored, or nothing. Raises `CasebookError`."""
        with self._plain():
            if not self.writable:
                raise CasebookError(
                    f"{self.path} cannot be written to; make the file and its folder writable, or copy it elsewhere "
                    "and name the copy with --casebook"
                )
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield self._db
                self._db.execute("COMMIT")
            except BaseException:
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")
                raise

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """One consistent view. Raises `CasebookError`."""
        with self._plain():
            self._db.execute("BEGIN")
            try:
                yield self._db
            finally:
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")

    @contextmanager
    def _plain(self) -> Iterator[None]:
        """SQLite's faults in plain words, each with what to do."""
        try:
            yield
        except sqlite3.Error as error:
            raise CasebookError(self._words(error)) from error

    def _words(self, error: sqlite3.Error) -> str:
        name, path = getattr(error, "sqlite_errorname", "") or "", self.path
        if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
            return f"{path} is being written by another process; try again when it has finished"
        if name.startswith("SQLITE_FULL"):
            return (
                f"no room is left on the disk for {path}; nothing was stored, what was there is unharmed. "
                "Make room, then repeat"
            )
        if name.startswith("SQLITE_IOERR"):
            return (
                f"{path} could not be read or written ({error}); nothing was stored, what was there is unharmed. "
                "Check the disk and how large files may grow, then repeat"
            )
        if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM")):
            return (
                f"{path} cannot be written to; make the file and its folder writable, or name another with --casebook"
            )
        if name.startswith(("SQLITE_NOTADB", "SQLITE_CORRUPT")) or not name:
            return (
                f"{path} is damaged or no casebook ({error}); it was left as it is. Put it aside, name a new file with "
                "--casebook and read your last export back with `sayso cases import`"
            )
        return f"{path}: {error}"
