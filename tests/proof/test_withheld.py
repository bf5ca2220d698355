"""Whom a language keeps from their messages: held against the real path, patient by patient."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

import pytest

from aftercare.library.po import Key
from aftercare.library.settings import HELP_ROUTES
from aftercare.model import Channel, Library
from aftercare.proof.reach import Reach
from aftercare.proof.space import Condition
from aftercare.proof.translated import CLINIC, FRAME, Where, sentences
from aftercare.proof.withheld import Audience
from aftercare.proof.witness import walk

LANGUAGE = "pl"


@pytest.fixture(scope="module")
def audience(translated: Library) -> Audience:
    return Audience(Reach(translated))


def sample(library: Library) -> list[Key]:
    """Sentences of every place, some for a side, a reader or those who asked for detail."""
    found: dict[object, Key] = {}
    for key, sentence in sentences(library).items():
        for use in sentence.uses:
            named = use.named.endswith("_parent"), use.named + "_parent" in library.frame.texts
            # A sentence used in one way alone, so that it is plain whose it is.
            if len(sentence.uses) == 1:
                found.setdefault((use.where, use.kind, use.when, named), key)
    return list(found.values())


def without(library: Library, key: Key) -> Library:
    catalogue = library.catalogues[LANGUAGE]
    left = {one: told for one, told in catalogue.phrases.items() if one != key}
    return replace(library, catalogues={LANGUAGE: replace(catalogue, phrases=left)})


def unapproved(library: Library, key: Key) -> Library:
    catalogue = library.catalogues[LANGUAGE]
    told = {**catalogue.phrases, key: replace(catalogue.phrases[key], approved_by=None)}
    return replace(library, catalogues={LANGUAGE: replace(catalogue, phrases=told)})


def held_back(library: Library, who: Condition, reach: Reach, today: date) -> bool | None:
    """Whether one patient of these has a message in another language; None for nobody."""
    if not reach.space.anybody_fits(who):
        return None
    done = walk(reach.space.example(who), LANGUAGE, library, today)
    return any(
        one.instead_of == LANGUAGE or any("translation" in why for why in one.would_withhold)
        for one in done.messages
    )


def test_a_missing_sentence_withholds_from_whoever_it_is_worded_for_and_nobody_else(
    translated: Library, audience: Audience, today: date
) -> None:
    reach = audience.reach
    for key in sample(translated):
        who = audience.withheld([key], [])
        less = without(translated, key)
        assert held_back(less, who, reach, today) is not False, key
        assert held_back(less, ~who, reach, today) is not True, key


def test_an_unapproved_sentence_withholds_from_whoever_is_sent_it_and_nobody_else(
    translated: Library, audience: Audience, today: date
) -> None:
    reach = audience.reach
    for key in sample(translated):
        who = audience.withheld([], [key])
        draft = unapproved(translated, key)
        assert held_back(draft, who, reach, today) is not False, key
        assert held_back(draft, ~who, reach, today) is not True, key


def test_every_sentence_that_a_patient_can_be_told_has_an_audience(
    translated: Library, audience: Audience
) -> None:
    told = {key for key, who in audience.worded.items() if audience.count(who)}
    reminders = {block.id for block in translated.reminders}
    asked = {key for key in sentences(translated) if key[0] not in reminders}
    on_help = {(FRAME, translated.frame.texts[one].msgid) for one in HELP_ROUTES}
    nobody = asked - told - on_help

    # A line on help is in no message of its own language.
    assert not on_help & told
    # What no patient of this clinic can be told is for another region, or for nobody.
    assert {context for context, _ in nobody} <= {block.id for block in translated.blocks}
    assert {FRAME, CLINIC} <= {context for context, _ in told}
    assert len(nobody) < len(told) / 5


def test_a_text_that_is_no_draft_withholds_nothing_on_paper(
    translated: Library, audience: Audience
) -> None:
    texted = [
        key
        for key, one in sentences(translated).items()
        if {use.where for use in one.uses} == {Where.SMS}
    ]
    on_paper_alone = ~audience.space.holds(f"route:{Channel.SMS}")

    assert not audience.space.anybody_fits(audience.withheld([], texted) & on_paper_alone)
    assert audience.space.anybody_fits(audience.withheld(texted, []) & on_paper_alone)


def test_a_page_that_is_a_draft_withholds_nothing_from_those_who_are_only_sent_texts(
    translated: Library, audience: Audience
) -> None:
    pages = [
        key
        for key, one in sentences(translated).items()
        if {use.where for use in one.uses} == {Where.PAGE}
    ]
    paged = audience.space.holds(f"route:{Channel.EMAIL}") | audience.space.holds(
        f"route:{Channel.PRINT}"
    )

    assert not audience.space.anybody_fits(audience.withheld([], pages) & ~paged)
    assert audience.space.anybody_fits(audience.withheld(pages, []) & ~paged)


def test_nothing_lacking_withholds_nothing_and_the_frame_withholds_everything(
    translated: Library, audience: Audience
) -> None:
    frame = [key for key in sentences(translated) if key[0] == FRAME]

    assert audience.count(audience.withheld([], [])) == 0
    assert audience.count(audience.withheld([], frame)) == audience.everybody
    assert _shares(audience, [0, 1, audience.everybody - 1, audience.everybody]) == [
        "0%", "under 0.01%", "over 99.9%", "100%",
    ]  # fmt: skip


def _shares(audience: Audience, counts: Iterable[int]) -> list[str]:
    return [audience.share(count).partition(" of")[0] for count in counts]
