"""Which language a message is in: one, whole; and one line of the reader's own when it is not."""

from __future__ import annotations

import email
import email.policy
import io
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pikepdf
import pytest
from bidi import get_display
from lxml import html
from made_up import TODAY, FakePress, a_case, a_patient

from aftercare.choose import choose, patient_facts
from aftercare.edges.press import TypstPress
from aftercare.flow import Discharge, Press, discharge, records
from aftercare.model import (
    Case,
    Catalogue,
    Channel,
    Library,
    Line,
    Message,
    Purpose,
    Span,
    Status,
)
from aftercare.rules import Asked, broken
from aftercare.rules.seen import told_of
from aftercare.summary import summary

URDU, POLISH = a_patient(language="ur"), a_patient(language="pl")
HELP = ("help_in_language", "help_in_language_text", "help_in_language_email")
MARKS = "\u2066\u2067\u2068\u2069"
Change = Callable[[Library], Library]


def done(
    library: Library, case: Case, purpose: Purpose = Purpose.PATIENT, press: Press | None = None
) -> Discharge:
    return discharge(case, library, press=press or FakePress(), today=TODAY, purpose=purpose)


def messages(library: Library, language: str, **changes: Any) -> dict[Channel, Message]:
    case = a_case(patient=a_patient(language=language, **changes))
    return {one.channel: one for one in done(library, case).messages}


def altered(library: Library, language: str, context: str, **changes: Any) -> Library:
    """The library with the entries of one block in a language changed, or gone; the lines on
    help stay as they are.
    """
    kept = {library.frame.texts[key].msgid for key in HELP}
    catalogue = library.catalogues[language]
    phrases = {
        key: replace(entry, **changes) if touched else entry
        for key, entry in catalogue.phrases.items()
        if not (touched := key[0] == context and key[1] not in kept) or changes
    }
    return with_catalogue(library, replace(catalogue, phrases=phrases))


def without_help(library: Library, language: str, **changes: Any) -> Library:
    """The library with the lines on help in a language changed, or gone."""
    gone = {library.frame.texts[key].msgid for key in HELP}
    catalogue = library.catalogues[language]
    phrases = {
        key: replace(entry, **changes) if key[1] in gone else entry
        for key, entry in catalogue.phrases.items()
        if changes or key[1] not in gone
    }
    return with_catalogue(library, replace(catalogue, phrases=phrases))


def with_catalogue(library: Library, catalogue: Catalogue) -> Library:
    found = {**library.catalogues, catalogue.language: catalogue}
    return replace(library, catalogues=found)


def line_in(message: Message) -> str | None:
    """The one line that is not in the language of its message."""
    found = [line.text for line in message.lines if line.language is not None]
    assert len(found) <= 1
    return found[0] if found else None


def told(message: Message) -> str:
    """What the clinician is told of the language; it is on record too."""
    (found,) = [one for one in message.findings if one.startswith("written in")]
    assert found in message.noted
    return found


# --- which language -----------------------------------------------------------------------


@pytest.mark.parametrize("language", ["pl", "ur"])
def test_a_language_that_is_ready_is_used_and_nothing_is_told(
    translated: Library, language: str
) -> None:
    for message in messages(translated, language).values():
        assert (message.language, message.instead_of) == (language, None)
        assert message.status is Status.RELEASED
        assert message.findings == message.noted == ()
        assert line_in(message) is None


@pytest.mark.parametrize("context", ["urgent-now-call", "frame", "clinic"])
@pytest.mark.parametrize(
    ("changes", "why"),
    [({}, "translation (pl) not usable"), ({"approved_by": None}, "translation (pl) not approved")],
)
def test_a_missing_or_unapproved_sentence_sends_the_source_with_one_line(
    translated: Library, context: str, changes: dict[str, Any], why: str
) -> None:
    for message in messages(altered(translated, "pl", context, **changes), "pl").values():
        assert message.status is Status.RELEASED, message.withheld_because
        assert (message.language, message.instead_of) == ("en", "pl")
        assert line_in(message)
        assert told(message) == (
            f"written in en, not pl: {why}: {context}; one line in pl says how to get help: "
            "arrange an interpreter"
        )


def test_a_sentence_that_only_pages_hold_leaves_the_text_in_the_readers_language(
    translated: Library,
) -> None:
    draft = altered(translated, "pl", "urgent-now-signs", approved_by=None)
    found = messages(draft, "pl")

    assert found[Channel.SMS].language == "pl"
    assert found[Channel.EMAIL].language == found[Channel.PRINT].language == "en"


