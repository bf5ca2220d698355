"""The laws of the house, over generated visits.

1 same visit, same bytes; 2 no release without help; 3 every line can be traced; 4 order changes
nothing; 5 what a person is called comes out as text; 6 no language is half translated.
"""

from __future__ import annotations

import json
import os
import random
import re
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import replace
from email import policy
from email.parser import BytesParser
from typing import Any

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st
from lxml import html
from made_up import HOME, TODAY, FakePress, a_case, a_patient
from strategies import cases, names

from aftercare.flow import Discharge, discharge
from aftercare.library import fingerprint, read
from aftercare.model import (
    Case,
    Catalogue,
    Channel,
    Kind,
    Library,
    Message,
    Purpose,
    Status,
)
from aftercare.summary import summary

LANGUAGES = ("en", "pl", "ur")
STEERING = re.compile("[\u202a-\u202e\u2066-\u2069]")


def done(library: Library, case: Case, purpose: Purpose = Purpose.PATIENT) -> Discharge:
    return discharge(case, library, press=FakePress(), today=TODAY, purpose=purpose)


def bodies(found: Discharge) -> list[bytes | None]:
    return [message.body for message in found.messages]


# --- 1 --------------------------------------------------------------------------------------


@given(case=cases(LANGUAGES))
@settings(max_examples=20, deadline=None)
def test_the_same_case_and_library_give_the_same_bytes(translated: Library, case: Case) -> None:
    first = done(translated, case)
    # Equal values, other objects: nothing may hang on identity or on the order of a set.
    patient = replace(case.patient, facts=frozenset(sorted(case.patient.facts, reverse=True)))

    again = done(translated, replace(case, patient=patient))

    assert bodies(again) == bodies(first)
    assert summary(again, Purpose.PATIENT) == summary(first, Purpose.PATIENT)


ELSEWHERE = """
import hashlib, sys
from datetime import date
sys.path.insert(0, "tests")

from made_up import HOME, TODAY, FakePress
from aftercare.edges.folder import read_home
from aftercare.edges.visit import parse_visit
from aftercare.flow import discharge
from aftercare.library import read
from aftercare.model import Purpose
library = read(read_home(HOME))
total = hashlib.sha256(library.fingerprint.encode())
for path in sorted((HOME / "shared" / "demo").glob("*.toml")):
    case = parse_visit(path.name, path.read_bytes(), library, TODAY)
    done = discharge(case, library, press=FakePress(), today=TODAY, purpose=Purpose.SAMPLE)
    for message in done.messages:
        total.update(message.body or repr(message.withheld_because).encode())
print(total.hexdigest())
"""


