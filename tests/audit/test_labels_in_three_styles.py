"""A listing of each label whose history is shipped, as an expert, a casual and a foreign seller would write it.

People, titles and sentences are invented; the label's name, a number and the words for one of its eras are taken from
the label's own row when the test runs, so that no name is typed here.
"""

from __future__ import annotations

import pytest

from sayso.engine import audit_text
from sayso.lexicon import load_lexicon
from sayso.lexicon.facts import Trigger
from sayso.lexicon.labels import Label
from sayso.model import Audit
from sayso.report.terminal import render

LEXICON = load_lexicon(user=False)
STYLES = {
    "expert": "{head}, Otha Brill Sextet, Slate Quarry\n"
    "Original first pressing, complete. {words}. Vinyl a strong VG+, jacket VG with a split seam.",
    "casual": "{head}, some old record, Slate Quarry\n"
    "this was my uncles, its an original. {words}. plays fine to my ears, jacket bit tatty, no returns sorry",
    "foreign": "{head}, Otha Brill Sextet - Slate Quarry\n"
    "Originalpressung, Zustand VG+. {words}. Hülle mit Lagerspuren. Versand aus Köln, 50667.",
}


def _sign(label: Label) -> Trigger | None:
    """A sign of one era, told by its own example; one that says nothing about first pressings."""
    return next((s for s in label.sign if s.era and s.yes and "," in s.yes[0] and not s.not_first), None)


LABELS = [(x, s) for x in LEXICON.labels.values() if x.first_pressing_features and (s := _sign(x))]
CASES = [
    pytest.param(label, sign, style, id=f"{n}-{style}") for n, (label, sign) in enumerate(LABELS) for style in STYLES
]


def _audit(label: Label, sign: Trigger, style: str) -> Audit:
    head, words = sign.yes[0].split(",", 1)
    words = words.strip()
    return audit_text(STYLES[style].format(head=head, words=words[:1].upper() + words[1:]), LEXICON)


def test_there_are_enough_labels() -> None:
    assert len(LABELS) >= 12


@pytest.mark.parametrize(("label", "sign", "style"), CASES)
def test_the_right_era(label: Label, sign: Trigger, style: str) -> None:
    history = _audit(label, sign, style).history
    assert history is not None
    assert history.label == label.id
    era = label.era[(sign.era or 1) - 1]
    [told] = [e for e in history.eras if e.by == "words" and e.name == (era.name or era.design)]
    assert (told.earliest, told.latest) == (era.earliest, era.latest)
    assert told.span is not None
    assert told.basis == era.basis


@pytest.mark.parametrize(("label", "sign", "style"), CASES)
def test_the_right_decisive_silence(label: Label, sign: Trigger, style: str) -> None:
    audit = _audit(label, sign, style)
    history = audit.history
    assert history is not None
    known = {f: r.text for r in reversed(history.shows) for f in r.features}
    decisive = {f.feature: f for f in audit.findings if f.need == "decisive"}
    assert {f for f in decisive if f.startswith(("deadwax.", "label."))} <= set(known)
    for feature, text in known.items():
        if feature in decisive and decisive[feature].state == "silent":
            assert text.rstrip(".") in decisive[feature].why
    assert known
    asked = {f for q in audit.questions for f in q.features}
    open_ = {f for f, x in decisive.items() if x.state == "silent"}
    assert not open_ or asked & open_


@pytest.mark.parametrize(("label", "sign", "style"), CASES)
def test_sources_that_can_be_followed(label: Label, sign: Trigger, style: str) -> None:
    audit = _audit(label, sign, style)
    history = audit.history
    assert history is not None
    for remark in (*history.shows, *history.traps):
        assert bool(remark.source) == (remark.basis == "published"), remark
    shown = " ".join(render(audit, LEXICON, colour=False).split())
    for era in history.eras:
        assert era.source or era.basis != "published"
        assert " ".join(era.source.split()) in shown
        assert " ".join(era.caution.split()) in shown
    assert " ".join(label.source.split()) in shown


@pytest.mark.parametrize(("label", "sign", "style"), CASES)
def test_nobody_honest_is_accused(label: Label, sign: Trigger, style: str) -> None:
    assert not [c for c in _audit(label, sign, style).conflicts if c.kind in ("age", "jacket")]


def test_a_label_later_than_the_number_is_told() -> None:
    told = [
        h.doubts
        for label, sign in LABELS
        if (h := _audit(label, sign, "expert").history)
        and (ends := [e.latest for e in h.eras if e.by == "number" and e.latest])
        and len(ends) == len([e for e in h.eras if e.by == "number"])
        and any(e.by == "words" and e.earliest and e.earliest > max(ends) for e in h.eras)
    ]
    assert len(told) >= 4
    assert all(any("pressed again later" in d for d in doubts) for doubts in told)
