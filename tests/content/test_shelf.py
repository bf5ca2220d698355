"""The shelf that ships: plain, safe to show, sourced, a draft, and enough for every visit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations, product
from pathlib import Path
from typing import Any

import pytest
import smsutil
from made_up import HOME, TODAY, FakePress, a_case, a_patient, an_ear

from aftercare.choose import choose, patient_facts
from aftercare.edges.folder import read_home
from aftercare.edges.visit import parse_visit
from aftercare.flow import discharge
from aftercare.library import read
from aftercare.model import (
    ACTION_KINDS,
    SLOTS,
    ApprovalState,
    Block,
    Case,
    Channel,
    Chosen,
    Counts,
    Ear,
    Fact,
    Kind,
    Library,
    Line,
    Message,
    Phrase,
    Purpose,
    Shape,
    Side,
    Span,
    Status,
    Unit,
)
from aftercare.render.gsm import is_gsm7
from aftercare.rules.sayings import says, sentences, text_of, text_of_source, vocabulary
from aftercare.score import count_lines

# Values such as a patient would see; names, numbers and links are not scored.
FILLED = {
    "clinic_hours": "Monday to Thursday, 9am to 5pm",
    "visit_date": "Wednesday, 18 November 2026",
    "recall_date": "Tuesday, 18 May 2027",
    "removed_cm": "5.5 cm",
    "removed_inches": "2¼ inches",
}
# Facts that choose no words: a rule in aftercare/rules judges the words by them.
JUDGED = {
    *(f"allergy:{one}" for one in (
        "nut", "peanut", "soya", "aminoglycoside", "quinolone", "chloramphenicol", "polymyxin",
        "steroid", "clotrimazole",
    )),
    *(f"status:{one}" for one in ("deceased", "moved", "opted-out", "discharged")),
    "drops:aminoglycoside", "drops:specialist", "caution:driver", "texts:shared-phone",
}  # fmt: skip
# Facts that choose no words, and why.
UNUSED = {
    **{f"route:{one}": "chooses the message" for one in ("sms", "email", "print")},
    "format:large-print": "chooses the size of print",
    "need:deaf": "makes speech:no-phone",
    "need:hard-of-hearing": "makes speech:no-phone",
    "need:cannot-phone": "makes speech:no-phone",
    "texts:detail": "chooses the short form",
    "age:adult": "what is for adults is for everyone; children have words of their own",
    "length:not-noted": "nothing to tell",
    "region:AU": "its numbers stand in shared/regions.toml; no words differ",
}
CONDITIONS = ("open-cavity", "wax", "otitis-externa", "perforation", "grommet")
NOT_FOR_SOFTENING = {
    "condition:open-cavity", "condition:perforation", "condition:grommet",
    "condition:otitis-externa", "finding:drum-not-seen", "finding:discharge",
}  # fmt: skip
DEMOS = sorted((HOME / "shared" / "demo").glob("*.toml"))
SHELF: Library = read(read_home(HOME), wanted=())
IDS = {block.id: block for block in SHELF.blocks}


def line(phrase: Phrase) -> Line:
    spans = tuple(
        Span(FILLED.get(piece.text, "x"), SLOTS[piece.text]) if piece.slot else Span(piece.text)
        for piece in phrase.pieces
    )
    return Line(spans, "block", approved=True)


def grade(counts: Counts) -> float:
    """Kincaid and others 1975, Research Branch Report 8-75: the Flesch-Kincaid grade."""
    assert counts.syllables is not None
    per_sentence = counts.words / counts.sentences
    return 0.39 * per_sentence + 11.8 * counts.syllables / counts.words - 15.59


def wordings(block: Block) -> Iterator[tuple[str, list[Phrase]]]:
    """The body for every reader it can have."""
    units = [unit for part in block.parts for unit in part.units]
    groups = sorted({f.partition(":")[0] for u in units for v in u.variants for f in v.when})
    answers = [[f"{name}:{value}" for value in SHELF.facts[name].values] for name in groups]
    for facts in product(*answers):
        holding = [phrase for unit in units if (phrase := wording(unit, set(facts)))]
        if len(holding) == len(units):
            yield " ".join(facts), holding


def wording(unit: Unit, facts: set[Fact]) -> Phrase | None:
    return next((one.phrase for one in unit.variants if one.when <= facts), None)


def short_forms(block: Block) -> Iterator[tuple[str, Phrase]]:
    for name, unit in (("sms", block.sms), ("sms_detail", block.sms_detail)):
        for variant in unit.variants if unit else ():
            yield name, variant.phrase


@pytest.mark.parametrize("name", IDS)
def test_every_wording_is_at_most_grade_6(name: str) -> None:
    told = {
        **{f"body {facts}": words for facts, words in wordings(IDS[name])},
        **{short: [phrase] for short, phrase in short_forms(IDS[name])},
    }
    assert told

    grades = {key: grade(count_lines(map(line, words), "en")) for key, words in told.items()}

    assert {key: f"{value:.1f}" for key, value in grades.items() if value > 6.0} == {}


@pytest.mark.parametrize("name", IDS)
def test_every_sentence_is_at_most_20_words(name: str) -> None:
    phrases = [v.phrase for unit in IDS[name].units() for v in unit.variants]

    longest = {one.msgid: count_lines([line(one)], "en").longest_sentence for one in phrases}

    assert {text: words for text, words in longest.items() if words > 20} == {}


def test_the_frame_is_as_plain_as_the_blocks() -> None:
    for key, phrase in SHELF.frame.texts.items():
        counts = count_lines([line(phrase)], "en")
        assert counts.longest_sentence <= 20, key
        assert counts.words < 10 or grade(counts) <= 6.0, key


def test_the_limits_are_no_looser_than_these() -> None:
    assert SHELF.limits.fkgl <= 6
    assert SHELF.limits.sentence_words <= 20


@pytest.mark.parametrize("name", IDS)
def test_short_forms_travel_in_the_small_alphabet(name: str) -> None:
    for short, phrase in short_forms(IDS[name]):
        text = line(phrase).text
        # smsutil 1.1.3 is another reading of 3GPP TS 23.038.
        assert is_gsm7(text), (short, text)
        assert smsutil.is_valid_gsm(text), (short, text)


@pytest.mark.parametrize("name", IDS)
def test_the_default_text_is_safe_on_a_locked_screen(name: str) -> None:
    unsafe = SHELF.limits.lock_screen["en"]
    assert {"ear", "wax", "hearing", "suction", "infection"} <= unsafe

    for short, phrase in short_forms(IDS[name]):
        words = {word.strip(".,:;!?()\"'").casefold() for word in line(phrase).text.split()}
        assert short != "sms" or not words & unsafe, words & unsafe


@pytest.mark.parametrize("name", IDS)
def test_every_block_is_a_sourced_draft_still_to_be_reviewed(name: str) -> None:
    block = IDS[name]

    assert block.approval.state is ApprovalState.DRAFT
    assert (block.approval.by, block.approval.on) == (None, None)
    assert block.sources
    assert all(len(source) > 10 for source in block.sources)
    assert block.review_by > TODAY


def test_the_frame_is_a_draft() -> None:
    assert SHELF.frame.approval.state is ApprovalState.DRAFT


def test_every_fact_is_used_or_unused_on_purpose() -> None:
    used = {fact for block in SHELF.blocks for fact in (*block.given_for, *block.withheld_from)}
    used |= {f for b in SHELF.blocks for u in b.units() for v in u.variants for f in v.when}
    every = {f"{name}:{value}" for name, group in SHELF.facts.items() for value in group.values}

    assert used <= every
    assert every - used - set(UNUSED) - JUDGED == set()
    assert (set(UNUSED) | JUDGED) & used == set()
    assert every >= JUDGED


def test_there_are_ten_demo_visits() -> None:
    assert len(DEMOS) == 10


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_every_demo_visit_gets_whole_messages(path: Path, translated: Library) -> None:
    case = parse_visit(path.name, path.read_bytes(), translated, TODAY)

    done = discharge(
        case,
        translated,
        press=FakePress(),
        today=TODAY,
        purpose=Purpose.PATIENT,
        channels=tuple(Channel),
    )

    for message in done.messages:
        assert message.withheld_because == ()
        assert Kind.URGENT in {one.block.kind for one in message.chosen}
        assert Kind.CONTACT in {one.block.kind for one in message.chosen}
    kinds = [section.kind for section in done.worded.sections]
    assert kinds[0] is Kind.URGENT
    assert {Kind.DONE, Kind.CARE, Kind.RECALL} <= set(kinds)


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_demo_visit_as_shipped_is_a_sample_and_no_patients_copy(
    path: Path, library: Library
) -> None:
    case = parse_visit(path.name, path.read_bytes(), library, TODAY)

    done = discharge(
        case,
        library,
        press=FakePress(),
        today=TODAY,
        purpose=Purpose.SAMPLE,
        channels=tuple(Channel),
    )

    for message in done.messages:
        assert not any(why.startswith("no content for") for why in message.withheld_because)
        assert message.would_withhold or message.withheld_because


# --- what each patient is told --------------------------------------------------------------


def visits() -> Iterator[Any]:
    """One ear with one condition or two, cleared or looked at, with or without a return date."""
    for some in [*((one,) for one in CONDITIONS), *combinations(CONDITIONS, 2)]:
        for procedure, wanted in product(("examination", "suction"), (True, False)):
            facts = {f"procedure:{procedure}", *(f"condition:{one}" for one in some)}
            case = no_recall(an_ear(*facts)) if not wanted else a_case(ears=(an_ear(*facts),))
            name = f"{'+'.join(some)}-{procedure}-{'recall' if wanted else 'none'}"
            yield pytest.param(case, some, id=name)


def no_recall(ear: Ear, *facts: Fact) -> Case:
    """A visit without a return date; whoever has a cavity has moved away."""
    moved = {"status:moved"} if "condition:open-cavity" in ear.facts else set()
    patient = a_patient(facts=frozenset({"age:adult", *moved, *facts}))
    return a_case(ears=(ear,), recall=None, recall_declined="no wish", patient=patient)


def called_for(case: Case) -> tuple[Chosen, ...]:
    """Every block this visit calls for, however many."""
    unbounded = replace(SHELF, limits=replace(SHELF.limits, actions=99))
    chosen = choose(case, unbounded).chosen
    holding = patient_facts(case, SHELF).union(*(ear.facts for ear in case.ears))
    assert not [one for one in SHELF.impossible if one.holds(holding)]
    return chosen


@pytest.mark.parametrize(("case", "conditions"), list(visits()))
def test_whoever_has_a_condition_is_told_every_kind_of_thing_about_it(
    case: Case, conditions: tuple[str, ...]
) -> None:
    facts = {f"condition:{one}" for one in conditions}
    for kind in SHELF.facts["condition"].told:
        about = {
            fact
            for one in called_for(case)
            if one.block.kind is kind
            for fact in one.block.given_for
        }
        # Of two conditions the stricter may speak for both.
        assert about & facts if len(facts) > 1 else facts <= about, kind


@pytest.mark.parametrize("procedure", SHELF.facts["procedure"].values)
def test_whatever_was_done_is_told(procedure: str) -> None:
    fact = f"procedure:{procedure}"

    told = called_for(a_case(ears=(an_ear(fact),)))

    assert any(one.block.kind is Kind.DONE and fact in one.block.given_for for one in told)


def ordinary() -> Iterator[Any]:
    """One ear, one condition, cleared by suction: dry, or weeping with drops prescribed."""
    for one, weeping, age in product(CONDITIONS, (False, True), ("adult", "child")):
        more = {"finding:discharge", "drops:prescribed"} if weeping else {"finding:cleared"}
        ear = an_ear(f"condition:{one}", "procedure:suction", *more)
        case = a_case(ears=(ear,), patient=a_patient(facts=frozenset({f"age:{age}"})))
        yield pytest.param(case, id=f"{one}-{'weeping' if weeping else 'dry'}-{age}")


@pytest.mark.parametrize("case", list(ordinary()))
def test_an_ordinary_visit_asks_for_four_to_seven_things_and_loses_none(case: Case) -> None:
    asked = sum(one.block.actions for one in called_for(case))

    assert 4 <= asked <= 7
    assert not [one for one in choose(case, SHELF).omitted if one.called_for]


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_demo_visit_loses_nothing_to_the_limit_on_actions(path: Path) -> None:
    case = parse_visit(path.name, path.read_bytes(), SHELF, TODAY)

    assert not [one for one in choose(case, SHELF).omitted if one.called_for]


@pytest.mark.parametrize("name", IDS)
def test_one_thing_to_do_is_at_most_three_sentences(name: str) -> None:
    block = IDS[name]
    parts = block.parts if block.kind in ACTION_KINDS else ()
    for part in parts:
        for unit in part.units if part.shape is not Shape.STEPS else ():
            for variant in unit.variants:
                assert count_lines([line(variant.phrase)], "en").sentences <= 3


@pytest.mark.parametrize("name", [one.id for one in SHELF.blocks if one.kind in ACTION_KINDS])
def test_only_words_on_the_next_visit_count_as_nothing_to_do(name: str) -> None:
    block = IDS[name]

    assert block.actions > 0 or block.kind is Kind.RECALL


# --- urgent signs -----------------------------------------------------------------------------


def leaflet(library: Library, case: Case) -> Message:
    done = discharge(
        case, library, press=FakePress(), today=TODAY, purpose=Purpose.PATIENT,
        channels=(Channel.PRINT,),
    )  # fmt: skip
    return done.messages[0]


def how_fast(message: Message, *words: str) -> list[str]:
    """Under which lead the urgent signs with all these words stand."""
    urgent = {one.block.id for one in message.chosen if one.block.kind is Kind.URGENT}
    lead, found = "", []
    for one in message.lines:
        if one.block_id not in urgent:
            continue
        if any(span.strong for span in one.spans):
            lead = one.text
        elif all(word in one.text.casefold() for word in words):
            found.append(lead)
    return found


NOW = "Call 999 now for any of these."
SAME_DAY = "Contact us the same day for any of these."
THREE_DAYS = "Contact us within three days for any of these."
WITHIN = {NOW: 0, SAME_DAY: 1, THREE_DAYS: 3}


# NICE NG98 (2018, updated 2023), recommendations 1.1.1 to 1.1.5: pattern, and days at most.
@pytest.mark.parametrize(
    ("facts", "words", "days"),
    [
        ((), ("sudden loss of hearing",), 1),  # within three days, in the past 30: 24 hours
        ((), ("sudden loss of hearing",), 14),  # within three days, longer ago: two weeks
        ((), ("worse hearing",), 14),  # getting worse over 4 to 90 days: two weeks
        ((), ("face", "droops"), 0),  # with a droop of the face: 24 hours or the stroke pathway
        (("caution:weak-immunity",), ("pain, fluid", "72 hours"), 1),  # 72 hours, then 24 hours
        (("caution:diabetes",), ("pain, fluid", "72 hours"), 1),  # the same, proposed
        (("caution:only-hearing-ear",), ("any change in hearing",), 1),  # proposed
    ],
)
def test_every_row_of_the_guideline_is_seen_in_time(
    facts: tuple[str, ...], words: tuple[str, ...], days: int, approved: Library
) -> None:
    case = a_case(patient=a_patient(facts=frozenset({"age:adult", *facts})))

    leads = how_fast(leaflet(approved, case), *words)

    assert leads
    assert all(WITHIN[lead] <= days for lead in leads)


@pytest.mark.parametrize(
    ("ear", "facts", "words", "lead"),
    [
        (("condition:otitis-externa",), (), ("infection", "72 hours"), SAME_DAY),
        (("condition:otitis-externa",), ("caution:diabetes",), ("72 hours",), SAME_DAY),
        (("condition:perforation",), (), ("worse hearing with",), SAME_DAY),
        (("condition:open-cavity",), (), ("clear fluid", "blow"), NOW),
        (("condition:perforation",), (), ("clear fluid", "blow"), NOW),
        (("condition:grommet",), (), ("more than a spot of blood",), THREE_DAYS),
        (("condition:wax",), (), ("itches",), THREE_DAYS),
        (("condition:wax", "plan:soften"), (), ("pain or dizziness from drops",), SAME_DAY),
        (("finding:ringing",), (), ("ringing for over two days",), THREE_DAYS),
        # MHRA, December 2015: ear pain, discharge or infection with a bisphosphonate is reported.
        ((), ("caution:bone-medicine",), ("any ear pain or fluid",), THREE_DAYS),
    ],
)
def test_each_patient_has_the_signs_that_are_theirs(
    ear: tuple[str, ...], facts: tuple[str, ...], words: tuple[str, ...], lead: str,
    approved: Library,
) -> None:  # fmt: skip
    who = a_patient(facts=frozenset({"age:adult", *facts}))
    mine = a_case(ears=(an_ear("procedure:suction", *ear),), patient=who)
    plain = a_case(ears=(an_ear("procedure:suction"),))

    assert how_fast(leaflet(approved, mine), *words) == [lead]
    if "ringing" not in words[0]:
        assert how_fast(leaflet(approved, plain), *words) == []


@pytest.mark.parametrize("more", [(), ("finding:discharge", "drops:prescribed")])
@pytest.mark.parametrize("condition", CONDITIONS)
def test_whoever_hears_with_one_ear_is_not_told_that_dull_hearing_can_wait(
    condition: str, more: tuple[str, ...], approved: Library
) -> None:
    facts = frozenset({"age:adult", "caution:only-hearing-ear", "uses:hearing-aid"})
    ear = an_ear(f"condition:{condition}", "procedure:suction", *more)
    case = a_case(ears=(ear,), patient=a_patient(facts=facts))

    message = leaflet(approved, case)

    assert message.status is Status.RELEASED, message.withheld_because
    assert not any("dull" in one.text.casefold() for one in message.lines)
    assert how_fast(message, "change in hearing") == [SAME_DAY]


def test_the_rules_see_every_sign_of_hearing_and_every_aid_left_out() -> None:
    known = vocabulary(SHELF.rules, "en")
    urgent = [one for one in SHELF.blocks if one.kind is Kind.URGENT]
    aids = [IDS["care-hearing-aid"], IDS["care-hearing-aid-drops"]]

    for blocks, word, thing in ((urgent, "hearing", "hearing_change"), (aids, "aid", "aid_out")):
        texts = [v.phrase for one in blocks for unit in one.units() for v in unit.variants]
        found = [each for one in texts if word in text_of_source(one) for each in _said(one)]
        about = [each for each in found if word in each]
        assert len(about) > 3
        unseen = [each for each in about if not says(each, known[thing])]
        assert unseen == []


def _said(phrase: Phrase) -> tuple[str, ...]:
    return sentences(text_of_source(phrase))


# --- drops to soften wax ----------------------------------------------------------------------


def test_advice_to_soften_wax_is_seen_by_the_rules_and_barred_where_it_could_harm() -> None:
    known, block = vocabulary(SHELF.rules, "en"), IDS["care-soften"]
    assert set(block.withheld_from) >= NOT_FOR_SOFTENING
    impossible = [one.together - {"plan:soften"} for one in SHELF.impossible]
    assert all({fact} in impossible for fact in NOT_FOR_SOFTENING)

    for unit in (unit for part in block.parts for unit in part.units):
        for variant in unit.variants:
            said = sentences(text_of_source(variant.phrase))
            for thing in ("self_bought_drops", "wax_advice"):
                assert any(says(one, known[thing]) for one in said), thing


@pytest.mark.parametrize("barred", sorted(NOT_FOR_SOFTENING))
def test_no_ear_that_could_be_harmed_is_told_to_soften_wax(barred: Fact, approved: Library) -> None:
    soft = an_ear("condition:wax", "plan:soften", "procedure:examination")
    hard = an_ear("condition:wax", "plan:soften", "procedure:examination", barred)

    given = [
        {one.block.id for one in choose(a_case(ears=(ear,)), approved).chosen}
        for ear in (soft, hard)
    ]

    assert {"care-soften", "urgent-soften"} <= given[0]
    assert "care-wax" not in given[0]
    assert not {"care-soften", "urgent-soften"} & given[1]


def test_softening_one_ear_says_nothing_of_a_cavity_in_the_other(approved: Library) -> None:
    ears = (
        an_ear("condition:wax", "plan:soften", "procedure:examination"),
        an_ear("condition:open-cavity", "procedure:suction", side=Side.RIGHT),
    )

    message = leaflet(approved, a_case(ears=ears))

    assert message.status is Status.RELEASED, message.withheld_because
    assert [one.side for one in message.chosen if one.block.id == "care-soften"] == [Side.LEFT]


# --- the next visit, and others ---------------------------------------------------------------


@pytest.mark.parametrize("status", ["moved", "opted-out", "discharged", "deceased"])
def test_nobody_who_is_not_called_back_is_given_a_date(status: str, approved: Library) -> None:
    ear = an_ear("condition:open-cavity", "procedure:suction")
    patient = a_patient(facts=frozenset({"age:adult", f"status:{status}"}))
    case = a_case(ears=(ear,), patient=patient, recall=None, recall_declined="see status")

    message = leaflet(approved, case)

    assert message.status is Status.RELEASED, message.withheld_because
    assert "recall-none-cavity" in {one.block.id for one in message.chosen}


@pytest.mark.parametrize(
    ("plan", "block"), [("sooner", "recall-sooner"), ("referred", "recall-referred")]
)
def test_a_plan_names_its_ear_and_adds_no_second_date(
    plan: str, block: str, approved: Library
) -> None:
    ear = an_ear("condition:wax", "procedure:examination", f"plan:{plan}")

    message = leaflet(approved, a_case(ears=(ear,)))

    told = [one for one in message.lines if one.block_id == block]
    assert ["left ear" in one.text for one in told] == [True]
    recall = {one.block.id for one in message.chosen if one.block.kind is Kind.RECALL}
    dated = [one for one in message.lines if one.block_id in recall and "2027" in one.text]
    assert len(dated) == 1


@pytest.mark.parametrize(
    ("facts", "block"),
    [
        ({"age:adult", "need:carer"}, "others-carers"),
        ({"age:adult", "need:proxy"}, "others-carers"),
        ({"age:child"}, "others-parents"),
        ({"age:adult"}, None),
    ],
)
def test_carers_and_parents_have_a_piece_of_their_own(
    facts: set[str], block: str | None, approved: Library
) -> None:
    case = a_case(patient=a_patient(facts=frozenset(facts)))

    given = [one.block.id for one in choose(case, approved).chosen if one.block.kind is Kind.OTHERS]

    assert given == ([block] if block else [])


# AAO-HNS 2013 (statement 12) and 2022 (statement 15): no routine water precautions with a grommet.
@pytest.mark.parametrize(
    ("ear", "banned"),
    [((), False), (("finding:discharge",), True), (("condition:perforation",), True)],
)
def test_a_grommet_alone_is_no_reason_not_to_swim(
    ear: tuple[str, ...], banned: bool, approved: Library
) -> None:
    case = a_case(ears=(an_ear("condition:grommet", "procedure:examination", *ear),))
    known = vocabulary(SHELF.rules, "en")["swim_ban"]

    told = [
        one.text
        for one in leaflet(approved, case).lines
        if any(says(each, known) for each in sentences(text_of(one.spans)))
    ]

    assert bool(told) is banned
