"""The conversation from the command line: audit, ask, reply, changed listing, arrival, outcomes; and its faults."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from sayso.cli import main

ROOT = Path(__file__).resolve().parents[2]
TALK = ROOT / "examples" / "conversation"
OWN = ("--lexicon", str(ROOT / "examples" / "sandglass.toml"))


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsysbinary: pytest.CaptureFixture[bytes]):  # type: ignore[no-untyped-def]
    monkeypatch.setenv("SAYSO_CASEBOOK", str(tmp_path / "book.sqlite"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))

    def call(*argv: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as ended:
            main(list(argv))
        out, err = capsysbinary.readouterr()
        return ended.value.code, out.decode(), err.decode()  # type: ignore[return-value]

    return call


def test_a_purchase_from_the_listing_to_the_parcel(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    code, _, err = run("audit", str(TALK / "1-listing.txt"), "--save", *OWN)
    assert code == 0
    assert "case 1" in err
    code, message, _ = run("ask", "1", "--sent", *OWN)
    assert code == 0
    assert "?" in message
    code, again, _ = run("ask", "1", *OWN)
    assert not {x for x in message.splitlines() if x[:2] in ("1.", "2.")} & set(again.splitlines())
    code, out, _ = run("reply", "1", str(TALK / "2-reply.txt"), *OWN)
    assert code == 0
    assert "What became of your questions" in out
    assert "Kept in case 1" in out
    code, out, _ = run("cases", "update", "1", str(TALK / "3-listing-changed.txt"), *OWN)
    assert code == 0
    code, out, _ = run("arrive", "1", "--list", *OWN)
    assert "[parcel.outside]" in out
    found = tmp_path / "found.txt"
    found.write_text("# seen at home\nparcel.outside: y\nparcel.item: n: another record\n", encoding="utf-8")
    code, out, _ = run("arrive", "1", str(found), *OWN)
    assert code == 0
    assert "Not as described in 1 of 2 points" in out
    code, out, _ = run("cases", "show", "1")
    for step in ("questions sent", "reply", "listing", "arrival"):
        assert step in out
    code, out, _ = run("cases", "outcomes")
    assert code == 0
    assert "Nothing was changed" in out or "No outcome yet" in out


def test_export_and_import(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    run("audit", str(TALK / "1-listing.txt"), "--save", "--json")
    run("cases", "note", "1", "hear", "side", "two")
    assert run("cases", "export", str(tmp_path / "out.jsonl"))[0] == 0
    before = run("cases", "show", "1", "--json")[1]
    assert run("cases", "delete", "1", "--yes")[0] == 0
    assert run("cases", "list", "--json")[1].strip() == "[]"
    assert "1 taken in" in run("cases", "import", str(tmp_path / "out.jsonl"))[1]
    assert run("cases", "show", "1", "--json")[1] == before


def test_a_reply_without_a_casebook(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    asked = tmp_path / "q.json"
    asked.write_text('[{"n": 1, "features": ["label.deep_groove"], "text": "Is there a ring?"}]', encoding="utf-8")
    answer = tmp_path / "r.txt"
    answer.write_text("See pictures \x1b]0;x\x07.", encoding="utf-8")
    argv = ("reply", "--listing", str(TALK / "1-listing.txt"), "--questions", str(asked), str(answer))
    code, out, _ = run(*argv, "--json")
    data = json.loads(out)
    assert code == 0
    assert data["schema"] == "sayso.reply/1"
    assert data["per_question"][0]["outcome"] == "dodged"
    assert {"per_question", "changes", "audit"} <= set(data)
    code, out, _ = run(*argv)
    assert "\x1b" not in out
    assert not list(tmp_path.glob("book*"))


def test_the_json_of_ask_is_what_reply_takes(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    asked = tmp_path / "q.json"
    asked.write_text(run("ask", str(TALK / "1-listing.txt"), "--json")[1], encoding="utf-8")
    code, out, _ = run(
        "reply",
        "--listing",
        str(TALK / "1-listing.txt"),
        "--questions",
        str(asked),
        str(TALK / "2-reply.txt"),
        "--json",
    )
    assert code == 0
    assert len(json.loads(out)["per_question"]) == len(json.loads(asked.read_text(encoding="utf-8")))


@pytest.mark.parametrize(
    ("argv", "says"),
    [
        (("reply",), "give a case"),
        (("reply", "1"), "no casebook"),
        (("reply", "first", "x"), "no case"),
        (("reply", "--listing", "x"), "--questions"),
        (("cases", "show", "1"), "no casebook"),
        (("cases", "show", "one"), "no case"),
        (("cases", "note", "1", " "), "empty"),
        (("cases", "import", "nowhere.jsonl"), "cannot be read"),
        (("cases", "decide", "1", "buy", "--price", "x"), "no amount"),
        (("arrive", "1"), "no casebook"),
        (("ask", "1"), "no casebook"),
        (("ask", "--sent"), "--sent"),
        (("audit", str(TALK / "1-listing.txt"), "--casebook", "/"), "is a folder"),
    ],
)
def test_faults_are_one_line_and_say_what_to_do(run, argv: tuple[str, ...], says: str) -> None:  # type: ignore[no-untyped-def]
    code, _, err = run(*argv)
    assert code == 2
    assert says in err
    assert err.count("\n") == 1
    assert "Traceback" not in err


@pytest.mark.parametrize(
    "text", ["", "{", "[]", '{"a": 1}', '[{"n": 1}]', '[{"n": 1, "features": ["no.such"]}]', "[1]"]
)
def test_unusable_questions(run, tmp_path: Path, text: str) -> None:  # type: ignore[no-untyped-def]
    asked = tmp_path / "q.json"
    asked.write_text(text, encoding="utf-8")
    code, _, err = run(
        "reply", "--listing", str(TALK / "1-listing.txt"), "--questions", str(asked), str(TALK / "2-reply.txt")
    )
    assert code == 2
    assert err.count("\n") == 1


def test_deleting_needs_a_yes(run) -> None:  # type: ignore[no-untyped-def]
    run("audit", str(TALK / "1-listing.txt"), "--save", "--json")
    code, _, err = run("cases", "delete", "1")
    assert code == 2
    assert "--yes" in err
    assert run("cases", "show", "1")[0] == 0
