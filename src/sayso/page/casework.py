"""What the page does with the casebook: each function opens it, does one thing and closes it again.

A form of a case carries how many things had happened in the case when it was shown (`seen`). What is sent twice, or
from a page left open while the case went on elsewhere, is refused: no message is counted as sent that was not shown.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sayso.page.form import FormFault, amount
from sayso.report.words import Words

if TYPE_CHECKING:
    from sayso.casebook.arrival import Check
    from sayso.casebook.book import Case, Casebook, Event, Summary
    from sayso.casebook.changed import ListingChange
    from sayso.lexicon import Lexicon
    from sayso.model import Audit

LONGEST_NOTE = 20_000
LONGEST_SEEN = 2_000


class NoCase(Exception):
    """There is no such case, or no such event in it."""


@dataclass(frozen=True)
class Shown:
    """A case, and how things stand in it with what was asked before left out of the next message."""

    case: Case
    audit: Audit


class Casework:
    """The casebook at `path` (the usual place where null), used from the threads of the page."""

    def __init__(self, lexicon: Lexicon, path: Path | None) -> None:
        self.lexicon, self.path = lexicon, path
        self._say = Words(lexicon)
        self._turn = threading.Lock()

    # --- looking ---------------------------------------------------------------------------------------------------
    def cases(self) -> list[Summary]:
        """Every case, the last touched first. Looking into a casebook that nobody began begins none."""
        if not self._exists():
            return []
        with self._book() as book:
            return sorted(book.cases(), key=lambda c: (c.last, c.id), reverse=True)

    def case(self, number: int) -> Case:
        """A case with all that happened in it. Raises `NoCase`."""
        with self._book() as book:
            return self._load(book, number)

    def show(self, number: int, options: Mapping[str, Any]) -> Shown:
        """A case as it is shown. `options` are language and wording of the message."""
        case = self.case(number)
        return Shown(case, self._next(case, options))

    def event(self, number: int, place: int) -> tuple[Case, Event]:
        """One thing that happened, by its place in the case, from 1. Raises `NoCase`."""
        case = self.case(number)
        if not 1 <= place <= len(case.events):
            raise NoCase
        return case, case.events[place - 1]

    def changes(self, case: Case, place: int) -> tuple[ListingChange, ...] | None:
        """What the listing of this event says differently from the one before it; null for the first listing.

        Both are read by the same reader: what is new must be the seller's doing, not the program's.
        """
        from sayso.casebook.changed import compare
        from sayso.engine import audit_listing

        listings = [a for e, a in case.audits() if e.kind == "listing"]
        nth = sum(e.kind == "listing" for e in case.events[:place])
        if nth < 2:
            return None
        asked = {
            f for e in case.events[:place] if e.kind == "questions" for q in e.body["questions"] for f in q["features"]
        }
        before, now = (audit_listing(a.listing, self.lexicon, asked=asked) for a in listings[nth - 2 : nth])
        return compare(before, now, sorted(asked))

    def checks(self, number: int) -> tuple[Case, tuple[Check, ...]]:
        """A case and what to look at when its parcel comes."""
        from sayso.casebook.arrival import checklist

        case = self.case(number)
        with self._plain():
            return case, checklist(case, self.lexicon)

    # --- doing -----------------------------------------------------------------------------------------------------
    def save(self, audit: Audit) -> int:
        """Keep an audit as a new case; gives its number."""
        with self._writing(create=True) as book:
            return book.save_audit(audit, lexicon=self.lexicon)

    def sent(self, number: int, form: Mapping[str, str], options: Mapping[str, Any]) -> None:
        """Keep that the message shown was sent."""
        with self._writing() as book:
            case = self._current(book, number, form)
            audit = self._next(case, options)
            if not audit.questions:
                raise FormFault(self._say.say("report.nothing_to_ask"))
            tongue = options.get("language") or audit.listing.language
            book.record_questions(number, audit.questions, message=audit.message, language=tongue)

    def reply(self, number: int, form: Mapping[str, str]) -> int:
        """Fold a reply in; gives its place in the case."""
        from sayso.replies.answers import answer_reply
        from sayso.replies.nouns import ReplyError

        text = form.get("reply", "")
        if not text.strip():
            raise FormFault(self._say.say("page.fault.reply"))
        with self._writing() as book:
            case = self._current(book, number, form)
            before = case.audit
            asked_before = book.asked_features(number)
            try:
                result = answer_reply(
                    before, text, case.questions, self.lexicon, asked_before=asked_before, **_as_before(before)
                )
            except ReplyError as error:
                raise FormFault(str(error)) from None
            book.record_reply(number, result, lexicon=self.lexicon)
            return len(case.events) + 1

    def update(self, number: int, form: Mapping[str, str]) -> int:
        """The listing as it stands now; gives its place in the case."""
        from sayso.engine import audit_listing
        from sayso.intake import read_any
        from sayso.replies.answers import refold

        if not form.get("words", "").strip():
            raise FormFault(self._say.say("page.fault.empty"))
        with self._writing() as book:
            case = self._current(book, number, form)
            was = case.listing_audit
            listing = read_any(form["words"].replace("\r\n", "\n"), lexicon=self.lexicon)
            if listing.price is None:
                kept = {"price": was.listing.price, "currency": was.listing.currency, "shipping": was.listing.shipping}
                listing = listing.model_copy(update=kept)
            asked = book.asked_features(number)
            judging = _as_before(was)
            now = audit_listing(listing, self.lexicon, asked=asked, **judging)
            earlier = case.exchanges()
            folded = refold(now, earlier, self.lexicon, asked=asked, **judging) if earlier else None
            book.save_audit(now, case=number, folded=folded, lexicon=self.lexicon)
            return len(case.events) + 1

    def note(self, number: int, form: Mapping[str, str]) -> None:
        """Keep a note."""
        text = form.get("note", "").replace("\r\n", "\n").strip()
        if not text or len(text) > LONGEST_NOTE:
            raise FormFault(self._say.say("page.fault.note"))
        with self._writing() as book:
            self._current(book, number, form)
            book.note(number, text, lexicon=self.lexicon)

    def decide(self, number: int, form: Mapping[str, str]) -> None:
        """Keep what was decided."""
        from sayso.casebook.book import DECISIONS

        do = form.get("do", "")
        if do not in DECISIONS:
            raise FormFault(self._say.say("page.fault.decision"))
        paid: Decimal | None = amount(form.get("paid", ""), self._say.say("page.paid"), self._say)
        with self._writing() as book:
            case = self._current(book, number, form)
            book.decide(
                number,
                do,
                price=float(paid) if paid is not None else None,
                currency=case.audit.listing.currency if paid is not None else None,
                why=form.get("why", "").strip()[:LONGEST_NOTE],
                lexicon=self.lexicon,
            )

    def arrived(self, number: int, form: Mapping[str, str]) -> int:
        """Keep what was found when the parcel came; gives its place in the case."""
        from sayso.casebook.arrival import RESULTS, Found, checklist, judge
        from sayso.casebook.book import now

        with self._writing() as book:
            case = self._current(book, number, form)
            checks, audit = checklist(case, self.lexicon), case.audit
            found = [
                Found(
                    id=c.id,
                    result=RESULTS.get(form.get(f"result:{c.id}", ""), "not checked"),
                    seen=form.get(f"seen:{c.id}", "").strip()[:LONGEST_SEEN],
                )
                for c in checks
            ]
            if all(f.result == "not checked" for f in found):
                raise FormFault(self._say.say("page.fault.nothing_checked"))
            known = {p.id for p in audit.odds.pressings} if audit.odds else set()
            pressing = form.get("pressing") or None
            if pressing is not None and pressing not in known:
                raise FormFault(self._say.say("page.fault.pressing"))
            result = judge(checks, found, date=now()[:10], lexicon=self.lexicon, audit=audit, pressing=pressing)
            book.record_arrival(number, result.model_dump(mode="json"), lexicon=self.lexicon)
            return len(case.events) + 1

    def delete(self, number: int, form: Mapping[str, str]) -> None:
        """Remove a case for good."""
        if form.get("sure") != "yes":
            raise FormFault(self._say.say("page.fault.sure"))
        with self._writing() as book:
            self._current(book, number, form)
            book.delete(number)

    # --- inside ----------------------------------------------------------------------------------------------------
    def _next(self, case: Case, options: Mapping[str, Any]) -> Audit:
        from sayso.engine import conclude
        from sayso.lexicon.rows import LexiconError

        known = case.audit
        asked = {f for e in case.of("questions") for q in e.body["questions"] for f in q["features"]}
        try:
            return conclude(
                known.listing,
                known.claims,
                known.deferrals,
                self.lexicon,
                asked=asked,
                **{**_as_before(known), **options},
            )
        except LexiconError:  # judged by data of the user's own that were not given this time
            return known

    def _exists(self) -> bool:
        from sayso.casebook.store import usual_path

        return usual_path(self.path).exists()

    @contextmanager
    def _plain(self) -> Iterator[None]:
        from sayso.casebook import CasebookError
        from sayso.intake.errors import IntakeError
        from sayso.lexicon.rows import LexiconError

        try:
            yield
        except (CasebookError, IntakeError, LexiconError) as error:
            raise FormFault(" ".join(str(error).split())) from error

    @contextmanager
    def _book(self, *, create: bool = False) -> Iterator[Casebook]:
        from sayso.casebook import open_casebook

        if not create and not self._exists():
            raise NoCase
        with self._plain(), open_casebook(self.path, create=create) as book:
            yield book

    @contextmanager
    def _writing(self, *, create: bool = False) -> Iterator[Casebook]:
        with self._turn, self._book(create=create) as book:
            yield book

    def _load(self, book: Casebook, number: int) -> Case:
        if all(c.id != number for c in book.cases()):
            raise NoCase
        return book.load_case(number)

    def _current(self, book: Casebook, number: int, form: Mapping[str, str]) -> Case:
        case = self._load(book, number)
        if form.get("seen") != str(len(case.events)):
            raise FormFault(self._say.say("page.fault.stale"))
        return case


def _as_before(audit: Audit) -> dict[str, Any]:
    """The dossier and the worths an audit was judged by, so that what follows is not judged by others."""
    out: dict[str, Any] = {"record": audit.dossier}
    if audit.worth is not None and audit.worth.by_pressing:
        out |= {"worth": dict(audit.worth.by_pressing), "worth_currency": audit.worth.currency}
    return out
