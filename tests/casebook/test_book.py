"""The casebook: what is kept, how it is found again, and that nothing is lost on the way."""

from __future__ import annotations

import json
import sqlite3
import stat
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sayso.casebook import Case, CasebookError, Event, open_casebook
from sayso.casebook.exchange import from_lines, to_line
from sayso.casebook.store import APPLICATION, MIGRATIONS, VERSION
from sayso.replies.answers import answer_reply
from tests.casebook.sample import ASKED, LEXICON, TEXT, audit, book


def test_a_case_is_kept_and_found_as_it_was(tmp_path: Path) -> None:
    made = audit()
    with book(tmp_path / "a" / "b.sqlite") as b:
        number = b.save_audit(made, lexicon=LEXICON)
        b.record_questions(number, ASKED, message="Hello", language="en")
        b.note(number, "ask again on Monday", lexicon=LEXICON)
        b.decide(number, "bought", price=40.0, currency="GBP", lexicon=LEXICON)
    with book(tmp_path / "a" / "b.sqlite") as b:
        case = b.load_case(number)
        assert case.audit == made
        assert case.name == made.listing.title
        assert [e.kind for e in case.events] == ["listing", "questions", "note", "decision"]
        assert case.questions == ASKED
        assert b.asked_features(number) == {"deadwax.plant_mark", "condition.play_tested"}
        assert [c.decision for c in b.cases()] == ["bought"]


def test_the_reply_is_kept_and_the_case_goes_on_from_it(tmp_path: Path) -> None:
    made = audit()
    reply = answer_reply(made, "1. yes\n2. no", ASKED, LEXICON)
    with book(tmp_path / "b.sqlite") as b:
        number = b.save_audit(made, lexicon=LEXICON)
        b.record_reply(number, reply, lexicon=LEXICON)
        case = b.load_case(number)
    assert case.of("reply")[0].body["text"] == "1. yes\n2. no"
    assert case.audit.listing.text == TEXT + "\n\n1. yes\n2. no"
    assert case.listing_audit == made


def test_the_place_is_as_given_then_by_environment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SAYSO_CASEBOOK", str(tmp_path / "env.sqlite"))
    open_casebook().close()
    open_casebook(tmp_path / "given.sqlite").close()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["env.sqlite", "given.sqlite"]


