"""Words with exact offsets, by a tokenizer of our own.

The text is folded character for character (curly quotes, dashes, odd spaces), never lengthened or shortened, so that an
offset into the folded text is an offset into the canonical text.
"""

from __future__ import annotations

import re

_FOLD = str.maketrans(
    {
        # the wide letters, figures and signs of Japanese text
        **{chr(code): chr(code - 0xFEE0) for code in range(0xFF01, 0xFF5F)},
        "’": "'",
        "‘": "'",
        "´": "'",
        "`": "'",
        "“": '"',
        "”": '"',
        "„": '"',
        "″": '"',
        "–": "-",
        "—": "-",
        "‐": "-",
        "‑": "-",
        "−": "-",
        "\u00a0": " ",
        "\u3000": " ",
        "\u202f": " ",
        "\u2009": " ",
    }
)
_WORD = re.compile(
    r"[\u3040-\u30ff\u3400-\u9fff\uff66-\uff9f]"  # one character of a script without spaces
    r"|(?:[A-Za-z]\.){2,}"  # U.S.
    r"|(?:[dlnsjcmtDLNSJCMT]|[qQ]u)'(?=[^\W\d_])"  # d'usine, l'originale
    r"|[^\W\d_\u3040-\u30ff\u3400-\u9fff\uff66-\uff9f]+(?:'[^\W\d_\u3040-\u30ff\u3400-\u9fff]+)?"
    r"|\d+|\S"
)


def fold(text: str) -> str:
    """The text with variants of one character made alike; same length."""
    return text.translate(_FOLD)


_PLAIN = re.compile(
    r"(?:[dlnsjcmtDLNSJCMT]|[qQ]u)'(?=[A-Za-z])|[A-Za-z](?:\.(?:[A-Za-z]\.)+|[A-Za-z]*(?:'[A-Za-z]+)?)|\d+|\S"
)
"""The same for text in ASCII."""


def spans(text: str) -> list[tuple[int, int]]:
    """Offsets of the tokens of folded text."""
    return [m.span() for m in (_PLAIN if text.isascii() else _WORD).finditer(text)]


def small(text: str, toks: list[tuple[int, int]]) -> list[str]:
    """The tokens of folded text in small letters."""
    lower = text.lower()
    if len(lower) != len(text) or "Σ" in text:  # letters that become two, or become another at the end of a word
        return [text[a:b].lower() for a, b in toks]
    return [lower[a:b] for a, b in toks]


_WORDS = re.compile(r"[A-Za-z]+(?: [A-Za-z]+)*")


def variants(form: str) -> set[tuple[str, ...]]:
    """The token sequences in which a form is written: with hyphen, with a space, joined."""
    if _WORDS.fullmatch(form):  # most forms: nothing to fold, and tokens are what blanks divide
        return {tuple(form.lower().split())}
    folded = fold(form).lower()
    texts = {folded}
    if " & " in folded:
        texts.add(folded.replace(" & ", " + "))
    if "-" in folded.strip("-"):
        texts |= {folded.replace("-", " "), folded.replace("-", "")}
    return {tuple(t[a:b] for a, b in spans(t)) for t in texts if t.strip()}
