"""How far a language has come: the state of each sentence, and every fault with file and line."""

from __future__ import annotations

import pytest

from aftercare.library.catalogues import digest
from aftercare.library.plurals import plural_forms
from aftercare.library.po import Entry, Key, Po, read_po, write_po
from aftercare.model import Kind
from aftercare.proof.translated import Fault, Judge, Sentence, State, Use, Where, standing
from aftercare.word.checks import Severity

URGENT = ("urgent", "Call {emergency_number} now.")
DRY, DONE = ("water", "Keep it dry for 2 weeks."), ("done", "We cleaned the ear.")
SHORT = ("water", "No swimming.")
SENTENCES = {
    URGENT: Sentence(URGENT, (Use(Where.PAGE, Kind.URGENT),)),
    DRY: Sentence(DRY, (Use(Where.PAGE, Kind.WATER),)),
    DONE: Sentence(DONE, (Use(Where.PAGE, Kind.DONE),)),
    SHORT: Sentence(SHORT, (Use(Where.SMS, Kind.WATER),)),
}
GOOD = {
    URGENT: "Proszę od razu dzwonić: {emergency_number}.",
    DRY: "Ucho ma być suche przez 2 tygodnie.",
    DONE: "Ucho zostało oczyszczone.",
    SHORT: "Proszę nie pływać.",
}
HEADER = (
    "Language: pl\nContent-Type: text/plain; charset=UTF-8\n"
    "Plural-Forms: nplurals=3; plural=(n==1 ? 0 : n%10>=2 && n%10<=4 && "
    "(n%100<10 || n%100>=20) ? 1 : 2);\n"
)


def judge(limit: int = 6) -> Judge:
    return Judge(
        sentences=SENTENCES, parts=lambda text: len(text) // 9, limit=lambda text: limit,
        glossaries={},
    )  # fmt: skip


def po(header: str = HEADER, **changed: str) -> Po:
    """The good catalogue, changed by the context of a sentence that has one alone."""
    texts = {key: changed.get(key[0], text) for key, text in GOOD.items()}
    listed = [Entry(*key, (text,)) for key, text in texts.items()]
    return read_po("pl.po", write_po(Entry("", "", (header,)), listed))


def faults(catalogue: Po, language: str = "pl") -> tuple[Fault, ...]:
    return judge().faults(language, catalogue)


def flagged(catalogue: Po, *keys: Key, previous: bool = True) -> Po:
    """The same with some sentences in doubt."""
    assert catalogue.header is not None
    was = ('msgid "Before."',) if previous else ()
    listed = [
        Entry(*e.key, e.msgstrs, flags=("fuzzy",), previous=was) if e.key in keys else e
        for e in catalogue.entries
    ]
    return read_po("pl.po", write_po(catalogue.header, listed))


def test_a_good_catalogue_has_no_faults() -> None:
    assert faults(po()) == ()


@pytest.mark.parametrize(
    ("header", "said"),
    [
        (HEADER.replace("Language: pl", "Language: ur"), "the language is 'ur'"),
        (HEADER.replace("Language: pl\n", ""), "the language is ''"),
        (HEADER.replace("UTF-8", "ISO-8859-2"), "the charset is 'iso-8859-2'"),
        (HEADER.replace("nplurals=3", "nplurals=2"), "a form there is none of"),
        ("Language: pl\nContent-Type: text/plain; charset=UTF-8\n"
         "Plural-Forms: nplurals=2; plural=(n != 1);\n", "says 2 as it says 0"),
    ],
)  # fmt: skip
def test_a_wrong_header_is_a_fault_of_the_file_with_its_line(header: str, said: str) -> None:
    (fault,) = faults(po(header))

    assert (fault.place, fault.found.severity) == ("pl.po:1", Severity.BLOCK)
    assert said in fault.found.why
    assert fault.help


def test_a_language_that_cldr_lacks_is_a_fault() -> None:
    assert any("no such language" in one.found.why for one in faults(po(), "xx"))


def test_what_cannot_be_read_is_a_fault_with_its_line() -> None:
    raw = b'msgid ""\nmsgstr "Language: pl"\n\nnonsense\n'
    (fault, *_) = faults(read_po("pl.po", raw))

    assert (fault.place, fault.found.kind) == ("pl.po:4", "file")


