"""Code words and counts in the metal: letters to numbers and back."""

from __future__ import annotations

from sayso.lexicon.systems import Table


def decode(table: Table, letters: str) -> int | None:
    """The number that `letters` stand for in a table of kind `digits` or `count`.

    None where a letter is not in the table, or is one that sources read differently.
    """
    if not letters:
        return None
    if table.kind == "count":
        total = 0
        for letter in letters:
            place = table.letters.find(letter)
            if place < 0:
                return None
            total = total * len(table.letters) + place + 1
        return total
    if table.kind != "digits" or any(c not in table.entries or c in table.contested for c in letters):
        return None
    if letters in table.alone:
        return table.alone[letters]
    if table.entries[letters[0]] == 0:
        return None  # a number does not begin with nought
    return int("".join(str(table.entries[c]) for c in letters))


def encode(table: Table, number: int) -> str:
    """The letters for a number of one or more: the inverse of `decode`.

    Raises `ValueError` for numbers below one, and where the number can only be written with a contested letter.
    """
    if number < 1:
        raise ValueError("stampers and lacquers are counted from one")
    if table.kind == "count":
        base, out = len(table.letters), ""
        while number:
            number, rest = divmod(number - 1, base)
            out = table.letters[rest] + out
        return out
    by_figure = {v: k for k, v in table.entries.items()}
    for letter, value in table.alone.items():
        if value == number:
            return letter
    out = "".join(by_figure[int(c)] for c in str(number))
    if set(out) & set(table.contested):
        raise ValueError(f"{number} would need a letter that sources read differently")
    return out


def in_code(table: Table, letters: str) -> bool:
    """Whether all letters belong to the table, contested ones too."""
    known = table.letters if table.kind == "count" else table.entries
    return bool(letters) and all(c in known for c in letters)
