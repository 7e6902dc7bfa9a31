"""Faults for real: killed while writing, a full disk, a folder that cannot be written, two writers, damaged files."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from sayso.casebook import CasebookError, open_casebook
from sayso.casebook.store import APPLICATION, VERSION
from tests.casebook.sample import LEXICON, audit, book

posix = pytest.mark.skipif(os.name != "posix", reason="needs POSIX signals and limits")

WRITER = """
import sys
from sayso.casebook import open_casebook
from sayso.lexicon import load_lexicon
with open_casebook(sys.argv[1]) as b:
    for n in range(int(sys.argv[2])):
        b.note(1, f"{sys.argv[3]} {n} " + "x" * 20_000, keep_contacts=True)
        print(n, flush=True)
"""


def _begin(path: Path) -> None:
    with book(path) as b:
        b.save_audit(audit(), lexicon=LEXICON)
        b.note(1, "before", lexicon=LEXICON)


def _writer(path: Path, count: int, name: str, **more: object) -> subprocess.Popen[str]:
    command = [sys.executable, "-c", WRITER, str(path), str(count), name]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **more)  # type: ignore[call-overload, no-any-return]


@posix
@pytest.mark.parametrize("delay", [0.0, 0.003, 0.011, 0.023, 0.05])
def test_killed_while_writing_nothing_stored_is_lost(tmp_path: Path, delay: float) -> None:
    path = tmp_path / "b.sqlite"
    _begin(path)
    child = _writer(path, 10_000, "killed")
    assert child.stdout is not None
    said = [child.stdout.readline()]
    time.sleep(delay)
    child.send_signal(signal.SIGKILL)
    rest, _ = child.communicate()
    said += rest.splitlines()
    with book(path) as b:
        notes = [e.body["text"] for e in b.load_case(1).of("note")]
        assert notes[0] == "before"
        # What was reported as stored is stored, whole and in order; at most one more was on its way.
        stored = [int(n.split()[1]) for n in notes[1:]]
        assert stored == list(range(len(stored)))
        assert len([x for x in said if x.strip()]) <= len(stored) <= len(said) + 1
        b.note(1, "after", lexicon=LEXICON)
        assert b.load_case(1).of("note")[-1].body["text"] == "after"


def _limited(path: Path, size: int) -> subprocess.CompletedProcess[str]:
    """A writer that may make files no larger than `size` bytes: what it meets is a full disk."""
    import resource

    def limit() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))

    child = _writer(path, 100, "full", preexec_fn=limit)
    out, err = child.communicate(timeout=60)
    return subprocess.CompletedProcess(child.args, child.returncode, out, err)


@posix
def test_no_room_left_keeps_what_was_there_and_says_so(tmp_path: Path) -> None:
    path = tmp_path / "b.sqlite"
    _begin(path)
    done = _limited(path, path.stat().st_size + 50_000)
    assert done.returncode != 0
    assert "nothing was stored, what was there is unharmed" in done.stderr
    with book(path) as b:
        notes = b.load_case(1).of("note")
        assert notes[0].body["text"] == "before"
        assert len(notes) == 1 + len(done.stdout.split())


@posix
@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root can mount a small file system")
def test_a_file_system_that_is_really_full(tmp_path: Path) -> None:
    mount = tmp_path / "small"
    mount.mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=300k", "tmpfs", str(mount)], capture_output=True).returncode:
        pytest.skip("no file system can be mounted here")
    try:
        path = mount / "b.sqlite"
        _begin(path)
        child = _writer(path, 100, "full")
        out, err = child.communicate(timeout=60)
        assert child.returncode != 0
        assert "unharmed" in err
        with book(path) as b:
            assert len(b.load_case(1).of("note")) == 1 + len(out.split())
    finally:
        subprocess.run(["umount", str(mount)], check=False)


def _unprivileged(work: Callable[[], list[str]]) -> list[str]:
    """What `work` gives in a process without the rights of root, for whom no folder is read-only."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:  # pragma: no cover (another process)
        try:
            if os.geteuid() == 0:
                os.setgid(65534)
                os.setuid(65534)
            os.write(write, "\n".join(work()).encode())
        finally:
            os._exit(0)
    os.close(write)
    with os.fdopen(read) as out:
        said = out.read()
    os.waitpid(child, 0)
    return said.split("\n")