@pytest.mark.parametrize(
    ("context", "target", "kind"),
    [
        ("urgent", "Proszę od razu dzwonić: {clinic_phone}.", "unfit"),
        ("urgent", "Proszę od razu dzwonić: 112.", "unfit"),
        ("urgent", "Proszę od razu <b>dzwonić</b>: {emergency_number}.", "markup"),
        ("done", "**Ucho zostało oczyszczone.**", "emphasis"),
        ("done", "We cleaned the ear.", "untranslated"),
    ],
)
def test_what_is_wrong_with_a_translation_names_sentence_and_line(
    context: str, target: str, kind: str
) -> None:
    catalogue = po(**{context: target})
    line = next(e.line for e in catalogue.entries if e.context == context)

    found = [one for one in faults(catalogue) if one.found.kind == kind]

    assert {(one.place, one.found.severity) for one in found} == {(f"pl.po:{line}", Severity.BLOCK)}
    assert found[0].sentence is not None
    assert found[0].sentence.key[0] == context


def test_a_text_message_is_held_to_its_parts() -> None:
    (fault,) = judge(limit=1).faults("pl", po())

    assert fault.found.kind == "sms"
    assert fault.sentence is not None
    assert fault.sentence.key in {SHORT}


def test_a_safety_sentence_in_doubt_stops_and_another_is_a_warning() -> None:
    found = faults(flagged(po(), URGENT, DONE))

    assert [(one.found.kind, one.found.severity) for one in found] == [
        ("fuzzy", Severity.BLOCK), ("fuzzy", Severity.WARN),
    ]  # fmt: skip


def test_a_file_behind_the_shelf_says_how_far() -> None:
    gone = Entry("old", "Gone.", ("Nie ma.",))
    empty = Entry(*DRY)
    rest = [Entry(*key, (GOOD[key],)) for key in (URGENT, DONE)]
    catalogue = read_po("pl.po", write_po(Entry("", "", (HEADER,)), [*rest, empty, gone]))

    lines = {entry.context: entry.line for entry in catalogue.entries}
    assert [(one.place, one.found.why) for one in faults(catalogue)] == [
        ("pl.po:1", "1 sentence(s) of the shelf not in the file"),
        (f"pl.po:{lines['old']}", "1 sentence(s) in the file not on the shelf any more"),
        (f"pl.po:{lines[DRY[0]]}", "1 sentence(s) without a translation yet"),
    ]


def test_each_sentence_has_one_state() -> None:
    catalogue = flagged(po(water="Ucho ma być suche przez 3 tygodnie."), DONE)
    reviewers = {digest(*URGENT, GOOD[URGENT]): "A. B, nurse, 2026-11-20"}

    one = standing("pl", catalogue, reviewers, judge())

    assert one.states == {
        URGENT: State.APPROVED, DRY: State.BLOCKED, DONE: State.STALE, SHORT: State.BLOCKED,
    }  # fmt: skip
    assert one.reviewers == {URGENT: "A. B, nurse, 2026-11-20"}
    doubted = standing("pl", flagged(po(), DONE, previous=False), {}, judge())
    assert doubted.of(State.DOUBTED) == [DONE]
    nothing = standing("pl", read_po("pl.po", b""), {}, judge())
    assert nothing.of(State.MISSING) == list(SENTENCES)
    assert nothing.unreadable


def test_an_approval_of_other_words_does_not_count() -> None:
    reviewers = {digest(*URGENT, "Inaczej: {emergency_number}."): "A. B, nurse, 2026-11-20"}

    assert standing("pl", po(), reviewers, judge()).states[URGENT] is State.DRAFT


def test_approvals_of_words_that_are_gone_are_counted_and_of_obsolete_ones_are_not() -> None:
    old = Entry("old", "Gone.", ("Nie ma.",), obsolete=True)
    listed = [*po().entries, old]
    catalogue = read_po("pl.po", write_po(Entry("", "", (HEADER,)), listed))
    who = "A. B, nurse, 2026-11-20"
    reviewers = {
        digest(*one): who
        for one in ((*URGENT, GOOD[URGENT]), (*DONE, "Inaczej."), ("old", "Gone.", "Nie ma."))
    }

    one = standing("pl", catalogue, reviewers, judge())

    assert (one.reviewers, one.unmatched) == ({URGENT: who}, 1)


