"""Summaries on disk while a review runs: ranked, grouped and compared there, so that memory stays flat."""

from __future__ import annotations

import json
import sqlite3
import tempfile
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

from sayso.review.rank import VERDICTS
from sayso.review.rows import Done, Summary

NEAR = 93.0
"""Words at least this alike (rapidfuzz ratio, 0 to 100) are one listing written twice. A convention of this program."""
SAME_TITLE = 95.0
MOST_IN_GROUP = 200
MOST_KEYS = 1_500


@dataclass(frozen=True)
class Ranked:
    """One row of the ranking. `same_as` names the row that says the same; `copies` counts the record's other copies."""

    rank: int
    source: str
    number: int
    summary: Summary
    same_as: str = ""
    copies: int = 0
    group: str = ""
    n: int = 0
    """Which row it was in the order in which they were added, from 1."""


class Spool:
    """A temporary SQLite file; gone when closed."""

    def __init__(self) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="sayso-")
        self._db = sqlite3.connect(Path(self._folder.name) / "review.db")
        self._db.executescript(
            "PRAGMA journal_mode=OFF; PRAGMA synchronous=OFF; PRAGMA cache_size=-8000; PRAGMA temp_store=FILE;"
            "CREATE TABLE row (n INTEGER PRIMARY KEY, source TEXT, number INTEGER, verdict INTEGER, score REAL,"
            " record TEXT, title TEXT, print TEXT, seller TEXT, same INTEGER, audit BLOB, summary TEXT);"
        )
        self.problems = 0

    def add(self, done: Done, audit: bytes | None = None) -> None:
        """Keep one finished row."""
        s = done.summary
        if s is None:
            self.problems += 1
            return
        self._db.execute(
            "INSERT INTO row (source, number, verdict, score, record, title, print, seller, audit, summary)"
            " VALUES (?,?,?,?,?,?,?,?,?,?)",
            (
                done.source,
                done.number,
                VERDICTS.index(s.verdict),
                s.score,
                s.record,
                s.title_key,
                s.print_,
                s.seller,
                audit,
                json.dumps(asdict(s), ensure_ascii=True),
            ),
        )

    def settle(self) -> None:
        """Find the listings that say the same and the copies of one record. Call once, when all rows are in."""
        db = self._db
        db.execute("CREATE INDEX by_print ON row (print)")
        db.execute("CREATE INDEX by_record ON row (record)")
        db.execute("CREATE INDEX by_rank ON row (verdict, score DESC, n)")
        db.execute(
            "UPDATE row SET same = (SELECT MIN(o.n) FROM row o WHERE o.print = row.print AND o.n < row.n)"
            " WHERE print != ''"
        )
        self._merge_titles()
        self._near()

    def _merge_titles(self) -> None:
        """Join copies whose titles say more or less of the same. Only for lists that a person can read."""
        from rapidfuzz import fuzz, process

        known = self._db.execute("SELECT record, title FROM row WHERE record != 'title:' GROUP BY 1, 2").fetchall()
        if not 1 < len(known) <= MOST_KEYS:
            return
        # One title within the other ('X' and 'X, first press, label 123') is the same record; two words are too few.
        titles = [title if len(title.split()) >= 3 else "" for _, title in known]
        joined = {record: record for record, _ in known}

        def root(record: str) -> str:
            while joined[record] != record:
                record = joined[record]
            return record

        for i, title in enumerate(titles):
            if not title:
                continue
            found = process.extractOne(title, titles[:i], scorer=fuzz.token_set_ratio, score_cutoff=SAME_TITLE)
            if found is None:
                continue
            a, b = root(known[i][0]), root(known[found[2]][0])
            if a.startswith("number:") and b.startswith("number:"):
                continue  # two catalogue numbers are two records, or two issues that are to be kept apart
            joined[b if b.startswith("title:") else a] = a if b.startswith("title:") else b
        for record in joined:
            if root(record) != record:
                self._db.execute("UPDATE row SET record = ? WHERE record = ?", (root(record), record))

    def _near(self) -> None:
        from rapidfuzz import fuzz

        groups = self._db.execute(
            "SELECT record FROM row WHERE record != 'title:' AND same IS NULL GROUP BY record HAVING COUNT(*) > 1"
        ).fetchall()
        for (record,) in groups:
            members = self._db.execute(
                "SELECT n, json_extract(summary, '$.words') FROM row WHERE record = ? AND same IS NULL"
                " AND print != '' ORDER BY n LIMIT ?",
                (record, MOST_IN_GROUP),
            ).fetchall()
            for i, (n, words) in enumerate(members):
                for earlier, other in members[:i]:
                    if fuzz.ratio(words, other, score_cutoff=NEAR):
                        self._db.execute("UPDATE row SET same = ? WHERE n = ?", (earlier, n))
                        break

    def counts(self) -> dict[str, int]:
        """How many rows have each verdict."""
        found = dict(self._db.execute("SELECT verdict, COUNT(*) FROM row GROUP BY verdict").fetchall())
        return {name: found.get(i, 0) for i, name in enumerate(VERDICTS)}

    def ranked(self, limit: int | None = None) -> Iterator[Ranked]:
        """The rows, the best first; what says the same as an earlier row comes after all others of its verdict."""
        cursor = self._db.execute(
            "SELECT r.source, r.number, r.summary, r.record, o.source, o.number, r.n FROM row r"
            " LEFT JOIN row o ON o.n = r.same ORDER BY r.verdict, r.same IS NOT NULL, r.score DESC, r.n LIMIT ?",
            (-1 if limit is None else limit,),
        )
        for rank, (source, number, summary, record, other, at, n) in enumerate(cursor, 1):
            copies = 0
            if record != "title:":
                (copies,) = self._db.execute(
                    "SELECT COUNT(*) FROM (SELECT 1 FROM row WHERE record = ? AND same IS NULL LIMIT 100)", (record,)
                ).fetchone()
            same = (f"{other}, row {at}" if at else str(other)) if other is not None else ""
            yield Ranked(rank, source, number, _summary(summary), same, max(0, copies - 1), record, n)

    def groups(self, limit: int = 20) -> Iterator[list[Ranked]]:
        """Records of which several different copies are offered, the best copies first."""
        records = self._db.execute(
            "SELECT record FROM row WHERE record != 'title:' AND same IS NULL GROUP BY record HAVING COUNT(*) > 1"
            " ORDER BY MIN(verdict), MAX(score) DESC LIMIT ?",
            (limit,),
        ).fetchall()
        for (record,) in records:
            found = self._db.execute(
                "SELECT source, number, summary, n FROM row WHERE record = ? AND same IS NULL"
                " ORDER BY verdict, score DESC, n LIMIT 6",
                (record,),
            )
            (count,) = self._db.execute(
                "SELECT COUNT(*) FROM row WHERE record = ? AND same IS NULL", (record,)
            ).fetchone()
            yield [
                Ranked(i, s, row, _summary(text), copies=count - 1, group=record, n=n)
                for i, (s, row, text, n) in enumerate(found, 1)
            ]

    def audits(self, limit: int) -> Iterator[bytes]:
        """The kept audits in the order of the ranking."""
        found = self._db.execute(
            "SELECT audit FROM row WHERE audit IS NOT NULL ORDER BY verdict, same IS NOT NULL, score DESC, n LIMIT ?",
            (limit,),
        )
        return (blob for (blob,) in found)

    def messages(self) -> Iterator[tuple[str, list[Summary]]]:
        """(seller, summaries) of what is worth a message; listings without a known seller stand alone."""
        found = self._db.execute(
            "SELECT seller, summary FROM row WHERE verdict < 3 AND same IS NULL"
            " AND json_extract(summary, '$.message') != '' ORDER BY seller = '', seller, verdict, score DESC, n"
        )
        seller, kept = "", list[Summary]()
        for name, text in found:
            if kept and (name != seller or not name):
                yield seller, kept
                kept = []
            seller = name
            kept.append(_summary(text))
        if kept:
            yield seller, kept

    def close(self) -> None:
        """Remove the file."""
        self._db.close()
        self._folder.cleanup()


def _summary(text: str) -> Summary:
    data = json.loads(text)
    data["says"] = tuple(tuple(s) for s in data["says"])
    return Summary(**data)
