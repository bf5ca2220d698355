"""The shelf that ships: plain, safe to show, sourced, a draft, and enough for every visit."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from pathlib import Path

import pytest
import smsutil
from made_up import HOME, TODAY, FakePress

from aftercare.edges.folder import read_home
from aftercare.edges.visit import parse_visit
from aftercare.flow import discharge
from aftercare.library import read
from aftercare.model import (
    SLOTS,
    ApprovalState,
    Block,
    Channel,
    Counts,
    Fact,
    Kind,
    Library,
    Line,
    Phrase,
    Purpose,
    Span,
    Unit,
)
from aftercare.render.gsm import is_gsm7
from aftercare.score import count_lines

# Values such as a patient would see; names, numbers and links are not scored.
FILLED = {
    "clinic_hours": "Monday to Thursday, 9am to 5pm",
    "visit_date": "Wednesday, 18 November 2026",
    "recall_date": "Tuesday, 18 May 2027",
    "removed_cm": "5.5 cm",
    "removed_inches": "2¼ inches",
}
# Facts that choose no words, and why.
# Facts that choose no words: a rule in aftercare/rules judges the words by them.
JUDGED = {
    *(f"allergy:{one}" for one in (
        "nut", "peanut", "soya", "aminoglycoside", "quinolone", "chloramphenicol", "polymyxin",
        "steroid", "clotrimazole",
    )),
    *(f"status:{one}" for one in ("deceased", "moved", "opted-out", "discharged")),
    "drops:aminoglycoside", "drops:specialist", "finding:drum-not-seen", "caution:driver",
    "caution:only-hearing-ear", "caution:bone-medicine", "need:proxy", "texts:shared-phone",
}  # fmt: skip
UNUSED = {
    "format:large-print": "chooses the size of print",
    "need:deaf": "makes speech:no-phone",
    "need:hard-of-hearing": "makes speech:no-phone",
    "need:cannot-phone": "makes speech:no-phone",
    "texts:detail": "chooses the short form",
    "age:adult": "what is for adults is for everyone; children have words of their own",
    "length:not-noted": "nothing to tell",
    "region:AU": "its numbers stand in shared/regions.toml; no words differ",
}
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
