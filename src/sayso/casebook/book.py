"""Cases and what happened in them: listing, questions, reply, note, decision, arrival; nothing is ever overwritten."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, cast
from uuid import uuid4

from sayso.casebook.store import CasebookError, Store
from sayso.model import Audit, Noun, Question
from sayso.report.safe import safe

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.replies.nouns import Asked, Reply

Kind = Literal["listing", "questions", "reply", "note", "decision", "arrival"]
KINDS: tuple[str, ...] = ("listing", "questions", "reply", "note", "decision", "arrival")
DECISIONS = ("buy", "bought", "pass", "lost")
LONGEST_NAME = 120


class Event(Noun):
    """Something that happened in a case, at a time (UTC, ISO 8601), with what belongs to it as JSON."""

    at: str
    kind: Kind
    body: dict[str, Any]


class Case(Noun):
    """One purchase, from the first listing to the parcel. `uid` is the same wherever the case is copied to."""

    id: int
    uid: str
    name: str
    opened: str
    events: tuple[Event, ...] = ()

    def of(self, kind: Kind) -> tuple[Event, ...]:
        """The events of one kind, in order."""
        return tuple(e for e in self.events if e.kind == kind)

    @property
    def audit(self) -> Audit:
        """How things stand now: the last audit, with replies folded in. Raises `CasebookError`."""
        last = next((e for e in reversed(self.events) if e.kind in ("listing", "reply")), None)
        return self._audit(last, folded=True)

    @property
    def listing_audit(self) -> Audit:
        """The last audit of the listing by itself. Raises `CasebookError`."""
        return self._audit(next((e for e in reversed(self.events) if e.kind == "listing"), None))

    def audits(self) -> list[tuple[Event, Audit]]:
        """Every audit in order, with the event it belongs to."""
        return [(e, self._audit(e)) for e in self.events if e.kind in ("listing", "reply")]

    def _audit(self, event: Event | None, *, folded: bool = False) -> Audit:
        if event is None:
            raise CasebookError(f"case {self.id} holds no listing; save one with `sayso audit … --save`")
        data = event.body.get("audit") or (event.body.get("reply") or {}).get("audit")
        if folded:
            data = event.body.get("folded") or data
        try:
            return Audit.model_validate(data)
        except ValueError:
            raise CasebookError(
                f"case {self.id}: the audit of {event.at} is of a form this sayso does not know; update sayso, or save "
                "the listing again"
            ) from None

    @property
    def questions(self) -> tuple[Asked, ...]:
        """The questions of the last message sent, empty where none was."""
        from sayso.replies.nouns import Asked

        sent = self.of("questions")
        return tuple(Asked.model_validate(q) for q in sent[-1].body["questions"]) if sent else ()

    def exchanges(self) -> list[tuple[str, tuple[Asked, ...]]]:
        """Each reply in order: its words, and the questions that had been sent last before it."""
        from sayso.replies.nouns import Asked

        out: list[tuple[str, tuple[Asked, ...]]] = []
        asked: tuple[Asked, ...] = ()
        for event in self.events:
            if event.kind == "questions":
                asked = tuple(Asked.model_validate(q) for q in event.body["questions"])
            elif event.kind == "reply":
                out.append((event.body["text"], asked))
        return out


class Summary(Noun):
    """One line of the list of cases."""

    id: int
    name: str
    opened: str
    last: str
    events: dict[str, int]
    decision: str | None = None


def now() -> str:
    """The time as it is stored: UTC, to the second."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


