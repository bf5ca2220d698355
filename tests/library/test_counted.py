"""Plural forms on their way to a translator and back: kept, asked for, refused, approved."""

from __future__ import annotations

from dataclasses import replace

import pytest

from aftercare.errors import BadContent
from aftercare.library.catalogues import approved_words, catalogue_of, digest, parse_translation
from aftercare.library.plurals import plural_forms, read_forms
from aftercare.library.po import FUZZY, Entry, Po, read_po, write_po
from aftercare.library.returned import Fate, take_back, to_send
from aftercare.library.update import new_header, update

ONE, OTHER = "It takes {visit_minutes} minute.", "It takes {visit_minutes} minutes."
REWORDED = "It takes about {visit_minutes} minutes."
POLISH = (
    "To potrwa {visit_minutes} minutę.", "To potrwa {visit_minutes} minuty.",
    "To potrwa {visit_minutes} minut.",
)  # fmt: skip
FORMS = read_forms(plural_forms("pl"))


def po(*entries: Entry, language: str = "pl") -> Po:
    empty = Po("x", None, (), ())
    return read_po("pl.po", write_po(new_header(language, empty), entries))


def counted(*texts: str, other: str = OTHER, **more: tuple[str, ...]) -> Entry:
    return Entry("visit", ONE, texts or POLISH, other, **more)


def asked(other: str | None = OTHER) -> Po:
    return po(Entry("visit", ONE, ("",) if other is None else ("", ""), other))


def updated(ours: Entry, other: str | None = OTHER) -> tuple[Entry, list[Entry]]:
    """What is in use and what is obsolete after an update."""
    raw = write_po(new_header("pl", asked()), [ours])
    done = read_po("pl.po", update("pl", "pl.po", raw, asked(other)).raw)
    assert done.faults == ()
    (active,) = done.active()
    return active, [entry for entry in done.entries if entry.obsolete]


def test_an_update_keeps_every_form() -> None:
    active, old = updated(counted())

    assert (active.plural, active.msgstrs, active.fuzzy, old) == (OTHER, POLISH, False, [])


def test_a_new_one_has_an_empty_place_for_each_form_of_the_language() -> None:
    done = read_po("cy.po", update("cy", "cy.po", None, asked()).raw)

    assert [entry.msgstrs for entry in done.entries] == [("",) * 6]


def test_when_only_the_form_for_several_is_reworded_the_translation_is_stale() -> None:
    active, _ = updated(counted(), REWORDED)

    assert (active.plural, active.msgstrs, active.fuzzy) == (REWORDED, POLISH, True)
    assert f'msgid_plural "{OTHER}"' in active.previous


def test_a_sentence_that_begins_or_ceases_to_tell_a_number_is_stale() -> None:
    begun, _ = updated(Entry("visit", ONE, ("To potrwa {visit_minutes} minut.",)))
    ceased, _ = updated(counted(), None)

    assert begun.fuzzy
    assert begun.msgstrs == ("To potrwa {visit_minutes} minut.", "", "")
    assert ceased.fuzzy
    assert (ceased.plural, ceased.msgstrs) == (None, POLISH[2:])


def test_a_form_that_lacks_is_never_filled_with_another() -> None:
    active, _ = updated(counted(*POLISH[:2]))

    assert (active.msgstrs, active.usable) == ((*POLISH[:2], ""), False)


def test_forms_may_stand_in_any_order_but_none_may_lack() -> None:
    raw = write_po(new_header("pl", asked()), [counted()]).decode()
    shuffled = raw.replace("msgstr[0]", "msgstr[x]").replace("msgstr[2]", "msgstr[0]")
    shuffled = shuffled.replace("msgstr[x]", "msgstr[2]")
    (entry,) = read_po("x", shuffled.encode()).entries
    holed = read_po("x.po", raw.replace("msgstr[1]", "msgstr[4]").encode())

    assert entry.msgstrs == POLISH[::-1]
    assert [fault.problem for fault in holed.faults] == ["not a usable PO file (missing msgstr[1])"]


@pytest.mark.parametrize(
    ("texts", "problem"),
    [
        (POLISH[:2], "2 plural forms, but 3 are needed"),
        ((*POLISH, POLISH[0]), "4 plural forms, but 3 are needed"),
        ((*POLISH[:2], "To potrwa wiele minut."), "has the slots []"),
        ((POLISH[0], "To potrwa {visit_date}.", POLISH[2]), "has the slots ['visit_date']"),
        (("To potrwa minutę {clinic_name}.", *POLISH[1:]), "has the slots ['clinic_name']"),
        (("To potrwa 100 minut.", *POLISH[1:]), "may be taken for a phone number"),
    ],
)
def test_forms_no_patient_may_get_are_refused(texts: tuple[str, ...], problem: str) -> None:
    with pytest.raises(BadContent) as refused:
        parse_translation("pl.po:3", counted(*texts), FORMS)

    assert problem in refused.value.problem


def test_only_a_form_for_one_number_alone_may_leave_it_out() -> None:
    one = parse_translation("x", counted("To potrwa minutę.", *POLISH[1:]), FORMS)
    assert one.msgid == "To potrwa minutę."

    # French says none as it says one, so that form needs its number: CLDR 47.
    french = read_forms("nplurals=2; plural=(n > 1);")
    with pytest.raises(BadContent, match="slots"):
        parse_translation("x", counted("Une minute.", "{visit_minutes} minutes."), french)


def test_a_header_without_forms_leaves_no_counted_sentence_usable() -> None:
    with pytest.raises(BadContent, match="no 'Plural-Forms' in the header"):
        parse_translation("x", counted(), None)


@pytest.mark.parametrize("changed", range(3))
def test_an_approval_is_undone_by_a_change_of_any_form_and_of_the_source(changed: int) -> None:
    entry = counted()
    words = approved_words(parse_translation("x", entry, FORMS))
    reviewers = {digest(*entry.key, words): "A. Próbna"}
    texts = [f"{text}!" if n == changed else text for n, text in enumerate(POLISH)]

    def approved(one: Entry) -> bool:
        return catalogue_of("pl", po(one), reviewers).phrases[one.key].approved

    assert approved(entry)
    assert not approved(replace(entry, msgstrs=tuple(texts)))
    assert not approved(replace(entry, plural=REWORDED))


def test_what_a_translator_changes_in_one_form_comes_back_and_the_others_stay() -> None:
    ours = po(counted())
    assert ours.header is not None
    sent = read_po("x.po", to_send(ours, ours.header, {}))
    (left,) = sent.entries
    texts = (*POLISH[:2], "To trwa {visit_minutes} minut.")
    back = read_po("x.po", write_po(ours.header, [replace(left, msgstrs=texts)]))

    done = take_back("pl", ours, back, lambda entry: None)

    assert [one.fate for one in done.came] == [Fate.TAKEN]
    assert [entry.msgstrs for entry in read_po("x", done.raw).entries] == [texts]


def test_a_form_that_comes_back_unusable_is_taken_as_fuzzy() -> None:
    ours = po(counted())
    assert ours.header is not None
    (left,) = read_po("x.po", to_send(ours, ours.header, {})).entries
    back = read_po("x.po", write_po(ours.header, [replace(left, msgstrs=POLISH[:2])]))

    def refused(entry: Entry) -> str | None:
        try:
            parse_translation("x", entry, FORMS)
        except BadContent as fault:
            return fault.problem
        return None

    done = take_back("pl", ours, back, refused)

    assert [one.fate for one in done.came] == [Fate.DOUBTFUL]
    assert [FUZZY in entry.flags for entry in read_po("x", done.raw).entries] == [True]
