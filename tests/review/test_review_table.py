"""Tables as people export them. Invented rows; the rules of quoting are those of RFC 4180, section 2."""

from __future__ import annotations

from pathlib import Path

import pytest

from sayso.intake import IntakeError
from sayso.review.columns import MEANINGS, _names, meaning
from sayso.review.output import safe_cell
from sayso.review.rows import Raw
from sayso.review.sources import Reading, rows


def read(path: Path, data: bytes, **more: object) -> list[Raw]:
    path.write_bytes(data)
    return list(rows([str(path)], Reading(**more)))  # type: ignore[arg-type]


def test_quoted_line_breaks_and_doubled_quotes(tmp_path: Path) -> None:
    # RFC 4180, section 2, rules 6 and 7.
    found = read(tmp_path / "w.csv", b'title,description\r\n"Low ""Tide""","Plays, well.\r\nCover VG."\r\nHigh,ok\r\n')
    assert [(r.number, r.record) for r in found] == [
        (2, {"title": 'Low "Tide"', "text": "Plays, well.\r\nCover VG."}),
        (3, {"title": "High", "text": "ok"}),
    ]


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("semicolons.csv", "Titel;Beschreibung;Preis\nLow Tide;Läuft gut, sauber;12,50 €\n".encode()),
        ("bom.csv", "\ufeffTitel;Beschreibung;Preis\nLow Tide;Läuft gut, sauber;12,50 €\n".encode()),
        ("latin.csv", "Titel;Beschreibung;Preis\nLow Tide;Läuft gut, sauber;12,50 €\n".encode("cp1252")),
        ("wide.csv", "Titel\tBeschreibung\tPreis\nLow Tide\tLäuft gut, sauber\t12,50 €\n".encode("utf-16")),
        ("tabs.tsv", "Titel\tBeschreibung\tPreis\nLow Tide\tLäuft gut, sauber\t12,50 €\n".encode()),
        ("sep.csv", "sep=;\nTitel;Beschreibung;Preis\nLow Tide;Läuft gut, sauber;12,50 €\n".encode()),
        ("pipe.csv", "Titel|Beschreibung|Preis\nLow Tide|Läuft gut, sauber|12,50 €\n".encode()),
        ("cr.csv", "Titel;Beschreibung;Preis\rLow Tide;Läuft gut, sauber;12,50 €\r".encode()),
        (
            "preamble.csv",
            "Wunschliste 2031;;\n;;\nTitel;Beschreibung;Preis\nLow Tide;Läuft gut, sauber;12,50 €\n".encode(),
        ),
    ],
)
def test_every_export_gives_the_same_record(tmp_path: Path, name: str, data: bytes) -> None:
    found = read(tmp_path / name, data)
    assert [r.record for r in found] == [
        {"title": "Low Tide", "text": "Läuft gut, sauber", "price": "12.50", "currency": "EUR"}
    ]


def test_two_encodings_in_one_file(tmp_path: Path) -> None:
    data = "title,text\nUn,Très bon état\n".encode() + "Deux,Très bon état aussi\n".encode("cp1252")
    assert [r.record["text"] for r in read(tmp_path / "w.csv", data) if r.record] == [
        "Très bon état",
        "Très bon état aussi",
    ]


def test_a_bad_row_is_told_by_its_number_and_the_rest_is_read(tmp_path: Path) -> None:
    data = b"title,text\nA,plays\n,\nB,plays,and,more\n,,\nC,fine\n"
    found = read(tmp_path / "w.csv", data)
    assert [(r.number, bool(r.problem)) for r in found] == [(2, False), (4, True), (6, False)]
    assert "more cells" in found[1].problem


def test_a_row_of_monstrous_size_is_passed_over(tmp_path: Path) -> None:
    data = b"title,text\nA," + b"x" * 400_000 + b"\nB,fine\n"
    found = read(tmp_path / "w.csv", data, max_bytes=200_000)
    assert [bool(r.problem) for r in found] == [True, False]
    assert found[1].record == {"title": "B", "text": "fine"}


def test_jsonl_rows_bad_and_good(tmp_path: Path) -> None:
    data = b'{"title": "A", "text": "x"}\nnot json\n\n[1]\n{"title": "B", "text": "<p>y</p>"}\n'
    found = read(tmp_path / "w.jsonl", data)
    assert [(r.number, bool(r.problem)) for r in found] == [(1, False), (2, True), (4, True), (5, False)]
    assert found[3].record is not None
    assert found[3].record["format"] == "html"


def test_no_column_with_words_is_refused_with_the_columns(tmp_path: Path) -> None:
    with pytest.raises(IntakeError, match="“Colour”"):
        read(tmp_path / "w.csv", b"Colour,Weight\nred,3\n")


def test_a_column_can_be_named(tmp_path: Path) -> None:
    found = read(tmp_path / "w.csv", b"Colour,Weight\nred,3\n", columns={"text": "Colour"})
    assert found[0].record == {"text": "red"}


def test_what_was_understood_is_shown(tmp_path: Path) -> None:
    said: list[str] = []
    read(tmp_path / "w.csv", b"Item name,Sellers description,Price (GBP),Bin\nA,plays,3,9\n", say=said.append)
    assert "title ← “Item name”" in said[0]
    assert "not used: “Bin”" in said[0]


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("Item Title", "title"),
        ("SELLER_DESCRIPTION", "text"),
        ("Descriptoin", "text"),
        ("Price (EUR)", "price"),
        ("askingPrice", "price"),
        ("My notes", "ignore"),
        ("max price", "ignore"),
        ("Sleeve condition", "specifics"),
        ("Verkäufer", "seller"),
        ("Wingspan", ""),
        ("pH", ""),
    ],
)
def test_names_are_matched_by_meaning(name: str, expected: str) -> None:
    assert meaning(name)[0] == expected


def test_no_known_name_is_taken_for_another_meaning() -> None:
    """The likeness that forgives a slip must not turn one known name into another."""
    for name, expected in _names().items():
        assert meaning(name) == (expected, 100.0)
        assert expected in (*MEANINGS, "ignore")


def test_the_currency_of_a_column_and_its_decimal_mark(tmp_path: Path) -> None:
    data = b"title;price in EUR\nA;3.350\nB;12,50\nC;nothing\n"
    found = [r.record for r in read(tmp_path / "w.csv", data) if r.record]
    assert [(r.get("price"), r.get("currency")) for r in found] == [("3350", "EUR"), ("12.50", "EUR"), (None, "EUR")]
    assert "nothing" in found[2]["notes"][0]


def test_a_folder_is_read_in_order_without_what_browsers_save_beside_a_page(tmp_path: Path) -> None:
    (tmp_path / "b.txt").write_text("Low Tide LP\n\nPlays.")
    (tmp_path / "a.html").write_text("<p>High Tide</p>")
    (tmp_path / "a_files").mkdir()
    (tmp_path / "a_files" / "ad.html").write_text("<p>advert</p>")
    (tmp_path / ".hidden.txt").write_text("x")
    found = list(rows([str(tmp_path), str(tmp_path / "gone.csv")], Reading()))
    assert [Path(r.source).name for r in found] == ["a.html", "b.txt", "gone.csv"]
    assert "no such file" in found[2].problem


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", " =1", "\r=1", "＝1", "%x", "|calc"])
def test_no_cell_can_start_a_formula(cell: str) -> None:
    # The characters that OWASP's page on CSV injection lists, and the wide forms that some programs fold.
    assert safe_cell(cell).startswith("'")
    assert safe_cell("plain = fine") == "plain = fine"
