"""Catalogues: only whole, fit, approved entries pass, and a mistake names its line."""

from __future__ import annotations

from io import BytesIO

import pytest
from babel.messages.catalog import Catalog
from babel.messages.pofile import write_po
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import refusal_of

from aftercare.errors import BadContent
from aftercare.library.catalogues import digest, direction, languages, parse_catalogue

PO = """\
msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\\n"

msgctxt "a-block"
msgid "Call {clinic_phone} **now**."
msgstr "Dzwoń **teraz**: {clinic_phone}."

msgctxt "b-block"
msgid "Wax is normal."
msgstr "Woskowina jest normalna."
"""
KEY = ("a-block", "Call {clinic_phone} **now**.")


def read(po: str | bytes, approvals: str | None = None) -> dict[tuple[str, str], tuple[str, bool]]:
    raw = po.encode() if isinstance(po, str) else po
    beside = None if approvals is None else ("locales/pl/approvals.toml", approvals.encode())
    found = parse_catalogue("pl", "pl.po", raw, beside).phrases
    return {key: (one.phrase.msgid, one.approved) for key, one in found.items()}


def refusal(po: str | bytes, approvals: str | None = None) -> BadContent:
    with pytest.raises(BadContent) as caught:
        read(po, approvals)
    return caught.value


def approving(*strings: str) -> str:
    listed = ", ".join(f'"{one}"' for one in strings)
    who = 'by = "A. Reader"\nrole = "reviewer"\ndate = 2026-11-20'
    return f"[[approval]]\n{who}\nstrings = [{listed}]\n"


def test_entries_are_found_by_block_and_source() -> None:
    assert read(PO)[KEY] == ("Dzwoń **teraz**: {clinic_phone}.", False)


def test_an_approval_counts_for_these_very_words_alone() -> None:
    mark = digest(*KEY, "Dzwoń **teraz**: {clinic_phone}.")

    assert read(PO, approving(mark))[KEY][1]
    assert not read(PO.replace("teraz", "zaraz"), approving(mark))[KEY][1]
    assert not read(PO.replace("now", "soon"), approving(mark))[
        (KEY[0], KEY[1].replace("now", "soon"))
    ][1]
    other_place = PO.replace('msgctxt "a-block"', 'msgctxt "c-block"')
    assert not read(other_place, approving(mark))[("c-block", KEY[1])][1]


def test_line_breaks_of_the_file_do_not_undo_an_approval() -> None:
    mark = digest(*KEY, "Dzwoń **teraz**: {clinic_phone}.")
    wrapped = PO.replace('msgstr "Dzwoń ', 'msgstr ""\n"Dzwoń "\n"')

    assert read(wrapped, approving(mark))[KEY][1]


@pytest.mark.parametrize("flag", ["#, fuzzy\n", "#, python-brace-format, fuzzy\n"])
def test_a_fuzzy_entry_counts_as_untranslated(flag: str) -> None:
    assert KEY not in read(PO.replace('msgctxt "a-block"', f'{flag}msgctxt "a-block"'))


def test_the_header_empty_and_obsolete_entries_are_no_translations() -> None:
    po = PO.replace('"Woskowina jest normalna."', '""') + '\n#~ msgid "Old"\n#~ msgstr "Stare"\n'

    assert set(read(po)) == {KEY}


@pytest.mark.parametrize("context", ["clinic", "frame", "b-block"])
def test_the_header_can_reach_no_patient_whatever_context_it_is_given(context: str) -> None:
    """GNU gettext answers a look-up of "" with the header of the file (manual, 'Header Entry')."""
    again = f'\nmsgctxt "{context}"\nmsgid ""\nmsgstr "Project-Id-Version: x\\nLanguage: pl\\n"\n'

    assert all(msgid for _, msgid in read(PO))
    assert not any("Project-Id-Version" in said for said, _ in read(PO).values())
    with pytest.raises(BadContent, match=r"^pl\.po:\d+: .*empty source"):
        read(PO + again)


@pytest.mark.parametrize(
    ("wrong", "word"),
    [
        ("Dzwoń teraz.", "slots"),
        ("Dzwoń {telefon}.", "no slot is called"),
        ("Dzwoń {clinic_phone} {clinic_phone}.", "slots"),
        ("Dzwoń {clinic_text_number}.", "slots"),
        ("Dzwoń {clinic_phone.", "brace"),
        ("Dzwoń {clinic_phone} albo 112.", "112"),
        ("**Dzwoń {clinic_phone}**teraz.", "mark"),
        ("`Dzwoń` {clinic_phone}", "mark"),
        ("[side:left] Dzwoń {clinic_phone}", "brackets"),
        ("Dzwoń \u202e{clinic_phone}", "U+202E"),
        ("   ", "empty"),
    ],
)
def test_a_translation_that_changes_more_than_words_is_refused(wrong: str, word: str) -> None:
    refused = refusal(PO.replace("Dzwoń **teraz**: {clinic_phone}.", wrong))

    assert word in refused.problem
    # U+202E is found in the raw file, on the line of the translation itself.
    assert refused.place == ("pl.po:7" if word == "U+202E" else "pl.po:6")


