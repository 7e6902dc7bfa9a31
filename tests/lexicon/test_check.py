"""Damaged data files: each kind of damage is found and told in one line that names file, key, and what to do."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from sayso.lexicon import Lexicon, LexiconError, load_lexicon
from sayso.lexicon.check import check
from sayso.lexicon.load import user_folder

MARK = """
[[mark]]
id = "test-mark"
name = "a spade"
kind = "plant"
who = "an invented plant"
proves = "pressed there"
form = "a spade"
method = "stamped"
country = "US"
basis = "published"
sources = 1
source = "an invented book, p. 1"
says = ["spade mark"]
"""
SYSTEM = """
[[system]]
id = "test_system"
name = "An invented maker"
labels = ["Norbel"]
basis = "common practice"
source = "invented for this test"
[[system.patterns]]
regex = '(?P<prefix>NB){s}(?P<number>{d}{3})'
"""
TABLE = """
[[table]]
id = "test_table"
name = "an invented table"
kind = "digits"
basis = "published"
source = "an invented book, p. 2"
entries = { N = 1, O = 2 }
"""
TERM = """
[[term]]
feature = "deadwax.plant_mark"
forms = ["spade"]
value = "spade"
"""

LABEL = """
[[label]]
name = "Norbel"
record = "Artist - Title"
number = "NB 101"
basis = "memory"
counts_as_first = ["first"]
[[label.era]]
design = "moth"
earliest = 1954
latest = 1961
catalogue_from = "NB 101"
catalogue_to = "NB 150"
basis = "memory"
[label.parts.plant.spade]
"deadwax.plant_mark" = "spade"
[[label.pressings]]
id = "first"
years = [1957, 1961]
[label.pressings.uses]
plant = { spade = 1.0 }
"""

FACT = """
[[fact]]
id = "test-fact"
sign = "a printed owl"
carriers = ["label"]
earliest = "1960"
hard = true
statement = "Owls came in 1960."
basis = "published"
source = "an invented book, p. 3"
[[fact.trigger]]
patterns = ['owl']
on = ["label"]
"""
SIGN = """
[[label.sign]]
patterns = ['moth']
era = 1
"""
TEMPLATE = """
[[template]]
id = "en.own"
lang = "en"
features = ["edition.year"]
zone = "label"
text = "What about {NAME}?"
"""
PREFIXES = 'mono_prefixes = ["NB"]\nstereo_prefixes = ["NB"]\nbasis = "memory"\n'
NUMBERS = '[[label.numbers]]\nfirst = "NB 1"\nlast = "NB 9"\nearliest = 1958\nlatest = 1955\n'
SECOND = """
[label.parts.plant.owl]
"deadwax.plant_mark" = "owl"
[[label.pressings]]
id = "second"
years = [1965, 1966]
[label.pressings.uses]
plant = { owl = 1.0 }
"""

DAMAGE = [
    # name, content, what the line must say
    ("broken.toml", "[[mark]\nid = ", "not valid TOML"),
    ("broken.json", "{", "not valid JSON"),
    ("list.json", "[1, 2]", "table of lists"),
    ("unknown.toml", '[[marks]]\nid = "x"', "unknown kind of entry"),
    ("single.toml", '[mark]\nid = "x"', "written as [[mark]]"),
    ("key.toml", MARK + 'colour = "red"\n', "unknown key"),
    ("missing.toml", MARK.replace('kind = "plant"\n', ""), "key kind: this key is missing"),
    ("value.toml", MARK.replace('"plant"', '"factory"'), "key kind"),
    ("source.toml", MARK.replace("an invented book, p. 1", "no source found"), "no source is named"),
    ("empty.toml", MARK.replace('source = "an invented book, p. 1"', 'source = ""'), "key source"),
    ("memory.toml", MARK.replace('"published"', '"memory"'), "memory_fields"),
    ("years.toml", MARK + "earliest = 1970\nlatest = 1960\n", "1970 is after latest 1960"),
    ("nothing.toml", MARK.replace('says = ["spade mark"]', ""), "nothing to recognise it by"),
    ("twice.toml", MARK + MARK, "id is used twice"),
    ("regex.toml", MARK + "patterns = ['SP(ADE']\n", "no regular expression"),
    ("slow.toml", MARK + "patterns = ['(A+)+B']\n", "bounded repetition"),
    ("group.toml", MARK + "patterns = ['(?:AB){1,9}']\n", "group must not be repeated"),
    ("back.toml", MARK + "patterns = ['(A)\\1']\n", "back-references"),
    ("wide.toml", MARK + "patterns = ['A{1,9999}']\n", "repetition"),
    ("slowsys.toml", SYSTEM.replace("{d}{3}", ".*"), "bounded repetition"),
    ("nopattern.toml", SYSTEM.split("[[system.patterns]]")[0], "key patterns"),
    ("table.toml", SYSTEM.replace("{d}{3}", "{table:nowhere}"), "names the table nowhere, which does not exist"),
    ("marks.toml", SYSTEM.replace("[[system.patterns]]", 'marks = ["nowhere"]\n[[system.patterns]]'), "mark nowhere"),
    ("nogroup.toml", SYSTEM + 'digits = ["cut"]\n', "has no group cut"),
    ("digits.toml", TABLE.replace("O = 2", "O = 1"), "same figure"),
    ("letters.toml", TABLE.replace("O = 2", "OO = 2"), "single letters"),
    ("dates.toml", TABLE.replace('"digits"', '"dates"').replace("N = 1, O = 2", 'N = "June"'), "must be written YYYY"),
    ("words.toml", TABLE.replace('"digits"', '"words"'), "must be a list of texts"),
    ("count.toml", TABLE.replace('"digits"', '"count"'), "needs letters"),
    ("claimed.toml", TERM + TERM.replace("plant_mark", "mastering_mark"), "'spade' is claimed by"),
    ("feature.toml", TERM.replace("plant_mark", "plant_mork"), "which does not exist"),
    ("noname.toml", LABEL.replace('name = "Norbel"\n', ""), "a label needs a name"),
    ("era.toml", LABEL.replace("earliest = 1954", "earliest = 1964"), "ends (1961) before it begins (1964)"),
    ("eradate.toml", LABEL.replace("earliest = 1954", 'earliest = "spring"'), "is not a date"),
    ("eranumbers.toml", LABEL.replace('"NB 150"', '"NB 15"'), "down to NB 15"),
    ("erasource.toml", LABEL.replace('"NB 150"\nbasis = "memory"', '"NB 150"'), "says published and names no source"),
    ("shares.toml", LABEL.replace("spade = 1.0", "spade = 0.7"), "add up to 0.7, not 1"),
    ("share.toml", LABEL.replace("spade = 1.0", "spade = 1.7"), "key pressings.0.uses.plant.spade"),
    ("part.toml", LABEL.replace("plant = { spade", "plant = { shovel"), "does not have"),
    ("first.toml", LABEL.replace('["first"]', '["second"]'), "is no pressing here"),
    ("years2.toml", LABEL.replace("[1957, 1961]", "[1961, 1957]"), "in order"),
    ("same.toml", LABEL + '[[label.pressings]]\nid = "first"\n', "same id"),
    (
        "decides.toml",
        LABEL + '[[label.decides]]\nfeature = "deadwax.plant_mark"\npressing = "x"\n',
        "which is not here",
    ),
    ("decides2.toml", LABEL + '[[label.decides]]\nfeature = "deadwax.plant_mork"\n', "does not exist"),
    ("feature2.toml", LABEL.replace('"deadwax.plant_mark"', '"deadwax.mork"'), "does not exist"),
    ("left.toml", LABEL + '[[label.leftover]]\nwhat = "labels"\non = "x"\n', "leftover names the pressing 'x'"),
    ("plant.toml", LABEL + '[[label.plants]]\nname = "W"\nsince = 1960\nuntil = 1950\n', "pressed from 1960 to 1950"),
    (
        "decides3.toml",
        LABEL + '[[label.decides]]\nfeature = "deadwax.plant_mark"\nvalue = "owl"\n',
        "no variant of [parts]",
    ),
    (
        "decides4.toml",
        LABEL.replace("[[label.pressings]]", SECOND + "[[label.pressings]]")
        + '[[label.decides]]\nfeature = "deadwax.plant_mark"\nvalue = "spade"\npressing = "second"\n',
        "is second, which does not show it",
    ),
    (
        "sign.toml",
        LABEL.replace("[label.parts", SIGN.replace("era = 1", "era = 5") + "[label.parts", 1),
        "belongs to era 5",
    ),
    ("prefix.toml", LABEL.replace('basis = "memory"\n', PREFIXES, 1), "for mono and for stereo"),
    ("numbers.toml", LABEL.replace("[label.parts", NUMBERS + "[label.parts", 1), "ends (1955) before it begins (1958)"),
    ("copies.toml", LABEL.replace("years =", "copies = 0\nyears ="), "no pressing has any copies"),
    ("worth.toml", LABEL.replace("counts_as_first", "worth = { first = -5 }\ncounts_as_first"), "below nought"),
    ("worth2.toml", LABEL.replace("counts_as_first", "worth = { third = 5 }\ncounts_as_first"), "which is not here"),
    (
        "assume.toml",
        LABEL.replace("counts_as_first", 'assume = { "x" = [5, 9, 6] }\ncounts_as_first'),
        "low <= value <= high",
    ),
    (
        "assume2.toml",
        LABEL.replace("counts_as_first", 'assume = { "x" = 0.5 }\ncounts_as_first'),
        "assumption x, which",
    ),
    ("old.toml", LABEL.replace("1957, 1961", "197, 1961"), "key pressings.0.years"),
    ("basis.toml", LABEL.replace('basis = "memory"', 'basis = "rumour"', 1), "'rumour' is not known"),
    (
        "erabasis.toml",
        LABEL.replace('"NB 150"\nbasis = "memory"', '"NB 150"\nbasis = "rumour"'),
        "'rumour' is not known",
    ),
    ("nosource.toml", LABEL.replace('basis = "memory"', 'basis = "published"', 1), "no source is named"),
    (
        "left2.toml",
        LABEL + '[[label.leftover]]\nwhat = "labels"\nfeature = "label.desing"\n',
        "feature label.desing, which does not exist",
    ),
    ("factdates.toml", FACT.replace("hard =", 'latest = "1950"\nhard ='), "ends (1950) before it begins (1960)"),
    ("factdates2.toml", FACT + 'latest = "1950"\n', "trigger 1 ends (1950)"),
    ("factday.toml", FACT.replace("1960", "1960-13"), "is not a date"),
    ("factmemory.toml", FACT.replace('"published"', '"from memory"'), "is never hard"),
    ("factsource.toml", FACT.replace("an invented book, p. 3", ""), "no source is named"),
    ("factslow.toml", FACT.replace("'owl'", "'(?:o+w)+l'"), "must not stand in a group that repeats again"),
    (
        "signslow.toml",
        LABEL.replace("[label.parts", SIGN.replace("moth", "(m*o)*") + "[label.parts", 1),
        "repeats again",
    ),
    ("factregex.toml", FACT.replace("'owl'", "'(owl'"), "is not a regular expression"),
    (
        "need.toml",
        '[[need]]\nprofile = "anyy"\nfeature = "edition.year"\nneed = "decisive"\nwhy = "x"\n',
        "profile anyy",
    ),
    ("bomb.toml", TERM.replace('"spade"]', '"' + "{a|b|c|d}" * 12 + '"]'), "more than 20000 forms"),
    ("long.toml", TERM.replace('"spade"]', '"' + "a" * 5000 + '"]'), "is too long"),
    ("deep.toml", "x = " + "[" * 5000 + "]" * 5000, "nested too deep"),
    ("deep.json", "[" * 100_000 + "]" * 100_000, "nested too deep"),
    ("reach.toml", '[[phrase]]\nid = "x"\ntext = "{what.__class__}"\n', "only a plain name may stand in braces"),
    ("places.toml", '[[phrase]]\nid = "report.no_odds"\ntext = "{nobody}"\n', "nothing is known to fill {nobody}"),
    ("braces.toml", '[[phrase]]\nid = "report.no_odds"\ntext = "{why"\n', "braces do not close"),
    ("template.toml", TEMPLATE.replace("NAME", "nobody"), "nothing is known to fill {nobody}"),
    ("template2.toml", TEMPLATE.replace("NAME", "quote").replace("edition.year", "edition.yaer"), "does not exist"),
    ("class.toml", MARK.replace('["spade mark"]', '["<spoon> mark"]'), "the class of words <spoon>"),
    ("short.json", '{"plants": [{"name": "Hobarth"}]}', "mark is missing"),
    ("short2.json", '{"plants": [{"mark": "spade", "colour": "red"}]}', "unknown key colour"),
    ("short3.json", '{"labels": [{"name": "Norbel", "addresses": "1 Elm St."}]}', "addresses must be a list"),
    ("short4.json", '{"words": {"spade": ["Spaten"]}}', "list of texts for each language"),
    ("short5.json", '{"cutting": ["DQ"]}', "must be an entry"),
]


@pytest.mark.parametrize(("name", "content", "says"), DAMAGE, ids=[d[0] for d in DAMAGE])
def test_damage_is_found_and_told(tmp_path: Path, name: str, content: str, says: str) -> None:
    file = tmp_path / name
    file.write_text(content, encoding="utf-8")
    errors = [str(p) for p in check([file]) if p.grade == "error"]
    assert any(says in e for e in errors), errors
    assert all(str(file) in e and "\n" not in e and "Traceback" not in e for e in errors)


NOTES = [
    # name, content, what the note must say
    ("term.toml", TERM.replace("spade", "deep groove"), "'deep groove' already speaks of label.deep_groove"),
    (
        "alias.toml",
        LABEL.replace("[[label.era]]", "[[label.era]]", 1).replace('"NB 101"', '"NB 101"\naliases = ["{name}"]', 1),
        "is a name of the label",
    ),
    ("empty.toml", "# nothing yet\n", "holds no entry"),
    ("older.toml", LABEL.replace("[1957, 1961]", "[1950, 1961]"), "older than the first era of the label (1954)"),
    (
        "older2.toml",
        LABEL.replace("[[label.pressings]]", SECOND.replace("1965, 1966", "1955, 1956") + "[[label.pressings]]"),
        "count as first",
    ),
]


@pytest.mark.parametrize(("name", "content", "says"), NOTES, ids=[n[0] for n in NOTES])
def test_what_is_worth_knowing_is_noted(tmp_path: Path, name: str, content: str, says: str) -> None:
    file = tmp_path / name
    shipped = next(x.name for x in load_lexicon(user=False).labels.values() if x.era)
    file.write_text(content.replace("{name}", shipped), encoding="utf-8")
    problems = check([file])
    assert any(says in str(p) and p.grade == "note" for p in problems), [str(p) for p in problems]


def test_bytes_that_are_no_text(tmp_path: Path) -> None:
    file = tmp_path / "bytes.toml"
    file.write_bytes(b"\xff\xfe\x00id = 1")
    assert "cannot be read" in str(check([file])[0])


def test_a_sound_file_passes(tmp_path: Path) -> None:
    file = tmp_path / "sound.toml"
    file.write_text(MARK + SYSTEM + TABLE + TERM + LABEL, encoding="utf-8")
    assert not check([file])


def test_several_problems_are_told_at_once(tmp_path: Path) -> None:
    (tmp_path / "one.toml").write_text(MARK + 'colour = "red"\n', encoding="utf-8")
    (tmp_path / "two.toml").write_text("[[", encoding="utf-8")
    assert {Path(p.file).name for p in check([tmp_path])} == {"one.toml", "two.toml"}


def test_replacing_a_shipped_entry_is_a_note(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(MARK.replace("test-mark", "sterling"), encoding="utf-8")
    assert [p.grade for p in check([file])] == ["note"]


ERA = '[[label.era]]\ndesign = "{}"\nchannels = "{}"\nearliest = {}\nlatest = {}\nbasis = "memory"\n'


@pytest.mark.parametrize(
    ("second", "says"),
    [
        (ERA.format("owl", "mono", 1959, 1964), "overlap"),
        (ERA.format("owl", "mono", 1966, 1970), "there is a hole from 1961 to 1966"),
        (ERA.format("owl", "mono", 1962, 1970), None),
        (ERA.format("owl", "stereo", 1959, 1964), None),
        (ERA.format("moth", "mono", 1962, 1970), "two eras have the design 'moth'"),
        # Between them an era of the same kind goes on: no hole.
        (ERA.format("owl", "mono", 1950, 1966) + ERA.format("grey", "mono", 1966, 1970), "overlap"),
    ],
)
def test_eras_that_overlap_or_leave_holes_are_noted(tmp_path: Path, second: str, says: str | None) -> None:
    file = tmp_path / "label.toml"
    head = '[[label]]\nname = "Norbel"\nbasis = "memory"\n'
    file.write_text(head + ERA.format("moth", "mono", 1954, 1961) + second, encoding="utf-8")
    found = [str(p) for p in check([file]) if p.grade == "note"]
    assert (says is None and not found) or (says and says in found[0])


def test_a_contradictory_dossier_is_refused_and_not_used(tmp_path: Path) -> None:
    file = tmp_path / "label.toml"
    file.write_text(LABEL.replace("spade = 1.0", "spade = 0.7"), encoding="utf-8")
    with pytest.raises(LexiconError, match=r"label\.toml.*add up to 0\.7"):
        _ = Lexicon((file,)).labels


def test_notes_on_a_label_do_not_replace_its_history(tmp_path: Path) -> None:
    full, notes = tmp_path / "1.toml", tmp_path / "2.json"
    full.write_text(
        LABEL.replace('number = "NB 101"\n', "").replace('record = "Artist - Title"\n', ""), encoding="utf-8"
    )
    notes.write_text('{"labels": [{"name": "Norbel"}, {"name": "Quendle", "country": "UK"}]}', encoding="utf-8")
    for order in ((full, notes), (notes, full)):
        labels = Lexicon(order).labels
        assert len(labels["norbel"].era) == 1
        assert labels["quendle"].country == "UK"


def test_a_path_that_does_not_exist(tmp_path: Path) -> None:
    assert "no such file or folder" in str(check([tmp_path / "nowhere"])[0])


def test_later_data_win_and_nothing_else_changes(tmp_path: Path) -> None:
    one, two = tmp_path / "1.toml", tmp_path / "2.toml"
    one.write_text(MARK.replace("test-mark", "sterling"), encoding="utf-8")
    two.write_text(MARK.replace("test-mark", "sterling").replace("a spade", "a shovel"), encoding="utf-8")
    lexicon = Lexicon((one, two))
    assert lexicon.marks["sterling"].name == "a shovel"
    assert len(lexicon.marks) == len(load_lexicon(user=False).marks)


def test_the_users_own_folder_is_read_and_can_be_left_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("platformdirs.user_config_path", lambda name: tmp_path / name)
    folder = user_folder()
    folder.mkdir(parents=True)
    (folder / "mine.toml").write_text(MARK, encoding="utf-8")
    assert "test-mark" in load_lexicon().marks
    assert "test-mark" not in load_lexicon(user=False).marks
    other = tmp_path / "passed.toml"
    other.write_text(MARK.replace("a spade", "a shovel"), encoding="utf-8")
    assert load_lexicon([other]).marks["test-mark"].name == "a shovel"


def test_a_damaged_file_in_the_users_folder_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("platformdirs.user_config_path", lambda name: tmp_path / name)
    user_folder().mkdir(parents=True)
    (user_folder() / "mine.toml").write_text("[[", encoding="utf-8")
    with pytest.raises(LexiconError, match=r"mine\.toml"):
        load_lexicon()


@pytest.mark.skipif(not hasattr(os, "symlink"), reason="no symbolic links here")
def test_data_never_read_outside_their_folder(tmp_path: Path) -> None:
    secret = tmp_path / "secret.toml"
    secret.write_text(MARK, encoding="utf-8")
    folder = tmp_path / "own"
    folder.mkdir()
    (folder / "link.toml").symlink_to(secret)
    assert "test-mark" not in Lexicon((folder,)).marks


def test_data_are_never_run(tmp_path: Path) -> None:
    file = tmp_path / "code.toml"
    code = "{size.__class__.__mro__} __import__('os').system('false') {0}"
    file.write_text(
        '[[table]]\nid = "ring_words"\nname = "x"\nkind = "map"\nbasis = "common practice"\nsource = "invented"\n'
        f'entries = {{ en = "{code}" }}\n',
        encoding="utf-8",
    )
    from sayso.lexicon.geometry import ring_in_words

    assert ring_in_words(12, Lexicon((file,))) == code
