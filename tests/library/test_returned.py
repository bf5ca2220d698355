"""What comes back from a translator is merged; what was done here since is never overwritten."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercare.errors import BadInput
from aftercare.library.po import Entry, Key, Po, read_po, write_po
from aftercare.library.returned import Fate, Returned, take_back, to_send

HEADER = Entry("", "", ("Language: pl\nContent-Type: text/plain; charset=UTF-8\n",))
A, B, C = ("a", "One."), ("a", "Two."), ("b", "Three.")
WORDS = st.text("aż ć", max_size=6).map(str.strip)


def po(texts: Mapping[Key, str], header: Entry = HEADER) -> Po:
    listed = [Entry(*key, (text,), extracted=("care",)) for key, text in texts.items()]
    return read_po("x.po", write_po(header, listed))


def sent(ours: Po) -> Po:
    """The catalogue as a translator gets it."""
    assert ours.header is not None
    return read_po("sent.po", to_send(ours, ours.header, {}))


def changed(file: Po, texts: Mapping[Key, str]) -> Po:
    """A file after somebody wrote other words into it."""
    assert file.header is not None
    listed = [replace(e, msgstrs=(texts.get(e.key, e.msgstr),)) for e in file.entries]
    return read_po(file.place, write_po(file.header, listed))


def back(ours: Po, theirs: Po) -> Returned:
    return take_back("pl", ours, theirs, lambda entry: None)


def texts(done: Returned) -> dict[Key, str]:
    return {e.key: e.msgstr for e in read_po("x.po", done.raw).active()}


def fates(done: Returned) -> list[Fate]:
    return [one.fate for one in done.came]


def test_what_only_the_translator_changed_is_taken() -> None:
    ours = po({A: "Raz.", B: ""})

    done = back(ours, changed(sent(ours), {A: "Jeden.", B: "Dwa."}))

    assert texts(done) == {A: "Jeden.", B: "Dwa."}
    assert fates(done) == [Fate.TAKEN, Fate.TAKEN]


def test_what_was_changed_here_alone_stays() -> None:
    ours = po({A: "Raz.", B: "Dwa."})
    theirs = sent(ours)

    done = back(changed(ours, {A: "Jeden."}), theirs)

    assert texts(done)[A] == "Jeden."
    assert fates(done) == [Fate.OURS_NEWER, Fate.SAME]


def test_what_was_changed_on_both_sides_is_a_conflict_and_stays_ours() -> None:
    ours = po({A: "Raz."})
    theirs = changed(sent(ours), {A: "Pierwszy."})

    done = back(changed(ours, {A: "Jeden."}), theirs)

    assert texts(done) == {A: "Jeden."}
    assert [(one.key, one.fate) for one in done.came] == [(A, Fate.CONFLICT)]
    assert done.came[0].line > 0


def test_a_file_whose_marks_are_gone_fills_what_is_empty_and_overwrites_nothing() -> None:
    ours = po({A: "Raz.", B: ""})

    done = back(ours, po({A: "Jeden.", B: "Dwa."}))

    assert texts(done) == {A: "Raz.", B: "Dwa."}
    assert fates(done) == [Fate.CONFLICT, Fate.TAKEN]


def test_an_empty_translation_takes_nothing_away() -> None:
    ours = po({A: "Raz."})

    done = back(ours, changed(sent(ours), {A: " "}))

    assert (texts(done), fates(done)) == ({A: "Raz."}, [Fate.EMPTY])


def test_a_sentence_that_is_asked_no_longer_is_kept_as_obsolete() -> None:
    done = back(po({A: "Raz."}), po({A: "Raz.", C: "Trzy."}))

    kept = next(e for e in read_po("x.po", done.raw).entries if e.key == C)
    assert (kept.obsolete, kept.msgstr) == (True, "Trzy.")
    assert fates(done) == [Fate.SAME, Fate.NOT_ASKED]


def test_what_can_be_read_to_nobody_is_taken_as_fuzzy_with_the_reason() -> None:
    ours = po({A: "", B: ""})
    theirs = changed(sent(ours), {A: "Raz.", B: "Dwa."})

    done = take_back("pl", ours, theirs, lambda e: "no such slot" if e.key == A else None)

    assert [(e.key, e.fuzzy) for e in read_po("x.po", done.raw).active()] == [(A, True), (B, False)]
    assert [(one.fate, one.why) for one in done.came] == [
        (Fate.DOUBTFUL, "no such slot"), (Fate.TAKEN, ""),
    ]  # fmt: skip


def test_a_translators_doubt_and_notes_come_in_and_the_marks_do_not() -> None:
    ours = po({A: "Raz."})
    theirs = sent(ours)
    (entry,) = theirs.entries
    doubted = replace(entry, flags=("fuzzy",), comments=("is this formal?",))

    done = back(ours, replace(theirs, entries=(doubted,)))

    (held,) = read_po("x.po", done.raw).entries
    assert (held.fuzzy, held.comments, held.extracted) == (True, ("is this formal?",), ("care",))


def test_a_correction_of_a_stale_sentence_makes_it_usable() -> None:
    stale = Entry(*A, ("Raz.",), flags=("fuzzy",), previous=('msgid "Won."',))
    ours = read_po("x.po", write_po(HEADER, [stale]))
    theirs = sent(ours)
    (entry,) = theirs.entries

    done = back(ours, replace(theirs, entries=(replace(entry, flags=(), previous=()),)))

    (held,) = read_po("x.po", done.raw).entries
    assert (held.fuzzy, held.previous, done.came[0].fate) == (False, (), Fate.TAKEN)


@pytest.mark.parametrize(
    ("theirs", "said"),
    [
        (po({A: "x"}, Entry("", "", ("Language: ur\n",))), "a catalogue of 'ur', not pl"),
        (po({A: "x"}, Entry("", "", ("Content-Type: text/plain\n",))), "not a catalogue"),
        (read_po("t.po", b""), "not a catalogue"),
        (read_po("t.po", b"PK\x03\x04".replace(b"\x03\x04", b"")), "not a catalogue"),
        (replace(po({A: "x"}), faults=read_po("t.po", b"nonsense\n").faults), "t.po:1"),
    ],
)
def test_what_is_no_whole_catalogue_of_the_language_is_refused(theirs: Po, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        back(po({A: "Raz."}), theirs)


@given(st.fixed_dictionaries({key: st.tuples(WORDS, WORDS, WORDS) for key in (A, B, C)}))
@settings(max_examples=150, deadline=None)
def test_a_round_trip_keeps_ours_where_we_changed_it_and_takes_theirs_elsewhere(
    told: Mapping[Key, tuple[str, str, str]],
) -> None:
    base = po({key: before for key, (before, _, _) in told.items()})
    ours = changed(base, {key: mine for key, (_, mine, _) in told.items()})
    theirs = changed(sent(base), {key: yours for key, (_, _, yours) in told.items()})

    done = back(ours, theirs)

    for key, (before, mine, yours) in told.items():
        merged = texts(done)[key]
        if mine and mine != before:
            assert merged == mine
        elif not mine or mine == before:
            assert merged == (yours or mine)
    # What both changed, each otherwise, is told of; nothing else is.
    both = [k for k, (b, m, y) in told.items() if m and y and m != y and m != b and y != b]
    assert [one.key for one in done.of(Fate.CONFLICT)] == both


@given(st.fixed_dictionaries(dict.fromkeys((A, B, C), WORDS)))
@settings(max_examples=60, deadline=None)
def test_a_file_that_comes_back_as_it_went_changes_nothing(told: Mapping[Key, str]) -> None:
    ours = po(told)

    assert ours.header is not None
    assert back(ours, sent(ours)).raw == write_po(ours.header, ours.entries)