@pytest.mark.parametrize(("reader", "absent"), [("pt_BR", "pt_BR or pt"), ("sv", "sv")])
def test_a_language_without_a_catalogue_is_told(
    translated: Library, reader: str, absent: str
) -> None:
    for message in messages(translated, reader).values():
        assert (message.language, message.instead_of) == ("en", reader)
        assert told(message).startswith(
            f"written in en, not {reader}: there is no catalogue for {absent}"
        )
        assert line_in(message) is None


@pytest.mark.parametrize(("reader", "used"), [("ur_PK", "ur"), ("pl_PL", "pl")])
def test_a_territory_without_a_catalogue_is_read_in_its_language_and_is_noted_not_found(
    translated: Library, reader: str, used: str
) -> None:
    case = a_case(patient=a_patient(language=reader))
    visit = done(translated, case)
    noted = (f"words of the catalogue {used}: there is no catalogue for {reader}",)

    for message in visit.messages:
        assert (message.language, message.instead_of) == (used, None)
        assert (message.findings, message.noted) == ((), noted)
    assert {one.noted for one in records(visit, "2026-11-24T12:00:00Z")} == {noted}
    shown = summary(visit, Purpose.PATIENT)["messages"]
    assert [one["noted"] for one in shown] == [list(noted)] * 3


def test_a_catalogue_for_a_territory_that_is_not_ready_is_told(translated: Library) -> None:
    polish = translated.catalogues["pl"]
    halved = dict(list(polish.phrases.items())[:1])
    here = {**translated.catalogues, "pl_PL": replace(polish, language="pl_PL", phrases=halved)}

    for message in messages(replace(translated, catalogues=here), "pl_PL").values():
        assert (message.language, message.instead_of) == ("pl", "pl_PL")
        assert told(message).startswith("written in pl, not pl_PL: translation (pl_PL)")


@pytest.mark.parametrize(
    ("reader", "used"),
    [
        ("zh", "zh"), ("zh_CN", "zh"), ("zh_Hans", "zh"), ("zh_Hans_SG", "zh"),
        ("zh_TW", "en"), ("zh_HK", "en"), ("zh_Hant", "en"), ("zh_Hant_CN", "en"),
        ("pa_IN", "pa"), ("pa_Arab", "en"), ("pa_PK", "en"),
    ],
)  # fmt: skip
def test_another_script_is_never_sent_in_place_of_the_readers(
    translated: Library, reader: str, used: str
) -> None:
    polish = translated.catalogues["pl"]
    here = {one: replace(polish, language=one) for one in ("zh", "pa")}
    library = replace(translated, catalogues=here)
    lists = {**library.limits.lock_screen, "zh": frozenset[str](), "pa": frozenset[str]()}
    library = replace(library, limits=replace(library.limits, lock_screen=lists))

    for message in messages(library, reader).values():
        assert message.language == used
        assert line_in(message) is None, "not even the one line is in another script"


@pytest.mark.parametrize("reader", ["en", "en_GB", "en_US"])
def test_a_reader_of_the_source_is_told_nothing_of_languages(
    translated: Library, reader: str
) -> None:
    for message in messages(translated, reader).values():
        assert (message.language, message.instead_of) == ("en", None)
        assert message.findings == message.noted == ()
        assert line_in(message) is None


# --- the one line -------------------------------------------------------------------------


def source_only(library: Library) -> Library:
    """No message can be in Polish or Urdu, and the lines on help are approved."""
    for language in ("pl", "ur"):
        library = altered(library, language, "clinic")
    return library


def test_the_line_names_a_route_this_reader_can_use(translated: Library) -> None:
    clinic = translated.clinic
    deaf = frozenset({"age:adult", "need:deaf"})
    readers = {
        clinic.phone: {},
        clinic.text_number: {"facts": deaf},
        clinic.email: {"facts": deaf, "mobile": None},
    }

    for route, changes in readers.items():
        for message in messages(source_only(translated), "ur", **changes).values():
            line = str(line_in(message))
            others = readers.keys() - {route}
            assert str(route) in line
            assert not [other for other in others if str(other) in line]