class Casebook:
    """The cases in one file. Every method that writes is one transaction. Raises `CasebookError` throughout."""

    def __init__(self, path: Path, *, create: bool = True, clock: Callable[[], str] = now) -> None:
        self._store = Store(path, create=create)
        self._clock = clock
        self.path = path

    def __enter__(self) -> Casebook:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Closes the file."""
        self._store.close()

    # --- writing ---------------------------------------------------------------------------------------------------
    def save_audit(
        self,
        audit: Audit,
        *,
        keep_contacts: bool = False,
        case: int | None = None,
        name: str | None = None,
        folded: Audit | None = None,
        lexicon: Lexicon | None = None,
    ) -> int:
        """Keep an audit: as a new case, or as the changed listing of `case`. Gives the number of the case.

        `folded` is the same with earlier replies folded in. Without `keep_contacts`, e-mail addresses, telephone
        numbers and sellers' names are masked first.
        """
        body = {"audit": self._clean(audit.model_dump(mode="json", by_alias=True), audit, keep_contacts, lexicon)}
        if folded is not None:
            whole = folded.model_dump(mode="json", by_alias=True)
            body["folded"] = self._clean(whole, folded, keep_contacts, lexicon)
        with self._store.writing() as db:
            if case is None:
                title = name or body["audit"]["listing"]["title"] or body["audit"]["listing"]["text"]
                case = self._new(db, uuid4().hex, _name(title), self._clock())
            self._add(db, case, "listing", body)
        return case

    def record_questions(
        self,
        case: int,
        questions: Sequence[Question | Asked],
        *,
        message: str = "",
        language: str | None = None,
    ) -> None:
        """Keep which questions were sent, and when."""
        rows = [
            {"n": getattr(q, "n", i), "features": list(q.features), "text": q.text} for i, q in enumerate(questions, 1)
        ]
        with self._store.writing() as db:
            self._add(db, case, "questions", {"questions": rows, "message": message, "language": language})

    def record_reply(
        self, case: int, reply: Reply, *, keep_contacts: bool = False, lexicon: Lexicon | None = None
    ) -> None:
        """Keep a reply with what it changed."""
        data = self._clean(reply.model_dump(mode="json", by_alias=True), reply.audit, keep_contacts, lexicon)
        text = data["audit"]["listing"]["text"][reply.reply_start :]
        with self._store.writing() as db:
            self._add(db, case, "reply", {"text": text, "reply": data})

    def note(self, case: int, text: str, *, keep_contacts: bool = False, lexicon: Lexicon | None = None) -> None:
        """Keep a note of the buyer's own."""
        with self._store.writing() as db:
            self._add(db, case, "note", {"text": self._text(text, keep_contacts, lexicon)})

    def decide(
        self,
        case: int,
        do: str,
        *,
        price: float | None = None,
        currency: str | None = None,
        why: str = "",
        keep_contacts: bool = False,
        lexicon: Lexicon | None = None,
    ) -> None:
        """Keep what was decided: buy, bought, pass or lost (somebody else has it)."""
        if do not in DECISIONS:
            raise CasebookError(f"{do!r} is no decision; there are {', '.join(DECISIONS)}")
        body = {"do": do, "price": price, "currency": currency, "why": self._text(why, keep_contacts, lexicon)}
        with self._store.writing() as db:
            self._add(db, case, "decision", body)

    def record_arrival(
        self, case: int, body: Mapping[str, Any], *, keep_contacts: bool = False, lexicon: Lexicon | None = None
    ) -> None:
        """Keep what was found when the parcel came (`sayso.casebook.arrival.Arrival` in its JSON form)."""
        kept = dict(body) if keep_contacts else self._words_of(dict(body), lexicon or _lexicon())
        with self._store.writing() as db:
            self._add(db, case, "arrival", kept)

    def _words_of(self, node: Any, lexicon: Lexicon, key: str = "") -> Any:
        """A JSON form in which what the buyer wrote is masked."""
        if isinstance(node, dict):
            return {k: self._words_of(v, lexicon, k) for k, v in node.items()}
        if isinstance(node, list):
            return [self._words_of(x, lexicon, key) for x in node]
        return self._text(node, False, lexicon) if isinstance(node, str) and key in ("seen", "message") else node

    def delete(self, case: int) -> None:
        """Remove a case and all that happened in it, also from the free pages of the file."""
        with self._store.writing() as db:
            if db.execute("DELETE FROM cases WHERE id = ?", (case,)).rowcount == 0:
                raise self._unknown(db, case)

    def restore(self, cases: Iterable[Case]) -> tuple[int, int]:
        """Take in cases of an export, all or none: (cases added or continued, cases that were here already).

        A case keeps its number where that is free. Raises `CasebookError` where a case went on differently here.
        """
        added = known = 0
        with self._store.writing() as db:
            for case in cases:
                row = db.execute("SELECT id FROM cases WHERE uid = ?", (case.uid,)).fetchone()
                here: list[Event] = list(self._events(db, row[0])) if row else []
                theirs = list(case.events)
                if row and theirs[: len(here)] != here and here[: len(theirs)] != theirs:
                    raise CasebookError(
                        f"case {case.id} ({safe(case.name)}) went on differently here and there; delete case {row[0]} "
                        "first, or import into another file with --casebook. Nothing was imported"
                    )
                if row and len(theirs) <= len(here):
                    known += 1
                    continue
                id = row[0] if row else self._new(db, case.uid, case.name, case.opened, wanted=case.id)
                for event in theirs[len(here) :]:
                    self._add(db, id, event.kind, event.body, at=event.at)
                added += 1
        return added, known

    # --- reading ---------------------------------------------------------------------------------------------------
    def load_case(self, case: int) -> Case:
        """A case with all that happened in it."""
        with self._store.reading() as db:
            row = db.execute("SELECT id, uid, name, opened FROM cases WHERE id = ?", (case,)).fetchone()
            if row is None:
                raise self._unknown(db, case)
            return Case(id=row[0], uid=row[1], name=row[2], opened=row[3], events=tuple(self._events(db, case)))

    def load_all(self) -> list[Case]:
        """Every case, by number."""
        with self._store.reading() as db:
            ids = [i for (i,) in db.execute("SELECT id FROM cases ORDER BY id")]
        return [self.load_case(i) for i in ids]

    def cases(self) -> list[Summary]:
        """The list of cases, by number."""
        with self._store.reading() as db:
            out = []
            for id, name, opened in db.execute("SELECT id, name, opened FROM cases ORDER BY id").fetchall():
                counts = dict(
                    db.execute("SELECT kind, count(*) FROM events WHERE case_id = ? GROUP BY kind", (id,)).fetchall()
                )
                (last,) = db.execute("SELECT max(at) FROM events WHERE case_id = ?", (id,)).fetchone()
                decided = db.execute(
                    "SELECT body FROM events WHERE case_id = ? AND kind = 'decision' ORDER BY place DESC LIMIT 1", (id,)
                ).fetchone()
                do = json.loads(decided[0]).get("do") if decided else None
                out.append(Summary(id=id, name=name, opened=opened, last=last or opened, events=counts, decision=do))
            return out

    def asked_features(self, case: int) -> frozenset[str]:
        """The features that were asked about in this case, in any message."""
        return frozenset(
            f for e in self.load_case(case).of("questions") for q in e.body["questions"] for f in q["features"]
        )

    # --- inside ----------------------------------------------------------------------------------------------------
    def _new(self, db: sqlite3.Connection, uid: str, name: str, opened: str, *, wanted: int | None = None) -> int:
        free = wanted is not None and not db.execute("SELECT 1 FROM cases WHERE id = ?", (wanted,)).fetchone()
        done = db.execute(
            "INSERT INTO cases (id, uid, name, opened) VALUES (?, ?, ?, ?)",
            (wanted if free else None, uid, name, opened),
        )
        return cast(int, done.lastrowid)

    def _add(
        self, db: sqlite3.Connection, case: int, kind: str, body: Mapping[str, Any], *, at: str | None = None
    ) -> None:
        if not db.execute("SELECT 1 FROM cases WHERE id = ?", (case,)).fetchone():
            raise self._unknown(db, case)
        db.execute(
            "INSERT INTO events (case_id, place, at, kind, body) VALUES "
            "(?, (SELECT coalesce(max(place), 0) + 1 FROM events WHERE case_id = ?), ?, ?, ?)",
            (case, case, at or self._clock(), kind, json.dumps(body, allow_nan=False)),
        )

    def _events(self, db: sqlite3.Connection, case: int) -> Iterable[Event]:
        rows = db.execute("SELECT at, kind, body FROM events WHERE case_id = ? ORDER BY place", (case,))
        for at, kind, body in rows.fetchall():
            yield Event(at=at, kind=kind, body=json.loads(body))

    def _unknown(self, db: sqlite3.Connection, case: int) -> CasebookError:
        count, last = db.execute("SELECT count(*), max(id) FROM cases").fetchone()
        there = f"there are {count}, the last is {last}" if count else "it is empty"
        return CasebookError(f"there is no case {case} in {self.path}; {there}")

    def _clean(
        self, data: dict[str, Any], audit: Audit, keep_contacts: bool, lexicon: Lexicon | None
    ) -> dict[str, Any]:
        if keep_contacts:
            return data
        from sayso.casebook.mask import mask_audit

        return mask_audit(data, audit, lexicon or _lexicon())

    def _text(self, text: str, keep_contacts: bool, lexicon: Lexicon | None) -> str:
        if keep_contacts or not text:
            return text
        from sayso.casebook.mask import mask_text

        return mask_text(text, lexicon or _lexicon())


def _lexicon() -> Lexicon:
    from sayso.lexicon import load_lexicon

    return load_lexicon()


def _name(title: str) -> str:
    """A name for a case: the title on one line, without anything that drives a terminal."""
    flat = " ".join(safe(title).split()).encode("utf-8", "replace").decode("utf-8")
    return flat if len(flat) <= LONGEST_NAME else flat[: LONGEST_NAME - 1].rstrip() + "…"
