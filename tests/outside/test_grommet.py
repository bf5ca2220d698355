"""Grommets and water: no swim ban and no routine precaution without an exception on record.

Source: AAO-HNS grommet guideline 2013, statement 12, and 2022, statement 15 (numbers from
memory): against routine water precautions, ages 6 months to 12 years. The 2013 text's exceptions:
discharge that comes back or lasts, a weak immune system, dirty water, deep diving, discomfort
when swimming. The first two can be on record; the other three are the patient's to notice, so the
leaflet names them. For other ages: proposed by this project; a clinician must confirm.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import product

import pytest
from made_up import TODAY, FakePress, a_case, a_patient, an_ear
from made_up_blocks import block

from aftercare.flow import discharge
from aftercare.library import read
from aftercare.model import Case, Channel, Fact, Library, Purpose, Side

BANS = re.compile(
    r"\b(no|not|never|avoid|stop|cannot|can't)\b[^.]*\b(swim|pool)|\bstay out of\b", re.IGNORECASE
)
PRECAUTIONS = re.compile(
    r"\bkeep\b[^.]*\bdry\b|\bkeep water out\b|\bout of (the )?water\b|\bplugs?\b|\bcotton wool\b"
    r"|\bpetroleum jelly\b|\bswim(ming)? (cap|band)\b|\bheadband\b"
    r"|\bask us\b[^.]*\b(before|first)\b[^.]*\bswim",
    re.IGNORECASE,
)
# What takes a sentence back, and what makes it about one of the exceptions a patient notices.
WAIVED = re.compile(r"\bwithout\b|\b(no|not) need\b|\bneed not\b|\bcotton buds?\b", re.IGNORECASE)
NOTICED = re.compile(r"\bsore\b|\blakes?\b|\brivers?\b|\bsea\b|\bdiv(e|es|ing)\b|\bhurts?\b", re.I)
ALLOWED = re.compile(r"\b(may|can) (get wet|swim)\b", re.IGNORECASE)

AGES = ("age:adult", "age:child")
# Whatever else may be on record of such an ear and its patient without being an exception.
OF_THE_EAR = (
    (), ("condition:wax", "finding:cleared"), ("finding:wax-left",), ("finding:nothing-found",),
    ("finding:dizzy",), ("finding:spotting",), ("finding:ringing",), ("finding:drum-not-seen",),
    ("drops:prescribed",), ("plan:sooner",), ("plan:referred",),
)  # fmt: skip
OF_THE_PATIENT = (
    (), ("uses:hearing-aid",), ("need:deaf",), ("need:carer",), ("caution:blood-thinner",),
    ("caution:diabetes",), ("caution:only-hearing-ear",), ("caution:fall-risk",),
    ("allergy:nut",), ("format:large-print",),
)  # fmt: skip
# On record, and an exception by the guideline.
EXCEPTIONS = {"discharge": ("finding:discharge", None), "immunity": (None, "caution:weak-immunity")}
BAN = block("grommet-ban", "No swimming with a grommet.", kind="water", given="condition:grommet")
PLUG = block(
    "grommet-plug", "Use ear plugs in the bath.", kind="water", given="condition:grommet"
)  # fmt: skip


def grommet(age: Fact, *facts: Fact | None, side: Side = Side.LEFT) -> Case:
    told = [fact for fact in facts if fact]
    person = [
        f for f in told if f.partition(":")[0] not in ("condition", "finding", "drops", "plan")
    ]
    ear = an_ear("condition:grommet", "procedure:suction", *set(told).difference(person), side=side)
    patient = a_patient(facts=frozenset({age, "texts:detail", *person}))
    return a_case(patient=patient, ears=(ear,))


def without_exception() -> Iterator[Case]:
    for age, ear, person in product(AGES, OF_THE_EAR, OF_THE_PATIENT):
        yield grommet(age, *ear, *person)
    for age in AGES:
        yield grommet(age, side=Side.RIGHT)
        other = an_ear("condition:wax", "procedure:suction", "finding:cleared", side=Side.RIGHT)
        case = grommet(age)
        yield a_case(patient=case.patient, ears=(*case.ears, other))
        yield a_case(patient=case.patient, ears=(*case.ears, *grommet(age, side=Side.RIGHT).ears))


def sentences(library: Library, case: Case) -> dict[Channel, list[str]]:
    done = discharge(
        case, library, press=FakePress(), today=TODAY, purpose=Purpose.SAMPLE,
        channels=tuple(Channel),
    )  # fmt: skip
    return {
        message.channel: [
            sentence for line in message.lines for sentence in re.split(r"(?<=[.?!])\s+", line.text)
        ]
        for message in done.messages
    }


def precautions(said: list[str]) -> list[str]:
    """The sentences that ban swimming or ask for a routine precaution."""
    return [
        one
        for one in said
        if (BANS.search(one) or PRECAUTIONS.search(one))
        and not WAIVED.search(one)
        and not NOTICED.search(one)
    ]


def test_no_grommet_without_an_exception_bans_swimming_or_asks_for_a_precaution(
    library: Library,
) -> None:
    asked = {
        one: sorted(case.patient.facts.union(*(ear.facts for ear in case.ears)))
        for case in without_exception()
        for said in sentences(library, case).values()
        for one in precautions(said)
    }

    assert asked == {}


@pytest.mark.parametrize("age", AGES)
def test_every_channel_says_that_the_ear_may_get_wet(age: Fact, library: Library) -> None:
    for channel, said in sentences(library, grommet(age)).items():
        assert [one for one in said if ALLOWED.search(one)], channel


@pytest.mark.parametrize("age", AGES)
@pytest.mark.parametrize(
    "exception", [r"\blakes?\b|\brivers?\b|\bdirty\b", r"\bdiv(e|es|ing)\b", r"\bhurts?\b|\bpain"]
)
def test_the_leaflet_names_the_exceptions_only_a_patient_can_notice(
    exception: str, age: Fact, library: Library
) -> None:
    said = sentences(library, grommet(age))[Channel.PRINT]

    assert [one for one in said if NOTICED.search(one) and re.search(exception, one)]


@pytest.mark.parametrize("age", AGES)
@pytest.mark.parametrize("name", EXCEPTIONS)
def test_an_exception_on_record_is_heeded(name: str, age: Fact, library: Library) -> None:
    for channel, said in sentences(library, grommet(age, *EXCEPTIONS[name])).items():
        assert precautions(said), channel
        assert not [one for one in said if ALLOWED.search(one)], channel


@pytest.mark.parametrize("added", [BAN, PLUG], ids=["ban", "plugs"])
def test_a_shelf_that_bans_or_asks_is_noticed(added: str, shelf: dict[str, bytes]) -> None:
    library = read({**shelf, "content/grommet/added.md": added.encode()}, wanted=())
    case = grommet("age:child")

    assert precautions(sentences(library, case)[Channel.PRINT])
    assert bool(discharge_held(library, case)) == (added is BAN)  # row 4 of the rules


def discharge_held(library: Library, case: Case) -> list[str]:
    """The releases withheld for a swim ban, by the rule of the same source."""
    done = discharge(case, library, press=FakePress(), today=TODAY, purpose=Purpose.SAMPLE)
    reasons = (why for message in done.messages for why in message.withheld_because)
    return [why for why in reasons if "swim ban with a grommet" in why]