def test_a_clinic_without_a_text_number_has_the_line_by_email(translated: Library) -> None:
    clinic = replace(translated.clinic, text_number=None)
    library = replace(source_only(translated), clinic=clinic)
    deaf = frozenset({"age:adult", "need:deaf"})

    for message in messages(library, "ur", facts=deaf).values():
        assert clinic.email in str(line_in(message))


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (lambda lib: without_help(lib, "ur"), "there is none"),
        (lambda lib: without_help(lib, "ur", approved_by=None), "it is not approved"),
        (
            lambda lib: replace(
                lib,
                frame=replace(
                    lib.frame,
                    texts={k: v for k, v in lib.frame.texts.items() if k not in HELP},
                ),
            ),
            "there is none",
        ),
    ],
)
def test_without_an_approved_line_the_source_goes_alone_and_the_clinician_is_told(
    translated: Library, change: Change, why: str
) -> None:
    for message in messages(change(source_only(translated)), "ur").values():
        assert message.status is Status.RELEASED, message.withheld_because
        assert line_in(message) is None
        assert told(message).endswith(f"; no line in ur ({why}): arrange an interpreter")


def test_a_draft_of_the_line_alone_holds_up_no_language(translated: Library) -> None:
    for change in ({}, {"approved_by": None}):
        for message in messages(without_help(translated, "ur", **change), "ur").values():
            assert (message.language, message.findings) == ("ur", ())


def test_the_line_is_held_to_what_a_locked_screen_may_show(translated: Library) -> None:
    library = source_only(translated)
    line = str(line_in(messages(library, "ur")[Channel.SMS]))
    listed = {**library.limits.lock_screen, "ur": frozenset({line.split()[0]})}
    unsafe = replace(library, limits=replace(library.limits, lock_screen=listed))
    detail = frozenset({"age:adult", "texts:detail"})

    found = messages(unsafe, "ur")
    assert line_in(found[Channel.SMS]) is None
    assert "not safe on a locked screen" in told(found[Channel.SMS])
    assert line_in(found[Channel.EMAIL]) == line
    assert line_in(messages(unsafe, "ur", facts=detail)[Channel.SMS]) == line

    unlisted = {k: v for k, v in library.limits.lock_screen.items() if k != "ur"}
    found = messages(replace(library, limits=replace(library.limits, lock_screen=unlisted)), "ur")
    assert line_in(found[Channel.SMS]) is None
    assert "lists no lock-screen words for ur" in told(found[Channel.SMS])


def test_the_rest_is_word_for_word_the_source_and_scored_as_it(translated: Library) -> None:
    mixed, english = messages(source_only(translated), "ur"), messages(translated, "en")

    for channel in (Channel.EMAIL, Channel.PRINT):
        lines = [line for line in mixed[channel].lines if line.language is None]
        assert lines == [*english[channel].lines]
        assert mixed[channel].score == english[channel].score


def test_a_text_counts_the_line_and_says_when_it_is_too_long(translated: Library) -> None:
    """An Urdu line makes the whole text UCS-2: 67 units a part (3GPP TS 23.040)."""
    library = source_only(translated)
    mixed, english = (messages(library, one)[Channel.SMS] for one in ("ur", "en"))

    assert english.sms is not None
    assert mixed.sms is not None
    assert (english.sms.encoding, mixed.sms.encoding) == ("GSM-7", "UCS-2")
    assert line_in(mixed) in re.sub("[\u2066-\u2069]", "", "".join(mixed.sms.texts)).split("\n")
    tight = replace(library, limits=replace(library.limits, sms_parts_ucs2=2))
    found = messages(tight, "ur")[Channel.SMS]
    assert any("over the limit of 2; only vital words are left" in one for one in found.findings)
    assert found.status is Status.RELEASED


def test_an_email_says_which_part_is_in_which_language(translated: Library) -> None:
    body = messages(source_only(translated), "ur")[Channel.EMAIL].body or b""
    parsed = email.message_from_bytes(body, policy=email.policy.default)
    plain, page = (part.get_content() for part in parsed.iter_parts())
    document = html.fromstring(page)

    (line,) = document.xpath("//p[@lang='ur']")
    assert line.get("dir") == "rtl"
    assert document.xpath("/html/@lang") == ["en"]
    assert document.xpath("count(//*[@lang='ur'])") == 1
    assert line.text_content().strip() in plain.replace("\r", "").split("\n\n")


def test_the_line_is_drawn_right_to_left_in_the_text_and_its_number_left_to_right(
    translated: Library,
) -> None:
    """By python-bidi, each line a paragraph of its own (Unicode Standard Annex 9, P1 and P2)."""
    found = messages(source_only(translated), "ur")[Channel.SMS]
    (line,) = [
        one
        for one in "".join(found.sms.texts if found.sms else ()).split("\n")
        if re.search("[\u0600-\u06ff]", one)
    ]

    drawn = get_display(line)

    assert translated.clinic.phone in drawn
    assert drawn.strip(MARKS)[-1] == line.strip(MARKS)[0]


