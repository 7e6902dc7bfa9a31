"""Years with their role, and weights."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sayso.claims.measures import weights
from sayso.lexicon.scan import scan
from sayso.model import Role

if TYPE_CHECKING:
    from sayso.claims.draft import Draft

_YEAR = scan(r"(?<![A-Za-z0-9./-])(?:(19[2-9]\d|20[0-3]\d)(s?)|'(\d\d)|((?:19)?[2-9]0)'?s)(?![A-Za-z0-9/])")


def read_years(draft: Draft) -> None:
    for m in _YEAR.finditer(draft.a.folded):
        if not draft.claiming(m.start()):
            continue
        value: str | int
        if m.group(1):
            value = m.group(1) + "s" if m.group(2) else int(m.group(1))
        elif m.group(3):
            value = 1900 + int(m.group(3))
        else:
            value = f"19{m.group(4)[-2:]}s"
        a, b = draft.a.sentence(m.start())
        role = ""
        best, length = 40, 0
        for h in draft.a.within("role", max(a, m.start() - 80), min(b, m.end() + 80)):
            at, to = draft.a.toks[h.i][0], draft.a.toks[h.j - 1][1]
            far = m.start() - to if to <= m.start() else at - m.end() + 1
            # 'Reissue of the 1957 LP' binds its whole phrase to the year behind it, '1978 reissue of …' its first word.
            further = h.j - h.i > 1 if to <= m.start() else h.j - h.i < length
            if 0 <= far < best or (0 <= far == best and further):
                best, length, role = far, h.j - h.i, str(h.row.value) or "none"  # type: ignore[union-attr]
        if role == "none" or (best == 40 and m.group(4) and not m.group(2)):
            continue
        said = draft.a.assertion(m.start(), m.end())
        if said.polarity == "absent" and role != "pressed":
            continue
        if said.polarity == "absent" and not draft.a.folded.endswith(" in ", 0, m.start()):
            continue
        told: Role = role if role in ("pressed", "released", "recorded") else "unspecified"  # type: ignore[assignment]
        draft.add("edition.year", m.start(), m.end(), said, said.polarity, value, None, role=told, rule="year")


def read_weights(draft: Draft) -> None:
    for m in weights(draft.lexicon).finditer(draft.a.folded):
        if 30 <= int(m.group(1)) <= 400:
            said = draft.a.assertion(m.start(), m.end())
            draft.add("disc.weight", m.start(), m.end(), said, said.polarity, int(m.group(1)), None, rule="weight")