def test_a_sentence_has_an_id_of_its_own() -> None:
    assert len({one.id for one in SENTENCES.values()}) == len(SENTENCES)
    assert SENTENCES[DRY].id.startswith("water#")


# --- sentences that tell a number -----------------------------------------------------------

MINUTES = "It takes {visit_minutes} minutes."
COUNTED = ("visit", "\0".join((MINUTES.replace("minutes.", "minute."), MINUTES)))
ARABIC = (
    "تستغرق {visit_minutes} دقيقة.", "تستغرق دقيقة واحدة.", "تستغرق دقيقتين.",
    "تستغرق {visit_minutes} دقائق.", "تستغرق {visit_minutes} دقيقة.",
    "تستغرق {visit_minutes} دقيقة.",
)  # fmt: skip


def counted(*, language: str = "ar", **changed: str) -> tuple[Fault, ...]:
    """What is found in the Arabic forms, or others, with some of them changed by number."""
    one, other = COUNTED[1].split("\0")
    texts = tuple(changed.get(f"form{n}", text) for n, text in enumerate(ARABIC))
    header = (
        f"Language: {language}\nContent-Type: text/plain; charset=UTF-8\n"
        f"Plural-Forms: {plural_forms(language)}\n"
    )
    listed = [Entry("visit", one, texts, other)]
    held = Judge(
        sentences={COUNTED: Sentence(COUNTED, (Use(Where.PAGE, Kind.RECALL),))},
        parts=lambda text: 1, limit=lambda text: 6, glossaries={},
    )  # fmt: skip
    return held.faults(language, read_po("ar.po", write_po(Entry("", "", (header,)), listed)))


def test_one_and_two_may_be_told_by_the_noun_alone() -> None:
    assert counted() == ()


@pytest.mark.parametrize(
    ("changed", "kind"),
    [
        ({"form2": "تستغرق ثلاث دقائق."}, "numbers"),  # three, in the form for two
        ({"form1": "تستغرق 3 دقائق."}, "numbers"),
        ({"form2": "تستغرق دقيقة."}, "numbers"),  # a minute, in the form for two
        ({"form2": "لا تستغرق دقيقتين."}, "negation"),
        ({"form3": "تستغرق دقائق."}, "unfit"),
        ({"form3": "تستغرق {visit_date} دقائق."}, "slots"),
        ({"form4": "لا تستغرق {visit_minutes} دقيقة."}, "negation"),
        ({"form5": "It takes {visit_minutes} minutes, please come early."}, "untranslated"),
    ],
)
def test_a_fault_in_any_form_is_found(changed: dict[str, str], kind: str) -> None:
    found = counted(**changed)

    assert kind in {fault.found.kind for fault in found}
    assert all(fault.sentence is not None for fault in found)


def test_a_sentence_with_a_form_empty_is_missing_and_named() -> None:
    for empty in range(6):
        (fault,) = counted(**{f"form{empty}": ""})
        assert (fault.found.kind, fault.found.severity) == ("missing", Severity.WARN)
        assert f"msgstr[{empty}] empty" in fault.found.why
        assert fault.sentence is not None


@pytest.mark.parametrize(
    ("two", "kinds"),
    [
        ("Mae'n para tua {visit_minutes} funud.", set()),
        ("Mae'n para tua dwy funud.", set()),
        # A Welsh noun after two says no number by itself.
        ("Mae'n para tua funud.", {"numbers"}),
        ("Mae'n para tua tair munud.", {"numbers"}),
    ],
)
def test_a_number_left_out_is_asked_for_in_words(two: str, kinds: set[str]) -> None:
    good = "Mae'n para tua {visit_minutes} munud."
    forms = {f"form{n}": good for n in (0, 1, 3, 4, 5)}

    assert {fault.found.kind for fault in counted(language="cy", form2=two, **forms)} == kinds