def test_another_process_with_another_hash_seed_gives_the_same_bytes() -> None:
    told = {
        subprocess.run(
            [sys.executable, "-c", ELSEWHERE],
            cwd=HOME,
            env={**os.environ, "PYTHONPATH": str(HOME), "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }

    assert len(told) == 1
    assert re.fullmatch(r"[0-9a-f]{64}\n", told.pop())


# --- 2 --------------------------------------------------------------------------------------


@given(case=cases(LANGUAGES))
@settings(max_examples=60, deadline=None)
def test_nothing_is_released_without_urgent_signs_a_usable_route_and_the_emergency_number(
    translated: Library, case: Case
) -> None:
    for message in done(translated, case).messages:
        event(f"{message.channel} {message.status}")
        if message.status is Status.RELEASED:
            assert message.body
            assert_helpful(message, case, translated)
        else:
            assert message.body is None
            assert message.withheld_because


def assert_helpful(message: Message, case: Case, library: Library) -> None:
    """Said again from the finished words alone, for each kind of patient."""
    kinds = {one.block.id: one.block.kind for one in message.chosen}
    urgent = " ".join(li.text for li in message.lines if kinds.get(li.block_id) is Kind.URGENT)
    contact = " ".join(li.text for li in message.lines if kinds.get(li.block_id) is Kind.CONTACT)
    assert library.region.emergency_number in urgent
    cannot_speak = case.patient.facts & {"need:deaf", "need:hard-of-hearing", "need:cannot-phone"}
    routes = set() if cannot_speak else {library.clinic.phone}
    routes |= {str(library.clinic.text_number)} if case.patient.mobile else set()
    routes |= {library.clinic.email} if case.patient.email else set()
    assert any(route in contact for route in routes)


def test_the_law_is_not_kept_by_withholding_everything(translated: Library) -> None:
    released = [
        message.status is Status.RELEASED
        for language in LANGUAGES
        for facts in ({"age:adult"}, {"age:child"}, {"age:adult", "need:deaf"})
        for message in done(
            translated, a_case(patient=a_patient(language=language, facts=frozenset(facts)))
        ).messages
    ]

    assert len(released) == 27
    assert all(released)


# --- 3 --------------------------------------------------------------------------------------


@given(case=cases(LANGUAGES))
@settings(max_examples=40, deadline=None)
def test_every_line_can_be_traced_and_every_block_is_answered_for(
    translated: Library, case: Case
) -> None:
    found = done(translated, case, Purpose.SAMPLE)

    by_id = {one.id: one for one in translated.blocks}
    given_ = [one.block.id for one in found.choice.chosen]
    left_out = [one.block_id for one in found.choice.omitted]
    assert sorted({*given_, *left_out}) == sorted(by_id)
    assert not set(given_) & set(left_out)
    assert all(one.because for one in found.choice.chosen)
    assert all(one.because for one in found.choice.omitted)
    for message in found.messages:
        traced = {one.block.id for one in message.chosen} | {"frame", "clinic"}
        assert {line.block_id for line in message.lines} <= traced
        assert {one.block.id for one in message.chosen} | set(message.dropped) <= set(given_)
    for line in found.worded.lines():
        if case.patient.language == "en":
            assert says(line.text, by_id[line.block_id].units())


def says(text: str, units: Any) -> bool:
    """Whether a block holds the words: its phrase with anything in its slots."""
    for unit in units:
        for variant in unit.variants:
            parts = (
                ".+" if piece.slot else re.escape(piece.text) for piece in variant.phrase.pieces
            )
            if re.fullmatch("".join(parts), text):
                return True
    return False


# --- 4 --------------------------------------------------------------------------------------


@given(case=cases(), seed=st.integers(0, 2**32))
@settings(max_examples=30, deadline=None)
def test_the_order_of_blocks_changes_nothing(approved: Library, case: Case, seed: int) -> None:
    shuffled = list(approved.blocks)
    random.Random(seed).shuffle(shuffled)  # noqa: S311 - a shuffle, not a secret

    assert bodies(done(replace(approved, blocks=tuple(shuffled)), case)) == bodies(
        done(approved, case)
    )


@given(seed=st.integers(0, 2**32))
@settings(max_examples=4, deadline=None)
def test_the_order_of_files_changes_nothing(
    translated_shelf: Mapping[str, bytes], translated: Library, seed: int
) -> None:
    order = list(translated_shelf)
    random.Random(seed).shuffle(order)  # noqa: S311 - a shuffle, not a secret
    shuffled = {path: translated_shelf[path] for path in order}

    again = read(shuffled)

    assert fingerprint(shuffled) == translated.fingerprint
    for language in LANGUAGES:
        case = a_case(patient=a_patient(language=language))
        assert bodies(done(again, case)) == bodies(done(translated, case))


# --- 5 --------------------------------------------------------------------------------------


def shown(text: str) -> str:
    """What a reader reads of a text: no direction marks, blanks made one."""
    return " ".join(STEERING.sub("", text).split())


def leaflet(body: bytes) -> list[str]:
    """The words of each line of a leaflet's data, whatever way they are broken up."""
    data = json.loads(body.removeprefix(b"%PDF-fake"))
    found: list[str] = []

    def walk(value: Any) -> None:
        if isinstance(value, dict) and "runs" in value:
            parts = [part for run in value["runs"] for part in run["parts"]]
            whole = "".join(part if isinstance(part, str) else "".join(part) for part in parts)
            found.append(shown(whole))
        elif isinstance(value, dict | list):
            for one in value.values() if isinstance(value, dict) else value:
                walk(one)

    walk(data)
    return found


def skeleton(body: bytes) -> tuple[list[str], list[Any]]:
    """The headers of a mail and the elements of its page: what no name may change."""
    message = BytesParser(policy=policy.default).parsebytes(body)
    page = html.document_fromstring(mail_parts(body)[1])
    return message.keys(), [(e.tag, sorted(e.keys())) for e in page.iter()]


def mail_parts(body: bytes) -> tuple[str, str]:
    message = BytesParser(policy=policy.default).parsebytes(body)
    plain, page = message.iter_parts()
    return plain.get_content(), page.get_content()


@given(name=names(), clinician=names(), language=st.sampled_from(LANGUAGES))
@settings(max_examples=80, deadline=None)
def test_any_name_comes_out_as_text_on_every_channel(
    translated: Library, name: str, clinician: str, language: str
) -> None:
    usual = a_case(patient=a_patient(language=language))
    hostile = replace(usual, patient=replace(usual.patient, name=name), clinician=clinician)

    plain = {one.channel: one.body or b"" for one in done(translated, usual).messages}
    found = {one.channel: one for one in done(translated, hostile).messages}

    assert all(one.status is Status.RELEASED for one in found.values())
    # The text holds no name at all, so no name can change it.
    assert found[Channel.SMS].body == plain[Channel.SMS]
    mail = found[Channel.EMAIL].body or b""
    assert skeleton(mail) == skeleton(plain[Channel.EMAIL])
    text, page = mail_parts(mail)
    read_off = shown(html.document_fromstring(page).text_content())
    for one in (name, clinician):
        assert shown(one) in shown(text)
        assert shown(one) in read_off
        assert any(shown(one) in line for line in leaflet(found[Channel.PRINT].body or b""))
    assert len(leaflet(found[Channel.PRINT].body or b"")) == len(leaflet(plain[Channel.PRINT]))


@given(note=names())
@settings(max_examples=30, deadline=None)
def test_a_clinicians_note_reaches_no_patient(approved: Library, note: str) -> None:
    usual = a_case(recall=None, recall_declined="nothing to follow up")

    noted = done(approved, replace(usual, recall_declined=note))

    assert bodies(noted) == bodies(done(approved, usual))


@given(name=names())
@settings(max_examples=30, deadline=None)
def test_no_name_reaches_the_summary(approved: Library, name: str) -> None:
    usual, hostile = (
        summary(done(approved, a_case(patient=a_patient(name=one))), Purpose.PATIENT)
        for one in ("Orla Pennington", name)
    )

    assert hostile == usual


# --- 6 --------------------------------------------------------------------------------------


def less(library: Library, key: tuple[str, str]) -> Library:
    phrases = dict(library.catalogues["pl"].phrases)
    del phrases[key]
    catalogue = Catalogue(language="pl", direction="ltr", phrases=phrases)
    return replace(library, catalogues={**library.catalogues, "pl": catalogue})


@given(case=cases(("pl",)), data=st.data())
@settings(max_examples=60, deadline=None)
def test_without_one_entry_the_language_is_not_used_or_the_entry_was_not_needed(
    translated: Library, case: Case, data: st.DataObject
) -> None:
    key = data.draw(st.sampled_from(sorted(translated.catalogues["pl"].phrases)))

    whole, half = done(translated, case), done(less(translated, key), case)
    english = done(translated, replace(case, patient=replace(case.patient, language="en")))

    event("needed" if half.worded.language == "en" else "not needed")
    for before, after, source in zip(whole.messages, half.messages, english.messages, strict=True):
        if half.worded.language == "en":
            assert_in_source_with_one_line(after, source)
        else:
            assert after.body == before.body


def assert_in_source_with_one_line(after: Message, source: Message) -> None:
    """It says what the English one says, and one line beside at most that is in no English."""
    assert (after.language, after.instead_of) == ("en", "pl")
    beside = [line for line in after.lines if line.language is not None]
    assert len(beside) <= 1
    assert after.dropped or [one for one in after.lines if one not in beside] == [*source.lines]


def test_every_entry_a_visit_needs_is_missed_when_it_is_gone(translated: Library) -> None:
    case = a_case(patient=a_patient(language="pl"))
    source = done(translated, a_case())
    needed = {(line.block_id, line.text) for line in source.worded.lines()}
    keys = [key for key in translated.catalogues["pl"].phrases if key in needed]
    assert len(keys) > 10

    for key in keys:
        for message in done(less(translated, key), case).messages:
            assert message.language == "en"
            assert message.findings[0].startswith(
                f"written in en, not pl: translation (pl) not usable: {key[0]};"
            )


@pytest.mark.parametrize("language", ["pl", "ur"])
def test_a_translated_message_holds_no_word_of_the_source(
    translated: Library, language: str
) -> None:
    english = {line.text for line in done(translated, a_case()).worded.lines()}

    found = done(translated, a_case(patient=a_patient(language=language)))

    for message in found.messages:
        assert message.status is Status.RELEASED, message.withheld_because
        assert not english & {line.text for line in message.lines}
