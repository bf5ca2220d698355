"""The PO format: everything of a file is read, and written again without loss."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po as babel_read
from babel.messages.pofile import write_po as babel_write
from hypothesis import given, settings
from hypothesis import strategies as st

from aftercare.library.po import Entry, Po, read_po, unquoted, write_po

ROOT = Path(__file__).parents[2]
CATALOGUES = sorted((ROOT / "locales").glob("*/LC_MESSAGES/aftercare.po"))
HEADER = Entry("", "", ("Content-Type: text/plain; charset=utf-8\n",))
WHOLE = """\
# Translations.
msgid ""
msgstr ""
"Language: pl\\n"
"Content-Type: text/plain; charset=UTF-8\\n"

# a translator's note
#. care, bullets
#: content/a.md:3 content/b.md:9
#, fuzzy, python-brace-format
#| msgctxt "a"
#| msgid "Old {clinic_phone}."
msgctxt "a"
msgid "New {clinic_phone}."
msgstr "Nowe {clinic_phone}."

msgctxt "a"
msgid "Two\\nlines with \\"quotes\\" and a \\\\."
msgstr ""
"Dwie "
"linie"

# why it went
#, fuzzy
#~| msgid "Older."
#~ msgctxt "a"
#~ msgid "Gone."
#~ msgstr "Nie ma."
"""
TEXT = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Co", "Cn", "Zl", "Zp"))
    | st.sampled_from('\n\t"\\{}#~'),
    max_size=30,
).filter(
    lambda text: (
        not set(text) & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\ufeff\ufffd")
    )
)
COMMENT = st.text("abc äż", max_size=12).map(str.strip).filter(bool)


@st.composite
def entries(draw: st.DrawFn) -> list[Entry]:
    made = st.builds(
        Entry,
        context=st.sampled_from(["a", "b-c", "frame"]),
        msgid=TEXT.filter(bool),
        msgstrs=st.tuples(TEXT),
        comments=st.lists(COMMENT, max_size=2).map(tuple),
        extracted=st.lists(COMMENT, max_size=2).map(tuple),
        places=st.lists(st.sampled_from(["content/a.md:1", "shared/b:2"]), max_size=2).map(tuple),
        flags=st.sampled_from([(), ("fuzzy",), ("fuzzy", "python-brace-format")]),
        previous=st.sampled_from([(), ('msgid "Old"',)]),
    )
    listed = draw(st.lists(made, max_size=5, unique_by=lambda entry: entry.key))
    return [
        replace(e, obsolete=True, extracted=(), places=(), previous=())
        if draw(st.booleans())
        else e
        for e in listed
    ]


def read(text: str) -> Po:
    return read_po("x.po", text.encode())


def test_every_part_of_an_entry_is_read() -> None:
    po = read(WHOLE)
    first, second, third = po.entries

    assert (po.field("Language"), po.field("language"), po.field("X")) == ("pl", "pl", None)
    assert first == Entry(
        "a", "New {clinic_phone}.", ("Nowe {clinic_phone}.",),
        comments=("a translator's note",), extracted=("care, bullets",),
        places=("content/a.md:3", "content/b.md:9"), flags=("fuzzy", "python-brace-format"),
        previous=('msgctxt "a"', 'msgid "Old {clinic_phone}."'),
    )  # fmt: skip
    assert (first.line, first.usable) == (14, False)
    assert second.key == ("a", 'Two\nlines with "quotes" and a \\.')
    assert (second.msgstr, second.usable) == ("Dwie linie", True)
    assert (third.obsolete, third.usable, third.comments) == (True, False, ("why it went",))
    assert unquoted(first.previous) == {"msgctxt": "a", "msgid": "Old {clinic_phone}."}


@given(entries())
@settings(max_examples=150, deadline=None)
def test_what_is_written_is_read_back(listed: list[Entry]) -> None:
    po = read_po("x.po", write_po(HEADER, listed))

    assert po.faults == ()
    assert po.header == HEADER
    assert list(po.entries) == sorted(listed, key=lambda entry: entry.obsolete)


def test_what_an_obsolete_entry_was_made_for_stays_as_a_comment() -> None:
    # Babel cannot read "#~|" and loses the entry after it.
    gone = Entry("a", "x", ("y",), previous=('msgid "w"',), flags=("fuzzy",), obsolete=True)

    po = read_po("x.po", write_po(HEADER, [gone]))

    assert po.entries == (replace(gone, previous=(), comments=('made for: msgid "w"',)),)


def test_a_source_is_written_once_and_what_else_there_was_for_it_is_kept() -> None:
    # GNU gettext refuses a source that is in use and obsolete, or obsolete twice.
    now, was = Entry("a", "x", ("new",)), Entry("a", "x", ("old\n",), comments=("why",))
    older = replace(was, msgstrs=("older",), comments=(), obsolete=True)

    po = read_po("x.po", write_po(HEADER, [replace(was, obsolete=True), older, now]))

    said = ("why", "earlier translation: old\\n", "earlier translation: older")
    assert po.entries == (replace(now, comments=said),)


@given(entries())
@settings(max_examples=80, deadline=None)
def test_babel_reads_the_same_texts(listed: list[Entry]) -> None:
    # Babel is an independent reader of the format.
    theirs = babel_read(BytesIO(write_po(HEADER, listed)))

    told = {(m.context or "", m.id): (m.string, m.fuzzy) for m in theirs if m.id}
    assert told == {e.key: (e.msgstr, e.fuzzy) for e in listed if not e.obsolete}


@given(entries())
@settings(max_examples=80, deadline=None)
def test_what_babel_writes_is_read(listed: list[Entry]) -> None:
    catalog = Catalog(locale="pl")
    for entry in listed:
        if not entry.obsolete:
            catalog.add(entry.msgid, entry.msgstr, context=entry.context, flags=entry.flags)
    written = BytesIO()
    babel_write(written, catalog, width=40)

    po = read_po("x.po", written.getvalue())

    assert po.faults == ()
    assert {e.key: e.msgstr for e in po.entries} == {
        e.key: e.msgstr for e in listed if not e.obsolete
    }


@given(listed=entries())
@settings(max_examples=8, deadline=None)
def test_gnu_gettext_accepts_what_is_written(
    listed: list[Entry], tmp_path_factory: pytest.TempPathFactory
) -> None:
    """An outside judge: msgfmt of GNU gettext, without -c, which asks more of a header."""
    msgfmt = shutil.which("msgfmt")
    if msgfmt is None:
        pytest.skip("GNU gettext is not installed")
    path = tmp_path_factory.mktemp("po") / "x.po"
    path.write_bytes(write_po(HEADER, listed))

    judged = subprocess.run([msgfmt, "-o", "/dev/null", str(path)], capture_output=True, text=True)

    assert judged.returncode == 0, judged.stderr


@pytest.mark.parametrize("path", CATALOGUES, ids=lambda path: path.parts[-3])
def test_a_catalogue_that_ships_is_written_again_byte_for_byte(path: Path) -> None:
    raw = path.read_bytes()
    po = read_po(str(path), raw)

    assert po.header is not None
    again = read_po(str(path), write_po(po.header, po.entries))
    assert (again.header, again.entries, again.faults) == (po.header, po.entries, ())


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("nonsense\n", 1, "not a line"),
        ('msgid "x"\n', 1, "missing msgstr"),
        ('msgid "x"\nmsgid_plural "y"\nmsgstr "z"\n', 1, "missing msgstr[0]"),
        ('msgctxt "a"\nmsgstr "z"\n', 1, "missing msgid"),
        ('"x"\n', 1, "text before any msgid"),
        ('msgid "x"\nmsgstr "y"\nmsgstr "y"\n', 3, "msgstr twice"),
        ('msgid "x"\nmsgstr "\\q"\n', 2, "the escape \\q"),
        ('msgid "x"\nmsgstr "y"\n\nmsgid "x"\nmsgstr "y"\n', 4, "the same source twice"),
        ('msgid ""\nmsgstr "A: b\\n"\n\nmsgid ""\nmsgstr "A: b\\n"\n', 4, "a second header"),
        ('msgid "x"\nmsgstr "half a l', 2, "not a line"),
        ('msgid "x"\nmsgstr "whole"', 2, "in the middle of a line"),
    ],
)
def test_what_cannot_be_read_is_told_of_by_its_line(text: str, line: int, said: str) -> None:
    fault = read(text).faults[0]

    assert fault.place == f"x.po:{line}"
    assert said in fault.problem


def test_a_fault_costs_its_own_entry_and_no_other() -> None:
    po = read(WHOLE.replace('msgstr "Nowe', "msgstr Nowe"))

    assert len(po.faults) == 1
    assert [e.msgid for e in po.active()] == ['Two\nlines with "quotes" and a \\.']


@pytest.mark.parametrize("before", ['msgctxt "a"\nmsgid "Two', "# why it went", "# a translator's"])
def test_a_stray_line_between_entries_costs_none_of_them(before: str) -> None:
    assert before in WHOLE

    po = read(WHOLE.replace(before, f"nonsense\n\n{before}"))

    assert len(po.faults) == 1
    assert len(po.entries) == 3
    assert po.field("Language") == "pl"


@given(cut=st.integers(0, len(WHOLE.encode()) - 1))
@settings(max_examples=100, deadline=None)
def test_a_file_that_breaks_off_in_a_line_has_a_fault(cut: int) -> None:
    half = WHOLE.encode()[:cut]

    po = read_po("x.po", half)

    assert not half or half.endswith(b"\n") or po.faults