@posix
def test_a_folder_that_cannot_be_written_can_still_be_read() -> None:
    folder = Path(tempfile.mkdtemp(prefix="sayso-read-only-"))  # pytest's own folders are closed to other users
    path = folder / "b.sqlite"
    _begin(path)
    path.chmod(0o444)
    folder.chmod(0o555)

    def work() -> list[str]:
        with open_casebook(path) as b:
            said = [b.cases()[0].name]
            try:
                b.note(1, "x", keep_contacts=True)
            except CasebookError as error:
                said.append(str(error))
        try:
            open_casebook(folder / "new.sqlite")
        except CasebookError as error:
            said.append(str(error))
        return said

    try:
        name, cannot, new = _unprivileged(work)
    finally:
        folder.chmod(0o755)
        path.unlink()
        folder.rmdir()
    assert name == audit().listing.title
    assert "make the file and its folder writable" in cannot
    assert "cannot be created" in new
    assert "--casebook" in new


def test_two_writers_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "b.sqlite"
    _begin(path)
    children = [_writer(path, 25, name) for name in ("one", "two")]
    for child in children:
        _, err = child.communicate(timeout=120)
        assert child.returncode == 0, err
    with book(path) as b:
        notes = [e.body["text"].split()[:2] for e in b.load_case(1).of("note")[1:]]
    for name in ("one", "two"):
        assert [n for who, n in notes if who == name] == [str(n) for n in range(25)]


def test_a_writer_that_holds_on_is_waited_for_and_then_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "b.sqlite"
    _begin(path)
    monkeypatch.setattr("sayso.casebook.store.WAIT", 0.2)
    holder = sqlite3.connect(path, isolation_level=None)
    holder.execute("BEGIN EXCLUSIVE")
    with pytest.raises(CasebookError, match="another process"):
        book(path)
    holder.execute("ROLLBACK")
    book(path).close()


@pytest.mark.parametrize("damage", ["head", "middle", "text", "cut"])
def test_a_damaged_file_is_left_as_it_is(tmp_path: Path, damage: str) -> None:
    path = tmp_path / "b.sqlite"
    _begin(path)
    with book(path) as b:
        for n in range(30):
            b.note(1, f"{n} " + "y" * 3_000, lexicon=LEXICON)
    data = bytearray(path.read_bytes())
    if damage == "head":
        data[:100] = b"\xff" * 100
    elif damage == "middle":
        data[4096:20480] = b"\xa5" * 16384
    elif damage == "text":
        data = bytearray(b"this is no database at all, and long enough to be read as one " * 100)
    else:
        data = data[: len(data) // 2]
    path.write_bytes(data)
    with pytest.raises(CasebookError, match="damaged or no casebook") as told:
        book(path)
    assert "sayso cases import" in str(told.value)
    assert path.read_bytes() == bytes(data)


def test_a_newer_form_is_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "b.sqlite"
    _begin(path)
    db = sqlite3.connect(path)
    db.execute(f"PRAGMA user_version = {VERSION + 1}")
    db.close()
    data = path.read_bytes()
    with pytest.raises(CasebookError, match="newer sayso"):
        book(path)
    assert path.read_bytes() == data


def test_a_database_of_another_program_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "b.sqlite"
    db = sqlite3.connect(path)
    db.execute("CREATE TABLE theirs (x)")
    db.close()
    with pytest.raises(CasebookError, match="another program"):
        book(path)
    assert sqlite3.connect(path).execute("PRAGMA application_id").fetchone() != (APPLICATION,)


def test_a_folder_in_place_of_the_file(tmp_path: Path) -> None:
    with pytest.raises(CasebookError, match="is a folder"):
        open_casebook(tmp_path)
