"""The words every report uses: one source for terminal, HTML and page, kept in lexicon/phrases/."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sayso.lexicon import Lexicon
    from sayso.model import Audit, Claim, Finding, Listing

ZONES = ("dead wax", "label", "edge", "playing surface", "jacket", "inner", "words")
"""The parts of a record in the order in which a report shows them: what proves most comes first."""
LONGEST_HEADLINE = 90
"""Characters of a listing's first words where it has no title."""


class Words:
    """Look-ups of phrases by their ids; `{places}` are filled from keyword arguments."""

    def __init__(self, lexicon: Lexicon) -> None:
        self.lexicon = lexicon

    def say(self, phrase: str, /, **filled: object) -> str:
        """The phrase with its places filled. Raises KeyError for an unknown id: a fault of the program."""
        return self.lexicon.phrases[phrase].format(**filled) if filled else self.lexicon.phrases[phrase]

    def state(self, state: str) -> str:
        """A state in plain words ('not mentioned')."""
        return self.say(f"state.{state}")

    def finding(self, finding: Finding, claims: Sequence[Claim]) -> str:
        """How a finding stands, in plain words, with what its state alone does not tell."""
        own = [claims[i] for i in finding.claims if i < len(claims)]
        if own and finding.state == "hedged" and all(c.polarity == "absent" for c in own):
            return self.say("state.hedged.absent")
        bare = all(c.role != "pressed" for c in own)
        if own and finding.state in ("stated", "hedged") and finding.feature == "edition.year" and bare:
            return self.say("state.year.bare")
        values = {c.value for c in own if c.polarity == "present"}
        if finding.state == "stated" and len(values) == 1:
            words = self.lexicon.phrases.get(f"state.{finding.feature}={values.pop()}")
            if words is not None:
                return words
        denied = [c.side for c in own if c.polarity == "absent" and c.certainty == "certain" and c.side in ("a", "b")]
        if finding.state == "stated" and denied:
            return self.say("state.stated.one_side", side=self.say(f"html.side.{denied[0]}"))
        # 'Played side 2 only' says nothing of side 1: no 'said' for the whole copy.
        sides = {c.side for c in own}
        if finding.state == "stated" and finding.feature == "condition.play_tested" and len(sides) == 1:
            one = sides.pop()
            if one in ("a", "b"):
                return self.say("state.stated.of_side", side=self.say(f"html.side.{one}"))
        return self.state(finding.state)

    def quoted(self, finding: Finding, claims: Sequence[Claim]) -> list[int]:
        """Which of its claims a finding quotes: what is denied stands under no 'said', unless the words tell it so."""
        own = [i for i in finding.claims if i < len(claims)]
        if finding.state != "stated" or self.finding(finding, claims) != self.state("stated"):
            return own
        return [i for i in own if claims[i].polarity == "present"] or own

    def aside(self, finding: Finding, claim: Claim) -> str:
        """What must stand behind a quotation: among words that clash, which of them deny ('' where nothing must)."""
        clash = finding.state == "conflicting" and claim.polarity == "absent"
        return f" ({self.state('denied')})" if clash else ""

    def sign(self, state: str) -> str:
        """One ASCII character for a state; never the only carrier of meaning."""
        return self.say(f"sign.{state}")

    def need(self, need: str) -> str:
        """A need in plain words ('decides it')."""
        return self.say(f"need.{need}")

    def zone(self, zone: str) -> str:
        """A part of the record in plain words."""
        return self.say(f"zone.{zone}")

    def heading(self, name: str) -> str:
        """The heading of one part of a report."""
        return self.say(f"heading.{name}")

    def carrier(self, carrier: str) -> str:
        """What carries a sign, in plain words."""
        return self.say(f"carrier.{carrier}")

    def date(self, date: str) -> str:
        """A date of the model ('1974', '1974-06', '1974-06-26') as one writes it; what is none stays as it is."""
        found = re.fullmatch(r"(\d{4})-(0[1-9]|1[0-2])(?:-(0[1-9]|[12]\d|3[01]))?", date)
        if found is None:
            return date
        month = self.say(f"month.{int(found[2])}")
        if found[3] is None:
            return self.say("date.month", month=month, year=found[1])
        return self.say("date.day", day=int(found[3]), month=month, year=found[1])

    def headline(self, listing: Listing) -> str:
        """What a listing is called: its title, else its first words."""
        if listing.title:
            return listing.title
        words = " ".join(listing.text[: LONGEST_HEADLINE * 4].split()).lstrip(" .,;:-–—*★~|#")
        if len(words) <= LONGEST_HEADLINE:
            return words or self.say("html.untitled")
        return f"{words[:LONGEST_HEADLINE].rsplit(' ', 1)[0].rstrip(' ,;:-–—')} …"

    def feature(self, feature: str) -> str:
        """A feature's name, fit to stand in a sentence."""
        row = self.lexicon.features.get(feature)
        return row.name if row else feature

    def by_zone(self, findings: tuple[Finding, ...]) -> list[tuple[str, list[Finding]]]:
        """The findings grouped by where on the record one looks, in report order."""
        groups: dict[str, list[Finding]] = {zone: [] for zone in ZONES}
        for finding in findings:
            groups[self.lexicon.features[finding.feature].zone].append(finding)
        return [(zone, group) for zone, group in groups.items() if group]


def says_itself(audit: Audit) -> bool:
    """Whether the advice names what to do: 'Ask about the mark before paying', 'Bid up to …'."""
    do = audit.advice.do if audit.advice else ""
    return do == "ask" or (do == "buy" and audit.listing.auction)


def and_list(items: list[str]) -> str:
    """'a', 'a and b', 'a, b and c'."""
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}" if items else ""