def test_markup_in_a_translation_stays_text() -> None:
    found = read(PO.replace("Woskowina", "<b>Woskowina</b> &amp;"))

    assert found[("b-block", "Wax is normal.")][0] == "<b>Woskowina</b> &amp; jest normalna."


def test_opening_hours_may_hold_figures() -> None:
    po = PO + '\nmsgctxt "clinic"\nmsgid "Monday, 0900 to 1700"\nmsgstr "Poniedziałek, 0900-1700"\n'

    assert ("clinic", "Monday, 0900 to 1700") in read(po)


@pytest.mark.parametrize("second", ["Inaczej.", "Woskowina jest normalna."])
def test_the_same_source_twice_in_one_block_is_refused(second: str) -> None:
    po = PO + f'\nmsgctxt "b-block"\nmsgid "Wax is normal."\nmsgstr "{second}"\n'

    refused = refusal(po)

    assert "twice" in refused.problem
    assert refused.place == "pl.po:14"


def test_the_same_source_in_two_blocks_is_two_entries() -> None:
    po = PO + '\nmsgctxt "c-block"\nmsgid "Wax is normal."\nmsgstr "Inaczej."\n'

    assert read(po)[("c-block", "Wax is normal.")][0] == "Inaczej."


@pytest.mark.parametrize(
    ("po", "word"),
    [
        (PO.replace('msgstr "Wosk', "msgstr Wosk"), "PO file"),
        (PO.replace('msgstr "Wosk', 'msgstr Wosk "'), "PO file"),
        (PO + "nonsense\n", "PO file"),
        (PO + 'msgctxt "c"\nmsgid "x"\n', "missing msgstr"),
        (PO + 'msgid "x"\nmsgid_plural "y"\nmsgstr[0] "z"\nmsgstr[1] "z"\n', "plural"),
        (PO.encode() + b"# \xff\n", "not UTF-8"),
        (PO.encode() + b"# \x00\n", "U+0000"),
        (b"#" * 5_000_000, "over the limit"),
    ],
)
def test_a_file_that_is_no_catalogue_is_refused_with_a_line(po: str | bytes, word: str) -> None:
    refused = refusal(po)

    assert word in refused.problem
    assert refused.place.startswith("pl.po:")


@given(st.text(alphabet='msgidctxr_plual"\\ n[0]{}#~,:*\n', max_size=60), st.integers(0, len(PO)))
@settings(max_examples=150, deadline=None)
def test_noise_in_a_catalogue_is_refused_or_read_never_worse(noise: str, at: int) -> None:
    refused = refusal_of(lambda: read(PO[:at] + noise + PO[at:]))

    assert refused is None or refused.place.startswith("pl.po:")


@pytest.mark.parametrize(
    ("approvals", "word"),
    [
        ("by = 1 +", "not TOML"),
        ('[[approval]]\nby = "    "\nrole = "reviewer"\ndate = 2026-11-20\nstrings = []\n', "by"),
        ('[[approval]]\nby = "A. B"\nrole = "reviewer"\nstrings = []\n', "date"),
        (approving("all"), "strings"),
        (approving().replace("role", "rank"), "role"),
        ("x = " + "[" * 10_000, "not TOML"),
    ],
)
def test_an_approvals_file_is_checked_with_its_line(approvals: str, word: str) -> None:
    refused = refusal(PO, approvals)

    assert word in refused.problem or "nested too deep" in refused.problem
    assert refused.place.startswith("locales/pl/approvals.toml:")


def test_direction_follows_the_script() -> None:
    assert [direction(one) for one in ("pl", "ur", "ar", "he", "pt_BR")] == [
        "ltr", "rtl", "rtl", "rtl", "ltr",
    ]  # fmt: skip
    with pytest.raises(BadContent, match="no such language"):
        direction("tlhx")


def test_languages_are_the_folders_that_hold_a_catalogue() -> None:
    paths = {
        "locales/pl/LC_MESSAGES/aftercare.po": b"",
        "locales/ur/LC_MESSAGES/other.po": b"",
        "locales/babel.cfg": b"",
        "content/pl/LC_MESSAGES/aftercare.po": b"",
    }

    assert languages(paths) == {"pl": "locales/pl/LC_MESSAGES/aftercare.po"}


@given(st.text(alphabet="aż<&\"\\\n 'پ", min_size=1, max_size=20).filter(str.strip))
@settings(max_examples=60, deadline=None)
def test_what_another_writer_writes_is_read_back(text: str) -> None:
    # Babel's own writer is the reference for escapes and wrapping.
    catalog = Catalog(locale="pl")
    catalog.add("Wax is normal.", text, context="b-block")
    written = BytesIO()
    write_po(written, catalog)

    found = read(written.getvalue())[("b-block", "Wax is normal.")][0]

    assert found == " ".join(text.split())