def test_a_leaflet_tags_the_line_with_its_own_language(translated: Library) -> None:
    """ISO 14289-1, 7.2: a change of language is marked; by pikepdf."""
    case = a_case(patient=URDU)
    press = TypstPress()
    (printed,) = [
        one.body
        for one in discharge(
            case, source_only(translated), press=press, today=TODAY, purpose=Purpose.PATIENT,
            channels=[Channel.PRINT],
        ).messages
    ]  # fmt: skip
    with pikepdf.open(io.BytesIO(printed or b"")) as document:
        assert str(document.Root.Lang) == "en"
        said = [
            (str(item.S), str(item.Lang))
            for item in document.objects
            if isinstance(item, pikepdf.Dictionary) and "/Lang" in item and "/S" in item
        ]

    assert said == [("/P", "ur")]


def test_a_sample_shows_a_draft_of_the_line_and_says_so(translated: Library) -> None:
    draft = without_help(source_only(translated), "ur", approved_by=None)

    for message in done(draft, a_case(patient=URDU), Purpose.SAMPLE).messages:
        assert message.status is Status.RELEASED
        assert line_in(message)
        assert "translation (ur) not approved: frame" in message.would_withhold


def test_a_sample_of_half_a_translation_is_in_the_source(translated: Library) -> None:
    half = altered(translated, "ur", "urgent-now-call")

    for message in done(half, a_case(patient=URDU), Purpose.SAMPLE).messages:
        assert (message.language, message.instead_of) == ("en", "ur")
        assert line_in(message)


def test_a_sample_of_drafts_is_in_the_language_itself(translated: Library) -> None:
    draft = altered(translated, "ur", "urgent-now-call", approved_by=None)

    for message in done(draft, a_case(patient=URDU), Purpose.SAMPLE).messages:
        assert message.language == "ur"
        assert "translation (ur) not approved: urgent-now-call" in message.would_withhold


def test_the_record_keeps_what_was_sent_in_place_of_what(translated: Library) -> None:
    found = done(source_only(translated), a_case(patient=URDU))

    for record in records(found, "2026-11-24T12:00:00+00:00"):
        assert record.language == "en"
        assert any(one.startswith("written in en, not ur: ") for one in record.noted)


def test_a_route_the_patient_does_not_have_is_refused_and_says_nothing_of_languages(
    translated: Library,
) -> None:
    case = a_case(patient=replace(POLISH, mobile=None))
    (message,) = discharge(
        case, source_only(translated), press=FakePress(), today=TODAY, purpose=Purpose.PATIENT,
        channels=[Channel.SMS],
    ).messages  # fmt: skip

    assert message.withheld_because == ("the patient has no mobile number",)
    assert message.findings == ()


# --- what the rules see of it ---------------------------------------------------------------


def test_a_rule_reads_no_words_of_another_language() -> None:
    """Polish 'co' is no English word, and English 'aspirin' in a Polish line no advice of ours."""
    line = Line((Span("Take aspirin now."),), "frame", approved=True)

    assert told_of(line, None).sentences == (" take aspirin now ",)
    assert told_of(replace(line, language="pl"), None).sentences == ()


def test_the_gate_asks_the_line_for_words_of_its_own_language(translated: Library) -> None:
    lists = {"en": frozenset({"word"}), "ur": frozenset({"کان"})}
    library = replace(translated, limits=replace(translated.limits, lock_screen=lists))
    case = a_case()
    (message, *_) = done(library, case).messages
    judged = Asked(
        case=case, library=library, recall=None, facts=patient_facts(case, library),
        choice=choose(case, library), worded=done(library, case).worded, today=TODAY,
    )  # fmt: skip

    def said(text: str, language: str | None) -> list[str]:
        line = Line((Span(text),), "frame", approved=True, language=language)
        judged_too = replace(message, lines=(*message.lines, line))
        return [one.text for one in broken(judged_too, judged) if one.rule.row == 22]

    assert said("کان", "ur") == ["not safe on a locked screen: کان"]
    assert said("word", "ur") == said("کان", None) == []
    assert said("word", None) == ["not safe on a locked screen: word"]
    assert said("x", "sv") == ["shared/limits.toml lists no lock-screen words for sv"]