def test_the_usual_place_is_the_platforms_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("SAYSO_CASEBOOK", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    import platformdirs

    if platformdirs.user_data_path("sayso").is_relative_to(tmp_path):
        open_casebook().close()
        assert (tmp_path / "sayso" / "casebook.sqlite").exists()


def test_only_the_owner_can_read_it(tmp_path: Path) -> None:
    open_casebook(tmp_path / "b.sqlite").close()
    assert stat.S_IMODE((tmp_path / "b.sqlite").stat().st_mode) == 0o600


def test_looking_into_no_casebook_makes_none(tmp_path: Path) -> None:
    with pytest.raises(CasebookError, match="no casebook"):
        open_casebook(tmp_path / "b.sqlite", create=False)
    assert list(tmp_path.iterdir()) == []


def test_an_unknown_case_is_said_to_be_unknown(tmp_path: Path) -> None:
    with book(tmp_path / "b.sqlite") as b:
        for use in (b.load_case, b.delete, b.asked_features, lambda n: b.note(n, "x", lexicon=LEXICON)):
            with pytest.raises(CasebookError, match="no case 7"):
                use(7)
        with pytest.raises(CasebookError, match="no decision"):
            b.decide(b.save_audit(audit(), lexicon=LEXICON), "haggle", lexicon=LEXICON)


def test_what_is_deleted_is_gone_from_the_file_too(tmp_path: Path) -> None:
    path = tmp_path / "b.sqlite"
    with book(path) as b:
        number = b.save_audit(audit(), lexicon=LEXICON)
        b.note(number, "a rhinoceros", lexicon=LEXICON)
        assert b"rhinoceros" in path.read_bytes()
        b.delete(number)
        assert b.cases() == []
    assert b"rhinoceros" not in path.read_bytes()


def test_an_older_form_is_brought_up_to_date_with_its_order(tmp_path: Path) -> None:
    path = tmp_path / "b.sqlite"
    db = sqlite3.connect(path)
    db.executescript(MIGRATIONS[0])
    db.execute("INSERT INTO cases VALUES (3, 'u', 'old', '2020-01-01T00:00:00Z')")
    for n, kind in enumerate(("note", "decision")):
        body = json.dumps({"text": "x", "do": "pass", "price": None, "why": ""})
        db.execute("INSERT INTO events VALUES (?, 3, '2020-01-01T00:00:00Z', ?, ?)", (n + 5, kind, body))
    db.execute(f"PRAGMA application_id = {APPLICATION}")
    db.execute("PRAGMA user_version = 1")
    db.commit()
    db.close()
    with book(path) as b:
        assert [e.kind for e in b.load_case(3).events] == ["note", "decision"]
        b.note(3, "later", lexicon=LEXICON)
        assert [e.kind for e in b.load_case(3).events] == ["note", "decision", "note"]
    assert sqlite3.connect(path).execute("PRAGMA user_version").fetchone() == (VERSION,)


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53), 2**53)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)
EVENTS = st.builds(
    Event,
    at=st.just("2026-01-02T03:04:05Z"),
    kind=st.sampled_from(["listing", "questions", "reply", "note", "decision", "arrival"]),
    body=st.dictionaries(st.text(max_size=8), JSON, max_size=3),
)
CASES = st.lists(
    st.builds(
        Case,
        id=st.integers(1, 40),
        uid=st.uuids().map(str),
        name=st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=20),
        opened=st.just("2026-01-01T00:00:00Z"),
        events=st.lists(EVENTS, max_size=4).map(tuple),
    ),
    max_size=5,
    unique_by=(lambda c: c.id, lambda c: c.uid),
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(cases=CASES)
def test_export_delete_all_import_gives_the_same_casebook(
    cases: list[Case], tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("book") / "b.sqlite"
    with book(path) as b:
        b.restore(cases)
        before = b.load_all()
        assert before == sorted(cases, key=lambda c: c.id)
        lines = [to_line(c) for c in before]
        assert b.restore(from_lines(lines)) == (0, len(cases))
        for c in before:
            b.delete(c.id)
        assert b.load_all() == []
        assert b.restore(from_lines("\n".join(lines).split("\n"))) == (len(cases), 0)
        assert b.load_all() == before


def test_a_case_that_went_on_elsewhere_is_continued_and_a_fork_is_refused(tmp_path: Path) -> None:
    with book(tmp_path / "a.sqlite") as a, book(tmp_path / "b.sqlite") as b:
        number = a.save_audit(audit(), lexicon=LEXICON)
        b.restore(a.load_all())
        a.note(number, "from a", lexicon=LEXICON)
        assert b.restore(a.load_all()) == (1, 0)
        assert b.load_all() == a.load_all()
        a.note(number, "one", lexicon=LEXICON)
        b.note(number, "two", lexicon=LEXICON)
        kept = b.load_all()
        with pytest.raises(CasebookError, match="went on differently"):
            b.restore(a.load_all())
        assert b.load_all() == kept


@pytest.mark.parametrize(
    "line", ["{}", "[]", "not json", '{"schema": "sayso.case/1"}', '{"schema": "x"}', "[" * 100_000]
)
def test_a_line_that_is_no_case_is_named(line: str) -> None:
    with pytest.raises(CasebookError, match="line 1"):
        list(from_lines([line]))


def test_hostile_text_is_kept_as_text(tmp_path: Path) -> None:
    nasty = "\x1b]0;owned\x07\x1b[2J'); DROP TABLE cases;--\u202e\x00 end"
    with book(tmp_path / "b.sqlite") as b:
        number = b.save_audit(audit(nasty + "\n\nnothing", claims=()), lexicon=LEXICON)
        b.note(number, nasty, lexicon=LEXICON)
        case = b.load_case(number)
    assert case.of("note")[0].body["text"] == nasty
    assert "\x1b" not in case.name
    assert "\u202e" not in case.name
    from sayso.report.conversation import case_text, cases_text

    with book(tmp_path / "b.sqlite") as b:
        shown = case_text(case, LEXICON) + cases_text(b.cases(), LEXICON)
    assert not {"\x1b", "\x07", "\x00", "\u202e"} & set(shown)
