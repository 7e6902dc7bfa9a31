"""Tables as people export them. Invented rows; the rules of quoting are those of RFC 4180, section 2."""

from __future__ import annotations

from pathlib import Path

import pytest

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
    [found] = read(tmp_path / "w.csv", b"Colour,Weight\nred,3\n")
    assert "“Colour”" in found.problem


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


def test_a_quote_that_is_never_closed_costs_its_own_row_alone(tmp_path: Path) -> None:
    lines = ["nr;title;text", '1;A;"plays\nwell"', '2;B;"never closed', *(f"{n};C{n};fine" for n in range(3, 3_000))]
    found = read(tmp_path / "w.csv", "\n".join(lines).encode())
    assert [r.number for r in found if r.problem] == [3]
    assert "quote" in found[1].problem
    assert len(found) == 2_999
    assert found[0].record == {"id": "1", "title": "A", "text": "plays\nwell"}
    assert found[-1].record == {"id": "2999", "title": "C2999", "text": "fine"}


@pytest.mark.parametrize("ending", ["", "\n"])
def test_a_quote_left_open_is_found_where_a_later_row_closes_it(tmp_path: Path, ending: str) -> None:
    for head, data in (
        ("nr;title;text;price", '1;A;"left open;9\n2;B;fine;9\n3;C;"a; b";9\n4;D;fine;9'),
        ("nr;price;title;text", '1;9;A;"left open\n2;9;B;fine\n3;9;C;"a; b"\n4;9;D;fine'),
    ):
        found = read(tmp_path / "w.csv", f"{head}\n{data}{ending}".encode())
        assert [(r.number, bool(r.problem)) for r in found] == [(2, True), (3, False), (4, False), (5, False)]


def test_inch_signs_and_semicolons_in_cells_of_several_lines_are_no_open_quote(tmp_path: Path) -> None:
    data = 'nr;title;text\n1;A;"10"" disc;\nwell; a bit worn\nno; marks; at all"\n2;B;the 12" one\n3;C;"a 7" single"\n'
    found = read(tmp_path / "w.csv", data.encode())
    assert [bool(r.problem) for r in found] == [False, False, False]


@pytest.mark.parametrize("encoding", ["cp1251", "utf-16", "utf-32", "shift_jis", "utf-8", "mac_cyrillic", "cp037"])
@pytest.mark.parametrize("name", ["w.csv", "w.jsonl", "w.txt"])
def test_the_encoding_that_is_given_is_used(tmp_path: Path, encoding: str, name: str) -> None:
    from sayso.lexicon import load_lexicon
    from sayso.review.partition import read_row
    from sayso.review.rows import Settings

    words = "Plays." if encoding == "cp037" else "Пластинка играет, конверт целый."
    text = {"w.csv": f"title;text\nA;{words}\n", "w.txt": words, "w.jsonl": f'{{"title": "A", "text": "{words}"}}\n'}
    found = read(tmp_path / name, text[name].encode(encoding), encoding=encoding)
    listing = read_row(found[0], Settings(encoding=encoding), load_lexicon())
    assert words in listing.text
    assert len(found) == 1


def test_bytes_that_are_not_in_the_given_encoding_make_a_bad_row(tmp_path: Path) -> None:
    found = read(tmp_path / "w.csv", b"title,text\nA,fine\nB,caf\xe9\nC,fine\n", encoding="utf-8")
    assert [bool(r.problem) for r in found] == [False, True, False]
    assert "utf-8" in found[1].problem


def test_json_lines_of_two_bytes_a_character_are_read(tmp_path: Path) -> None:
    data = '{"title": "A", "text": "Café"}\r\n{"title": "B", "text": "x"}\r\n'
    for encoding in ("utf-16", "utf-16-le", "utf-16-be"):
        found = read(tmp_path / "w.jsonl", data.encode(encoding))
        assert [r.record["text"] for r in found if r.record] == ["Café", "x"]


def test_an_input_without_words_among_others_does_not_stop_them(tmp_path: Path) -> None:
    (tmp_path / "a-none.csv").write_bytes(b"Colour,Weight\nred,3\n")
    (tmp_path / "b-noise.csv").write_bytes(bytes(range(256)) * 8)
    (tmp_path / "c-fine.csv").write_bytes(b"title,text\nA,fine\n")
    found = list(rows([str(tmp_path / n) for n in ("a-none.csv", "b-noise.csv", "gone.csv", "c-fine.csv")], Reading()))
    assert [bool(r.problem) for r in found] == [True, True, True, False]
    assert "column" in found[0].problem
    assert "not text" in found[1].problem
    assert [bool(r.problem) for r in rows([str(tmp_path)], Reading())] == [True, True, False]


def test_a_column_that_does_not_exist_is_told(tmp_path: Path) -> None:
    [found] = read(tmp_path / "w.csv", b"title,text\nA,fine\n", columns={"text": "Remarks"})
    assert "Remarks" in found.problem


def test_an_encoding_that_cannot_be_is_told(tmp_path: Path) -> None:
    [found] = read(tmp_path / "w.csv", b"title,text\nA,fine\n", encoding="utf-16")
    assert "utf-16" in found.problem
