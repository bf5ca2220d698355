"""A translator's table that came back: what it says is taken, what a program did to it is seen."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from aftercare.errors import BadInput
from aftercare.library.po import Entry, Po, id_of, read_po, write_po
from aftercare.library.returned import Fate, Returned, state_mark, take_back
from aftercare.library.tabled import from_cell, from_table, mark_cell, plain, shown

HEADER = Entry("", "", ("Language: pl\nPlural-Forms: nplurals=3; plural=0;\n",))
DRY = Entry("water", "Keep it dry.", ("Proszę nie moczyć ucha.",))
SWIM = Entry("water", "Do not swim.", ("Proszę nie pływać.",), flags=("fuzzy",))
NEW = Entry("care", "Rest.", ("",))
MANY = Entry("visit", "It takes a minute.", ("raz", "dwa", "trzy"), plural="It takes {n} minutes.")
OURS = (DRY, SWIM, NEW, MANY)


def ours(*entries: Entry) -> Po:
    return read_po("pl.po", write_po(HEADER, entries or OURS))


def row(entry: Entry, **changed: str) -> dict[str, str]:
    return {
        "id": id_of(entry.key),
        "source": plain(entry.key[1].replace("\0", " / ")),
        "translation": plain(shown(entry)),
        "language": "pl",
        "as sent": mark_cell(state_mark(entry)),
    } | changed


def came(*rows: Mapping[str, str], to: Po | None = None) -> Returned:
    here = to or ours()
    theirs = from_table("back.csv", enumerate(rows, 2), here)
    return take_back("pl", here, theirs, lambda entry: None)


def after(done: Returned) -> dict[str, tuple[str, ...]]:
    return {one.msgid: one.msgstrs for one in read_po("x", done.raw).entries}


def test_a_table_that_comes_back_as_it_went_changes_nothing() -> None:
    done = came(*map(row, OURS))

    assert [one.fate for one in done.came] == [Fate.SAME, Fate.SAME, Fate.EMPTY, Fate.SAME]
    assert done.raw == write_po(HEADER, OURS)


def test_what_a_translator_wrote_is_taken_in_any_order_of_rows() -> None:
    done = came(row(NEW, translation="Odpoczynek."), row(SWIM, translation="Nie pływać."))

    told = after(done)
    assert (told["Rest."], told["Do not swim."]) == (("Odpoczynek.",), ("Nie pływać.",))
    assert [(one.fate, one.line) for one in done.came] == [(Fate.TAKEN, 2), (Fate.TAKEN, 3)]
    assert all(not one.fuzzy for one in read_po("x", done.raw).entries)


def test_newer_work_here_is_never_overwritten() -> None:
    newer = ours(Entry("water", "Keep it dry.", ("Ucho ma być suche.",)))

    done = came(row(DRY, translation="Nie moczyć."), to=newer)
    unmarked = came(row(DRY, translation="Nie moczyć.", **{"as sent": ""}))
    unchanged = came(row(DRY), to=newer)

    assert [one.fate for one in done.came] == [Fate.CONFLICT]
    assert [one.fate for one in unmarked.came] == [Fate.CONFLICT]
    assert [one.fate for one in unchanged.came] == [Fate.OURS_NEWER]
    assert after(done)["Keep it dry."] == ("Ucho ma być suche.",)


def test_each_form_of_a_number_is_taken() -> None:
    done = came(row(MANY, translation="raz / dwa razy / trzy"))

    assert after(done)["It takes a minute."] == ("raz", "dwa razy", "trzy")


def test_a_cell_guarded_against_formulas_says_what_it_said() -> None:
    for text in ("- tak", "=1", "'cudzysłów", "+44", "zwykły"):
        assert from_cell(plain(text)) == text


def test_a_sentence_asked_no_longer_is_kept_with_its_words() -> None:
    gone = Entry("old", "Gone.", ("Nie ma.",))

    done = came(row(gone))

    assert [one.fate for one in done.came] == [Fate.NOT_ASKED]
    assert after(done)["Gone."] == ("Nie ma.",)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"translation": "Prosz? nie moczy? ucha."}, "question marks"),
        ({"translation": DRY.msgstr.encode().decode("cp1252")}, "another set of letters"),
        ({"translation": DRY.msgstr.encode().decode("latin-1")}, "another set of letters"),
        ({"source": "Keep it wet."}, "not the one of this id"),
        ({"id": "water#00000000"}, "not the one of this id"),
    ],
)
def test_what_a_program_or_a_slip_has_spoilt_is_refused_with_its_row(
    changed: dict[str, str], said: str
) -> None:
    with pytest.raises(BadInput, match=said) as refused:
        came(row(SWIM), row(DRY, **changed))

    assert refused.value.place == "back.csv:3"


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ((row(DRY), row(DRY)), "comes twice"),
        ((row(DRY), row(SWIM, language="cs")), "another language"),
        ((row(DRY, language="cs"),), "a catalogue of 'cs', not pl"),
        ((row(MANY, translation="raz / dwa"),), "2 forms of a sentence"),
        ((), "no header"),
    ],
)
def test_a_table_that_cannot_be_trusted_is_refused(
    rows: tuple[dict[str, str], ...], said: str
) -> None:
    with pytest.raises(BadInput, match=said):
        came(*rows)
