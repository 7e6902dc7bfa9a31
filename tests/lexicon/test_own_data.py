"""A user's own files: never run, never read outside their folder, bounded in size and depth, told plainly if faulty."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sayso.lexicon import Lexicon, LexiconError, load_lexicon
from sayso.lexicon.check import check
from sayso.lexicon.load import LARGEST, MANY, SECTIONS
from sayso.lexicon.places import places
from sayso.lexicon.tame import tame

LABEL = '[[label]]\nname = "Norbel"\nbasis = "memory"\n'


def _said(file: Path) -> str:
    with pytest.raises(LexiconError) as told:
        Lexicon((file,))
    assert "\n" not in str(told.value)
    return str(told.value)


def test_a_mark_for_the_encoding_is_forgiven(tmp_path: Path) -> None:
    file = tmp_path / "bom.toml"
    file.write_bytes(b"\xef\xbb\xbf" + LABEL.encode().replace(b"\n", b"\r\n"))
    assert "norbel" in Lexicon((file,)).labels
    assert not check([file])


@pytest.mark.parametrize("encoding", ["utf-16", "latin-1", "cp932"])
def test_other_encodings_are_told(tmp_path: Path, encoding: str) -> None:
    file = tmp_path / "odd.toml"
    text = LABEL.replace("Norbel", "Norbel 夜" if encoding == "cp932" else "Norbél")
    file.write_bytes(text.encode(encoding))
    assert "save it as UTF-8" in _said(file)
    assert "save it as UTF-8" in str(check([file])[0])


def test_a_huge_file_is_not_read(tmp_path: Path) -> None:
    file = tmp_path / "huge.toml"
    with file.open("wb") as out:
        out.truncate(LARGEST + 1)
    assert "larger than" in _said(file)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device here")
def test_what_never_ends_is_not_read_to_the_end() -> None:
    assert "larger than" in _said(Path("/dev/zero"))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_a_pipe_in_the_folder_is_left_alone(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    (tmp_path / "label.toml").write_text(LABEL, encoding="utf-8")
    assert "norbel" in Lexicon((tmp_path,)).labels
    assert [(p.grade, "is not read" in p.what) for p in check([tmp_path])] == [("note", True)]


@pytest.mark.skipif(not hasattr(os, "symlink"), reason="no symbolic links here")
def test_links_out_of_the_folder_are_not_followed_and_told(tmp_path: Path) -> None:
    (tmp_path / "secret").mkdir()
    (tmp_path / "secret" / "s.toml").write_text(LABEL.replace("Norbel", "Secret"), encoding="utf-8")
    own = tmp_path / "own"
    own.mkdir()
    (own / "absolute.toml").symlink_to(tmp_path / "secret" / "s.toml")
    (own / "dots.toml").symlink_to("../secret/s.toml")
    (own / "folder").symlink_to(tmp_path / "secret")
    (own / "inside.toml").write_text(LABEL, encoding="utf-8")
    (own / "second.toml").symlink_to("inside.toml")
    labels = Lexicon((own,)).labels
    assert "secret" not in labels
    assert "norbel" in labels
    told = [str(p) for p in check([own]) if "is not read" in p.what]
    assert {Path(t.split(":")[0]).name for t in told} == {"absolute.toml", "dots.toml"}


def test_too_many_files_are_told(tmp_path: Path) -> None:
    for n in range(MANY + 1):
        (tmp_path / f"{n}.toml").write_bytes(b"")
    assert "more than" in _said(tmp_path)


def test_a_file_named_as_a_folder_and_a_folder_named_as_a_file(tmp_path: Path) -> None:
    (tmp_path / "folder.toml").mkdir()
    (tmp_path / "label.toml").write_text(LABEL, encoding="utf-8")
    assert "norbel" in Lexicon((tmp_path,)).labels
    assert "cannot be read" in str(check([tmp_path / "label.toml" / "x.toml"])[0]) or "no such" in str(
        check([tmp_path / "label.toml" / "x.toml"])[0]
    )


@pytest.mark.parametrize("pattern", ["(a+)+", "(?:a*)*b", "((a+)b?)+", "(a|b+)*c", "([a-z]+\\s?)+$", "(?:x{2,})+"])
def test_what_repeats_inside_what_repeats_is_refused(pattern: str) -> None:
    with pytest.raises(ValueError, match="repeats again"):
        tame(pattern)


@pytest.mark.parametrize("pattern", ["a+b+", "(?:ab)+", r"\(a+\)+", "[(+*)]+", "(?:a+ ){0,4}", "(?:a{1,9}b)*"])
def test_what_is_bounded_is_not(pattern: str) -> None:
    tame(pattern)


def test_the_shipped_expressions_are_tame() -> None:
    lexicon = load_lexicon(user=False)
    for pattern in lexicon.patterns.values():
        for text in pattern.patterns:
            tame(text)


@given(st.text(alphabet="{}abc.!:[]0(_ ", max_size=20))
@settings(max_examples=300, deadline=None)
def test_only_plain_names_are_ever_filled_in(text: str) -> None:
    try:
        names = places(text)
    except ValueError:
        return
    assert text.format(**dict.fromkeys(names, "")) is not None
    assert all(n.isidentifier() for n in names)


@given(st.recursive(st.none() | st.booleans() | st.integers() | st.text(max_size=5), lambda x: st.lists(x, max_size=3)))
@settings(max_examples=15, deadline=None)
def test_any_value_for_any_key_is_told_and_nothing_breaks(value: object) -> None:
    import json
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "any.json"
        rows = {noun: [{"id": value, "name": value, "basis": value}] for noun in SECTIONS}
        file.write_text(json.dumps(rows), encoding="utf-8")
        assert all("\n" not in str(problem) for problem in check([file]))
