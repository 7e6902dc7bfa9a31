"""What is kept of a lexicon between runs changes nothing but the time a start takes."""

from __future__ import annotations

import os
import pickle
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from sayso.engine import audit_text
from sayso.lexicon import LexiconError
from sayso.lexicon.load import Lexicon

EXAMPLES = Path(__file__).parents[2] / "examples"
OVERLAY = EXAMPLES / "sandglass.toml"
RARE = "Quibblewhit"
GERMAN = f"Erstpressung, Rille tief. Auslaufrille: Sanduhr gestempelt. {RARE} Versand. Keine Nachpressung, Cover VG+."
POSIX = pytest.mark.skipif(sys.platform == "win32", reason="owners and modes are those of POSIX")


@pytest.fixture(autouse=True)
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    folder = tmp_path / "cache"
    monkeypatch.setenv("XDG_CACHE_HOME", str(folder))
    monkeypatch.delenv("SAYSO_KEEP", raising=False)
    monkeypatch.setattr("platformdirs.user_cache_path", lambda name: folder / name)
    return folder


def texts() -> list[str]:
    listings = sorted((EXAMPLES / "listings").glob("*.txt"))
    return [GERMAN, *(p.read_text(encoding="utf-8") for p in listings[:4])]


def audits(lexicon: Lexicon) -> list[str]:
    return [audit_text(text, lexicon).model_dump_json() for text in texts()]


def filled() -> Lexicon:
    lexicon = Lexicon((OVERLAY,), keep=True)
    audits(lexicon)
    lexicon.keep()
    return lexicon


def files(cache: Path) -> list[Path]:
    return sorted(cache.rglob("*.kept"))


def test_what_is_fetched_audits_as_what_is_made(cache: Path) -> None:
    filled()
    assert {p.stem for p in files(cache)} >= {"all", "de", "en"}
    fetched = Lexicon((OVERLAY,), keep=True)
    assert audits(fetched) == audits(Lexicon((OVERLAY,)))
    before = [p.stat().st_mtime_ns for p in files(cache)]
    fetched.keep()
    assert [p.stat().st_mtime_ns for p in files(cache)] == before, "it was made again, not fetched"


def test_nothing_of_a_listing_is_kept(cache: Path) -> None:
    filled()
    for path in files(cache):
        content = path.read_bytes()
        assert RARE.encode() not in content
        assert RARE.lower().encode() not in content


def test_a_changed_file_is_read_again(cache: Path, tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    row = '[[word]]\nid = "own"\nkind = "ordinary"\nforms = ["{}"]\n'
    for form in ("quill", "quilt"):  # of the same length, written at the same time
        own.write_text(row.format(form), encoding="utf-8")
        os.utime(own, (1, 1))
        lexicon = Lexicon((own,), keep=True)
        assert (form,) in [w.forms for w in lexicon.words if w.id == "own"]
        lexicon.keep()


@pytest.mark.parametrize("damage", [b"", b"no pickle", pickle.dumps([1, 2]), b"\x80\x05csos\nsystem\n."])
def test_a_damaged_file_counts_as_absent(cache: Path, damage: bytes) -> None:
    filled()
    for path in files(cache):
        path.write_bytes(damage)
    assert audits(Lexicon((OVERLAY,), keep=True)) == audits(Lexicon((OVERLAY,)))


@POSIX
def test_what_others_may_write_is_never_opened(cache: Path, tmp_path: Path) -> None:
    filled()
    told = tmp_path / "told"

    class Evil:
        def __reduce__(self) -> tuple[object, tuple[str]]:
            return os.mkdir, (str(told),)

    for path in files(cache):
        path.write_bytes(pickle.dumps(Evil()))
        path.chmod(0o666)
    audits(Lexicon((OVERLAY,), keep=True))
    assert not told.exists()


def test_it_can_be_turned_off(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SAYSO_KEEP", "no")
    filled()
    assert not cache.exists()


@POSIX
def test_a_disk_that_cannot_be_written_is_no_fault(cache: Path) -> None:
    cache.write_text("a file where the folder should be", encoding="utf-8")
    filled()
    assert cache.is_file()


def test_old_folders_are_forgotten(cache: Path, tmp_path: Path) -> None:
    for n in range(12):
        own = tmp_path / f"own{n}.toml"
        own.write_text(f'[[word]]\nid = "w{n}"\nkind = "ordinary"\nforms = ["word"]\n', encoding="utf-8")
        lexicon = Lexicon((own,), keep=True)
        assert lexicon.assumptions
        lexicon.keep()
    assert 1 < len(list((cache / "sayso").iterdir())) <= 8


def test_a_fault_is_told_although_something_is_kept(cache: Path, tmp_path: Path) -> None:
    filled()
    bad = tmp_path / "bad.toml"
    bad.write_text("[[term]\n", encoding="utf-8")
    with pytest.raises(LexiconError, match=r"bad\.toml"):
        Lexicon((OVERLAY, bad), keep=True)
