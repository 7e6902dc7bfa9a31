"""Described and transcribed marks: found, resolved to all their makers, and never found in ordinary talk."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sayso.claims.marks import find_marks, index
from sayso.claims.runout_text import unify
from sayso.lexicon import load_lexicon

EXAMPLES = Path(__file__).parents[2] / "examples"

LEXICON = load_lexicon()


def found(text: str, **more: object) -> list[tuple[str, tuple[str, ...]]]:
    return [(text[h.start : h.end], h.marks) for h in find_marks(text, LEXICON, **more)]  # type: ignore[arg-type]


RESOLVED = [
    # text, quote, ids, kind
    ("circled MR in the run-out", "circled MR", {"monarch-mr"}, "plating"),
    ("there is an MR in a circle in the dead wax", "MR in a circle", {"monarch-mr"}, "plating"),
    ("a small mr inside a ring, scratched", "mr inside a ring", {"monarch-mr"}, "plating"),
    ('small "S" stamped', "S", {"col-santa-maria-s"}, "plant"),
    ("triangle with a number in the wax", "triangle with a number", {"monarch-delta"}, "plating"),
    ("STERLING stamp", "STERLING stamp", {"sterling"}, "cutting"),
    ("∆12345 in the dead wax", "∆12345", {"monarch-delta", "alco"}, "plating"),
    ("wax: Δ17432x", "Δ17432x", {"monarch-delta", "alco"}, "plating"),
    ("SLM Δ1234 scratched", "SLM Δ1234", {"slm"}, "plating"),
    ("Porky etched", "Porky etched", {"porky"}, "cutting"),
    ("A PORKY PRIME CUT in the run-out", "A PORKY PRIME CUT", {"porky"}, "cutting"),
    ("MASTERDISK RL in the run-out", "RL", {"rl"}, "cutting"),
    ("IAM in a triangle in the wax", "IAM in a triangle", {"cap-scranton-iam"}, "plant"),
    ("wine glass symbol etched", "wine glass symbol", {"cap-winchester-rifle"}, "plant"),
    ("solid black diamond printed on the label", "solid black diamond", {"decus-pinckneyville-solid"}, "pressing-code"),
    ("run-out has an AB", "AB", {"abbey-ab"}, "plant"),
    ("stamped R", "R", {"rca-rockaway-r", "dec-r"}, ""),
    ("matrix stamped 4415-2S with an I.", "I", {"rca-indianapolis-i"}, "plant"),
    ("送り溝にJISの刻印", "JIS", {"jis"}, "plant"),
    ("In der Auslaufrille RL", "RL", {"rl"}, "cutting"),
    ("JIS mark in the run-out", "JIS mark", {"jis"}, "plant"),
    ("Matrix: 6303 044 1F // 1 ▽ 420", "▽ 420", {"philips-420"}, "cutting"),
]


@pytest.mark.parametrize(("text", "quote", "ids", "kind"), RESOLVED, ids=[r[0] for r in RESOLVED])
def test_marks_are_resolved(text: str, quote: str, ids: set[str], kind: str) -> None:
    hits = [h for h in find_marks(text, LEXICON) if text[h.start : h.end] == quote]
    assert len(hits) == 1, found(text)
    assert set(hits[0].marks) == ids
    assert hits[0].kind == kind
    assert hits[0].in_context
    assert hits[0].proves


INNOCENT = [
    # common practice, no source: words that are marks only beside a run-out cue and in the right case
    "In sterling condition, £18 sterling plus post from Winchester.",
    "Sterling sound, a real star turn; target price and precision grading.",
    "Pitman's only album for them; the Trident is on the label. I am at the anvil.",
    "A daisy on the cover and a diamond in the title.",
    "Tone arm set at 1.5 g, Townhouse address on request.",
    "Someone inked D.M.M. and a heart on side one.",
    "I can see nothing in the dead wax.",
    "Wally Dorrance on drums, strawberry jam stain.",
    "Ring me at 420 or 670 after six. Post to PR, RI or CT extra.",
    "He sings about a lyre, a rifle and a keystone.",
    "The wax is clean. Shipped with a keystone sticker from AB Records",
    "Cover has a star cut out; nothing else to tell.",
]


@pytest.mark.parametrize("text", INNOCENT)
def test_ordinary_words_are_no_marks(text: str) -> None:
    assert not [h for h in find_marks(text, LEXICON) if h.in_context]


def test_the_wrong_case_is_no_mark() -> None:
    assert not found("the run-out says sterling and precision")
    assert found("the run-out says STERLING and PRECISION")


def test_every_mark_that_is_read_by_words_is_found_by_each_of_its_letters() -> None:
    for mark in LEXICON.marks.values():
        if mark.read_by != "words":
            continue
        for letters in mark.letters:
            hits = find_marks(f'stamped "{letters}" here', LEXICON, True, context_is_label=True)
            assert any(mark.id in h.marks for h in hits), (mark.id, letters)


CLASSES = LEXICON.tables["mark_words"].entries


def _written(piece: str, n: int) -> str:
    """One way of writing a piece of a described form: the nth word of its class, or of its alternatives."""
    piece = piece.strip("[]")
    words = CLASSES[piece[1:-1]] if piece.startswith("<") else CLASSES["filler"] if piece == "~" else piece.split("|")
    return words[n % len(words)]


@pytest.mark.parametrize("n", range(8))
def test_every_described_form_finds_its_mark(n: int) -> None:
    for mark in LEXICON.marks.values():
        for says in mark.says:
            text = " ".join(_written(p, n) for p in says.split())
            hits = find_marks(f"here: {text}.", LEXICON, True, context_is_label=True)
            assert any(mark.id in h.marks for h in hits), (mark.id, text)


def test_cutting_and_plating_marks_warn_that_they_stay_on_the_metal_or_say_what_they_do_not_prove() -> None:
    for text in ("STERLING stamp", "circled MR in the wax", "MASTERDISK stamp"):
        (hit,) = find_marks(text, LEXICON)
        assert any("metal" in c for c in hit.cautions)


def test_only_published_safe_first_years_are_hard() -> None:
    assert find_marks("STERLING stamp", LEXICON)[0].not_before == 1968
    assert find_marks("SRC stamped", LEXICON)[0].not_before is None  # first year from memory
    assert LEXICON.marks["cap-jacksonville-0"].hard_floor is None  # from recollection: a question at most
    assert LEXICON.marks["kendun"].hard_floor is None


def test_the_caller_decides_what_is_run_out() -> None:
    text = "Side one AB, side two AB"
    assert not found(text)
    assert len(found(text, context_is_runout=True)) == 2
    assert len(found(text, context_is_runout=lambda start, end: start > 12)) == 1


def test_marks_printed_on_labels_need_the_label() -> None:
    assert not [
        h for h in find_marks("solid diamond in the dead wax", LEXICON) if "decus-pinckneyville-solid" in h.marks
    ]
    assert found("solid diamond printed on the label")


@given(st.data())
def test_the_filter_never_hides_what_an_expression_would_find(data: st.DataObject) -> None:
    _, parts, pattern = data.draw(st.sampled_from(index(LEXICON).patterns))
    text = data.draw(st.from_regex(pattern))
    assert all(any(x in text for x in choice) for choice in parts)


@given(st.text(max_size=300) | st.text(st.sampled_from("ABILRST*0ΔM▽ circled in a ring.\"'-/12"), max_size=200))
@settings(max_examples=200, deadline=None)
def test_any_text(text: str) -> None:
    hits = find_marks(text, LEXICON, True, context_is_label=True)
    assert all(0 <= h.start < h.end <= len(text) for h in hits)
    assert all(a.end <= b.start for a, b in pairwise(hits))
    assert hits == find_marks(text, LEXICON, True, context_is_label=True)
    assert len(unify(text, LEXICON)) == len(text)


@given(st.text(max_size=60))
@settings(max_examples=100, deadline=None)
def test_the_prefilter_changes_nothing(text: str) -> None:
    upper = unify(text + " SLM Δ123 (MR) RFR1", LEXICON)
    for _, parts, pattern in index(LEXICON).patterns:
        if pattern.search(upper):
            assert all(any(x in upper for x in choice) for choice in parts)


def test_data_patterns_are_compiled_with_their_groups() -> None:
    hits = find_marks("Δ17432x in the wax", LEXICON)
    assert hits[0].number == "17432X"
    assert re.fullmatch(r"\d+X", hits[0].number or "")


def test_the_name_of_a_street_in_a_title_is_no_address_on_the_label() -> None:
    from sayso.engine import audit_text
    from sayso.lexicon import load_lexicon

    lexicon = load_lexicon([EXAMPLES / "sandglass.toml"], user=False)

    def addresses(text: str) -> list[str]:
        return [c.quote for c in audit_text(text, lexicon).claims if c.feature == "label.address"]

    assert addresses("Tom Ennis & the Staithe Five - Net Loft Stomp (Sandglass SGL 1212)\n\nHourglass label, VG.") == []
    assert addresses("Net Loft Stomp (Sandglass SGL 1212)\n\nStaithe label, VG.") == ["Staithe"]
    assert addresses("Net Loft Stomp (Sandglass SGL 1212)\n\nWith Staithe Lane.") == ["Staithe Lane"]
