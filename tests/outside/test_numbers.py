"""Emergency numbers of the regions we support, against the project's table of them.

Sources, as the project's fact sheet marks them. From memory: 999 and 112, 000, 111 in New
Zealand, the lines for urgent advice, the relay prefix 18001. Seen in a public source: texts to
999 and to 112 need signing up first; texts to 000 are not answered. None was checked with the
service itself. The day below is the day the row was last held against the file: whoever checks
the numbers again writes the new day in both places.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, replace
from datetime import date, timedelta

import pytest
from made_up import FakePress, a_case, a_patient

from aftercare.flow import discharge
from aftercare.library.settings import parse_region
from aftercare.model import Channel, Fact, Kind, Library, Message, Purpose, Region

REGIONS = "shared/regions.toml"


@dataclass(frozen=True)
class Row:
    """The numbers of one region; None is a service it does not have."""

    emergency: frozenset[str]
    text: str | None
    advice: str | None
    relay: str | None
    checked: date = date(2026, 11, 24)


TABLE = {
    "GB": Row(frozenset({"999", "112"}), text="999", advice="111", relay="18001 111"),
    "IE": Row(frozenset({"112", "999"}), text="112", advice=None, relay=None),
    "NZ": Row(frozenset({"111"}), text="111", advice="0800 611 116", relay=None),
    "AU": Row(frozenset({"000"}), text=None, advice="1800 022 222", relay=None),
}
every_region = pytest.mark.parametrize("code", sorted(TABLE))


def region(code: str, library: Library, shelf: dict[str, bytes]) -> Region:
    return parse_region(REGIONS, shelf[REGIONS], replace(library.clinic, territory=code))


def in_region(code: str, approved: Library, shelf: dict[str, bytes]) -> Library:
    # Numbers are one table for Britain; bank holidays are its countries' own.
    open_in = {"GB": "GB-ENG"}.get(code, code)
    clinic = replace(approved.clinic, region=open_in, territory=code)
    return replace(approved, clinic=clinic, region=region(code, approved, shelf))


def messages(library: Library, *facts: Fact, today: date) -> tuple[Message, ...]:
    patient = a_patient(facts=frozenset({"age:adult", *facts}))
    return discharge(
        a_case(patient=patient), library, press=FakePress(), today=today, purpose=Purpose.SAMPLE,
        channels=tuple(Channel),
    ).messages  # fmt: skip


def urgent(message: Message) -> str:
    blocks = {one.block.id for one in message.chosen if one.block.kind is Kind.URGENT}
    return " ".join(line.text for line in message.lines if line.block_id in blocks)


def test_every_region_of_the_file_is_in_the_table_and_the_other_way_round(
    shelf: dict[str, bytes], library: Library
) -> None:
    assert set(tomllib.loads(shelf[REGIONS].decode())) == set(TABLE)
    assert set(library.facts["region"].values) == set(TABLE)


@every_region
def test_the_numbers_and_the_day_they_were_checked_are_those_of_the_table(
    code: str, library: Library, shelf: dict[str, bytes]
) -> None:
    row, found = TABLE[code], region(code, library, shelf)

    assert found.emergency_number in row.emergency
    assert (found.emergency_text_number, found.urgent_advice_number, found.urgent_advice_relay) == (
        row.text, row.advice, row.relay,
    )  # fmt: skip
    assert found.checked == row.checked
    assert found.sources


def test_111_is_advice_in_britain_and_the_emergency_number_in_new_zealand(
    library: Library, shelf: dict[str, bytes]
) -> None:
    britain, zealand = region("GB", library, shelf), region("NZ", library, shelf)

    assert britain.urgent_advice_number == zealand.emergency_number == "111"
    assert "111" not in (britain.emergency_number, zealand.urgent_advice_number)


@every_region
def test_a_patient_is_told_the_number_of_the_clinic_s_region_on_every_channel(
    code: str, approved: Library, shelf: dict[str, bytes], today: date
) -> None:
    library = in_region(code, approved, shelf)

    for message in messages(library, today=today):
        told = urgent(message)
        assert f"Call {library.region.emergency_number} now" in told, message.channel
        others = {one for row in TABLE.values() for one in row.emergency} - TABLE[code].emergency
        # 111 is Britain's line for advice, and stands elsewhere than in its urgent signs.
        assert not [one for one in others if f" {one} " in f" {told} "]


@every_region
def test_a_deaf_patient_is_told_to_text_only_where_texts_are_answered(
    code: str, approved: Library, shelf: dict[str, bytes], today: date
) -> None:
    library = in_region(code, approved, shelf)

    for message in messages(library, "need:deaf", today=today):
        told = urgent(message)
        assert (f"Text {TABLE[code].text} now" in told) == (TABLE[code].text is not None)
        assert "Ask someone to call 000 now" in told or code != "AU"


@every_region
def test_numbers_not_checked_for_over_a_year_are_told_on_every_message(
    code: str, approved: Library, shelf: dict[str, bytes]
) -> None:
    """A check once a year: common practice, no source."""
    library = in_region(code, approved, shelf)
    checked, year = library.region.checked, timedelta(days=365)
    told = f"emergency numbers were last checked on {checked}"
    assert library.limits.recheck_days == year.days

    for message in messages(library, today=checked + year):
        assert told not in message.findings
    for message in messages(library, today=checked + year + timedelta(days=1)):
        assert told in message.findings
