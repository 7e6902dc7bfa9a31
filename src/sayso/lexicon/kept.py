"""Keeps what is made of a lexicon from one run to the next, so that a start need not read all its words again.

The files lie in the platform's folder for caches, named after all that they were made of: the contents of every data
file, the program's own code, and the versions that have a say. A file of another name is never looked at, and one that
cannot be read, or that anybody else could have written, counts as absent. Nothing of a listing is kept. With
`SAYSO_KEEP=no` nothing is written or read.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import sys
from collections.abc import Iterable, Iterator, Mapping
from hashlib import blake2b
from pathlib import Path
from typing import Any

SWITCH = "SAYSO_KEEP"
"""An environment variable; `no` turns the keeping off."""
FEW = 8
"""So many folders stay: one for each lexicon in use, with whatever a buyer lays over the shipped one."""
OTHERS_MAY_WRITE = 0o022
LARGEST = 8_000_000
"""Bytes of one data file that is looked at; a larger one is refused where it is read."""
LEXICON = "lexicon"
Key = tuple[Any, ...]


class Kept:
    """One folder with what was made of one lexicon, in parts: what every listing needs, and each language's own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def part(self, name: str, lexicon: object) -> dict[Key, Any]:
        """What is kept under this name; empty where nothing (usable) is."""
        path = self.folder / f"{name}.kept"
        try:
            with path.open("rb") as file:
                if not _own(os.fstat(file.fileno())) or not _own(self.folder.stat()):
                    return {}
                with _without_collecting():
                    found = _Load(file, lexicon).load()
            return found if isinstance(found, dict) else {}
        except Exception:  # cut short, of another version, unreadable: made anew
            return {}

    def write(self, name: str, made: Mapping[Key, Any], lexicon: object) -> None:
        """Writes a part whole, or leaves things as they are where the disk does not let it."""
        import tempfile

        with contextlib.suppress(OSError):
            self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            descriptor, new = tempfile.mkstemp(dir=self.folder)
            try:
                with open(descriptor, "wb") as file:
                    _Dump(file, lexicon).dump(dict(made))
                os.replace(new, self.folder / f"{name}.kept")
            except BaseException:
                os.unlink(new)
                raise
            _forget_oldest(self.folder)


class _Dump(pickle.Pickler):
    def __init__(self, file: Any, lexicon: object) -> None:
        super().__init__(file, protocol=5)
        self._lexicon = lexicon

    def persistent_id(self, obj: object) -> str | None:
        return LEXICON if obj is self._lexicon else None


class _Load(pickle.Unpickler):
    def __init__(self, file: Any, lexicon: object) -> None:
        super().__init__(file)
        self._lexicon = lexicon

    def persistent_load(self, pid: object) -> object:
        return self._lexicon


def kept_of(files: Iterable[Path]) -> Kept | None:
    """Where things made of these data files are kept; null where that is turned off or a file cannot be read."""
    if os.environ.get(SWITCH, "").strip().lower() in ("no", "0", "off"):
        return None
    import platformdirs

    sum_ = blake2b(digest_size=16)
    try:
        for path in files:
            if not path.is_file() or path.stat().st_size > LARGEST:
                return None
            content = path.read_bytes()
            sum_.update(f"{path}\0{len(content)}\0".encode())
            sum_.update(content)
        for line in _code():
            sum_.update(line.encode())
    except (OSError, ValueError):
        return None
    return Kept(platformdirs.user_cache_path("sayso") / sum_.hexdigest())


def _code() -> Iterator[str]:
    """What tells one state of the program from another, without reading it."""
    import pydantic

    yield f"{sys.version} {pydantic.VERSION}"
    root = Path(__file__).parents[1]
    for folder, _, names in sorted(os.walk(root)):
        for name in sorted(names):
            if name.endswith(".py"):
                known = os.stat(os.path.join(folder, name))
                yield f"{folder}/{name} {known.st_size} {known.st_mtime_ns}"


def _own(known: os.stat_result) -> bool:
    """Whether only this user could have written it, as far as the platform tells."""
    if not hasattr(os, "getuid"):
        return True
    return known.st_uid == os.getuid() and not known.st_mode & OTHERS_MAY_WRITE


def _forget_oldest(folder: Path) -> None:
    import shutil

    os.utime(folder)
    others = sorted((p for p in folder.parent.iterdir() if p.is_dir()), key=lambda p: -p.stat().st_mtime)
    for old in others[FEW:]:
        shutil.rmtree(old, ignore_errors=True)


@contextlib.contextmanager
def _without_collecting() -> Iterator[None]:
    """Nothing that is fetched is garbage."""
    import gc

    on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if on:
            gc.enable()
