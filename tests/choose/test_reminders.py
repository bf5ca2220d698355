"""Recall messages: which blocks, on which channel, for whom."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import HOME
from strategies import cases

from aftercare.choose import choose
from aftercare.choose.reminders import looked_at, remind, subject, units_on
from aftercare.edges.folder import read_home
from aftercare.library import read
from aftercare.model import Approval, ApprovalState, Case, Channel, Fact, Kind, Moment

FILES = read_home(HOME)
LIBRARY = read(FILES, wanted=())
ADULT: frozenset[Fact] = frozenset({"reader:self", "speech:phone"})
DEAF: frozenset[Fact] = frozenset({"reader:self", "speech:no-phone", "reply:text"})
FACTS = st.frozensets(
    st.sampled_from(
        [f"{g.name}:{value}" for g in LIBRARY.facts.values() for value in g.values]
    )
)  # fmt: skip


def ids(moment: Moment, channel: Channel, facts: frozenset[Fact]) -> list[str]:
    return [one.block.id for one in remind(LIBRARY, moment, channel, facts)]


def test_an_invitation_says_when_how_to_reach_the_clinic_and_how_to_stop_it() -> None:
    assert ids(Moment.INVITE, Channel.SMS, ADULT) == [
        "reminder-for", "reminder-invite", "reminder-phone", "reminder-stop-texts",
    ]  # fmt: skip


def test_whoever_cannot_phone_is_never_told_to() -> None:
    for moment in Moment:
        for channel in Channel:
            told = ids(moment, channel, DEAF)
            assert "reminder-phone" not in told
            assert not told or {"reminder-text", "reminder-email"} <= set(told)


def test_an_ear_that_cannot_clear_itself_is_asked_to_come_though_it_feels_well() -> None:
    cavity = ADULT | {"condition:open-cavity"}

    assert "reminder-feel-well" in ids(Moment.INVITE, Channel.EMAIL, cavity)
    assert "reminder-feel-well" not in ids(Moment.INVITE, Channel.EMAIL, ADULT)


def test_a_block_is_told_on_its_channels_alone() -> None:
    assert "reminder-calendar" in ids(Moment.BOOKED, Channel.EMAIL, ADULT)
    assert "reminder-calendar" not in ids(Moment.BOOKED, Channel.PRINT, ADULT)
    assert "reminder-letter" not in ids(Moment.LETTER, Channel.SMS, ADULT)


def test_each_block_says_why_it_was_chosen() -> None:
    chosen = remind(LIBRARY, Moment.INVITE, Channel.SMS, ADULT)

    assert {one.block.id: one.because for one in chosen}["reminder-phone"] == (
        "moment:invite", "speech:phone",
    )  # fmt: skip
    assert all(one.because for one in chosen)


def test_a_retired_block_is_never_chosen() -> None:
    retired = tuple(
        replace(block, approval=Approval(ApprovalState.RETIRED)) for block in LIBRARY.reminders
    )
    library = replace(LIBRARY, reminders=retired)

    assert remind(library, Moment.INVITE, Channel.SMS, ADULT) == ()
    assert subject(library, Moment.INVITE, ADULT) is None


@given(FACTS, st.sampled_from(Moment), st.sampled_from(Channel))
def test_only_the_facts_looked_at_change_a_message(
    facts: frozenset[Fact], moment: Moment, channel: Channel
) -> None:
    known = facts & looked_at(LIBRARY.reminders)

    assert remind(LIBRARY, moment, channel, facts) == tuple(
        one for one in remind(LIBRARY, moment, channel, known)
    )
    assert all(units_on(one.block, channel) for one in remind(LIBRARY, moment, channel, facts))


@settings(max_examples=10, deadline=None)
@given(st.randoms())
def test_the_order_of_files_on_disk_changes_nothing(random: Random) -> None:
    files = list(FILES.items())
    random.shuffle(files)

    assert read(dict(files), wanted=()).reminders == LIBRARY.reminders


@pytest.mark.parametrize("moment", [one for one in Moment if one is not Moment.LETTER])
def test_every_moment_has_a_subject_and_words_on_every_channel(moment: Moment) -> None:
    assert subject(LIBRARY, moment, ADULT) is not None
    for channel in Channel:
        kinds = {one.block.kind for one in remind(LIBRARY, moment, channel, ADULT)}
        assert kinds == {Kind.RECALL, Kind.CONTACT}


@given(cases())
def test_a_leaflet_is_made_of_none_of_them(case: Case) -> None:
    choice = choose(case, LIBRARY)

    assert not any(one.block.moments for one in choice.chosen)
    assert {one.block_id for one in choice.omitted}.isdisjoint(one.id for one in LIBRARY.reminders)
