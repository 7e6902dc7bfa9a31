"""Words that a dossier teaches: the marks, initials, addresses and designs its parts can show.

A collector who writes a dossier need not write them again as terms.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from sayso.lexicon.shortform import _design_terms, _mark_terms, _table, _term, address_forms
from sayso.lexicon.terms import Term

NOTHING = frozenset({"", "none", "no", "yes", "both"})


def terms_of(dossiers: Iterable[Mapping[str, Any]], known: Iterable[Term] = ()) -> tuple[Term, ...]:
    """The terms for all values in the parts of `dossiers` (raw rows) which `known` does not have yet. Pure."""
    shown: dict[str, dict[str, None]] = {}
    for row in dossiers:
        parts = row.get("parts")
        if not isinstance(parts, Mapping):
            continue  # the schema says what is wrong with it
        for variants in parts.values():
            for shows in variants.values() if isinstance(variants, Mapping) else ():
                for feature, value in shows.items() if isinstance(shows, Mapping) else ():
                    if isinstance(value, str) and value.casefold() not in NOTHING:
                        shown.setdefault(feature, {})[value] = None
    had = {(t.feature, str(t.value).casefold()) for t in known}
    rows: list[dict[str, Any]] = []
    designs = list(shown.get("label.design", ()))
    for feature, values in shown.items():
        for value in values:
            if (feature, value.casefold()) in had:
                continue
            if feature == "deadwax.plant_mark":
                rows += _mark_terms(_spelt(value), {})
            elif feature == "deadwax.mastering_mark":
                rows.append(_term(feature, [value], value, exact=True))
            elif feature == "label.address":
                rows.append(_term(feature, address_forms(value), value, kind="address"))
            elif feature == "label.design":
                rows += _design_terms(value, {}, designs)
    return tuple(Term.model_validate(r) for r in rows if r["forms"])


def line_terms(labels: Iterable[Mapping[str, Any]]) -> tuple[Term, ...]:
    """The lines with firm or street that the eras of `labels` (raw rows) name: they claim the address of a label.

    They count only where the label is spoken of, for a seller can live in the town of a record firm. Pure.
    """
    found: dict[str, dict[str, None]] = {}
    for row in labels:
        eras = row.get("era")
        for era in eras if isinstance(eras, list) else ():
            lines = era.get("lines") if isinstance(era, Mapping) else None
            if isinstance(lines, list):
                value = str(era.get("address") or era.get("design") or lines[0])
                found.setdefault(value, {}).update(dict.fromkeys(x for x in lines if isinstance(x, str) and x))
    return tuple(
        Term(feature="label.address", forms=tuple(forms), value=value, kind="address", needs=("label",))
        for value, forms in found.items()
        if forms
    )


def _spelt(mark: str) -> str:
    """Bare letters are marked as such, so that they count only in the run-out."""
    word = next(iter(_table("short_form").get("letter", ("letter",))))
    return f"{word} {mark}" if mark.isalpha() and len(mark) <= 3 and mark[:1].isupper() else mark
