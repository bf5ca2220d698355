"""The rules over everybody: what breaks one is found, and somebody breaks it on the real path."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import pytest
from made_up import TODAY
from made_up_blocks import block

from aftercare.choose import patient_facts
from aftercare.edges.press import TypstPress
from aftercare.flow import Discharge
from aftercare.model import Channel, Kind, Library, RuleBook
from aftercare.proof.contradictions import Contradiction, contradictions, groups
from aftercare.proof.language import check_language
from aftercare.proof.reach import Reach
from aftercare.proof.space import Asked, Condition, Space
from aftercare.proof.spoken import PAGES, TEXTS, Speech
from aftercare.proof.witness import walk
from aftercare.rules import RULES, Act, Rule, broken
from aftercare.rules.seen import Asked as Release
from aftercare.rules.seen import Seen, Told, Unlisted

Made = Callable[..., Library]


def both(name: str, words: str, **more: Any) -> str:
    """A block that says the same on a page and in a text."""
    return block(name, f"{words}\n", more=f'sms: "{words}"\n', **more)


# A shelf that breaks no rule, on pages or in texts.
SOUND = {
    "call": both("sound-call", "Call {emergency_number} now for a weak face.", kind="urgent",
                 given="speech:phone"),
    "text": both("sound-text", "Text {emergency_text_number} now for a weak face.", kind="urgent",
                 given="speech:no-phone, emergency-text:yes"),
    "phone-us": both("sound-phone-us", "Phone us on {clinic_phone}.", kind="contact",
                     given="speech:phone"),
    "text-us": both("sound-text-us", "Text us on {clinic_text_number}.", kind="contact",
                    given="reply:text"),
    "mail-us": both("sound-mail-us", "Write to {clinic_email}.", kind="contact",
                    given="reply:email"),
    "three-days": both("sound-three-days", "Contact us the same day if no better in 72 hours.",
                       kind="urgent",
                       given="caution:diabetes, caution:weak-immunity, caution:radiotherapy"),
    "thinner": both("sound-thinner", "If it bleeds, contact us.", given="caution:blood-thinner"),
    "bone": both("sound-bone", "Tell us of any pain or fluid.", given="caution:bone-medicine"),
    "dizzy": both("sound-dizzy", "If dizzy, sit down.",
                  given="caution:fall-risk, caution:lives-alone, caution:driver"),
    "drops": block("sound-drops", "Use the drops.\n", given="drops:prescribed"),
}  # fmt: skip


@dataclass(frozen=True)
class Broken:
    """What breaks a rule: blocks added, sound ones taken away, and which blocks are named."""

    rule: str
    why: str
    added: Sequence[str] = ()
    gone: Sequence[str] = ()
    blocks: Sequence[str] = ("bad",)
    channels: tuple[Channel, ...] = PAGES
    subject: str | None = None
    # Set where the rule asks which channel it is.
    asked: Channel | None = None

    @property
    def told_on(self) -> tuple[Channel, ...]:
        return (self.asked,) if self.asked else self.channels


def bad(words: str, name: str = "bad", **more: Any) -> str:
    return block(name, f"{words}\n", **more)


IN_A_HOLE = "condition:perforation"
BREAKING = (
    Broken("self-bought drops", "bad speaks of them; the left ear may have an open eardrum",
           [bad("Put olive oil in it.", given=IN_A_HOLE)]),
    Broken("self-bought drops", "bad speaks of them; the right ear may have an open eardrum",
           [bad("Put olive oil in it.", given="finding:drum-not-seen")]),
    Broken("aminoglycoside drops", "bad names them for the left ear without a specialist's",
           [bad("Use the gentamicin drops.", given=IN_A_HOLE)]),
    Broken("drops and keep dry", "bad says to keep the left ear dry or empty",
           [bad("Keep the ear dry.", given="drops:prescribed")], gone=["drops"]),
    Broken("swim ban with a grommet", "bad bans swimming",
           [bad("No swimming.", kind="water", given="condition:grommet")]),
    Broken("wax advice for a cavity", "bad says so of the left ear",
           [bad("Soften the wax first.", given="condition:open-cavity")]),
    Broken("wax advice for a cavity", "bad is advice for plain wax, given for the left ear",
           [bad("Rest.", given="condition:wax")]),
    Broken("nut oil", "bad names one to a patient with such an allergy",
           [bad("Use almond oil.")]),
    Broken("allergy to the drops", "bad names quinolone", [bad("Use the ciprofloxacin drops.")]),
    Broken("72-hour rule", "with caution:diabetes, nothing says what to do",
           [bad("Rest.")], gone=["three-days"], blocks=()),
    Broken("72-hour rule", "with caution:diabetes, nothing says what to do",
           [bad("The skin is infected.")], gone=["three-days"], blocks=()),
    Broken("blood thinner", "bad names aspirin", [bad("Take aspirin.", given="age:adult")]),
    Broken("blood thinner", "bad says to stop a medicine", [bad("Skip a dose, stop taking it.")]),
    Broken("blood thinner", "nothing says what to do about bleeding", gone=["thinner"], blocks=()),
    Broken("bone medicine", "nothing asks the patient to report", gone=["bone"], blocks=()),
    Broken("only-hearing ear", "bad speaks of washing out", [bad("Irrigation helps.")]),
    Broken("only-hearing ear", "bad lets a change in hearing wait",
           [bad("Dull hearing can last two days.", kind="normal")]),
    Broken("phone only", "no route to the clinic", gone=["text-us"], blocks=()),
    Broken("phone only", "no route to the clinic", gone=["text-us"], blocks=(), channels=TEXTS),
    Broken("phone only", "the emergency line is a call by voice alone",
           [bad("Call {emergency_number} now.", kind="urgent")], gone=["text"], blocks=()),
    Broken("adult words for a child", "bad speaks to the patient",
           [bad("Rest your ear.")]),
    Broken("adult words for a child", "bad names aspirin", [bad("Take aspirin.")]),
    Broken("addressed to a parent", "bad speaks to a parent", [bad("Let your child rest.")],
           asked=Channel.EMAIL),
    Broken("wrong ear", "bad is about the right ear and names the other",
           [bad("The left ear is clear.", kind="done")]),
    Broken("wrong ear", "bad is about both ears and names the left one only",
           [bad("The left ear is clear.", kind="done")]),
    Broken("dizziness line", "with caution:driver, nothing says what to do when dizzy",
           gone=["dizzy"], blocks=()),
    Broken("recall not wanted", "a return visit is told of, and the record says status:moved",
           [bad("See you on {visit_date}.", kind="recall", given="recall:none")], blocks=()),
    Broken("diagnosis in view", "not safe on a locked screen: ear",
           [both("bad", "Rest the ear.")], channels=TEXTS),
    Broken("diagnosis in view", "not safe on a locked screen: wax", subject="Your wax",
           blocks=(), asked=Channel.EMAIL),
    Broken("opposing advice",
           "for the left ear, strict says 'keep dry' and loose says 'may get wet'",
           [bad("Keep the ear dry.", "strict", given="condition:grommet"),
            bad("The ear may get wet.", "loose", given="condition:wax")],
           blocks=("loose", "strict")),
)  # fmt: skip
# What no wording can break: the record alone does, or another proof answers for it.
NOT_BY_WORDS = {
    "route not agreed", "recall date", "translation missing", "translation not reviewed",
    "both logged", "strange phone number",
}  # fmt: skip


@pytest.fixture(scope="module")
def shelf_with(shelf_of: Made) -> Callable[[Broken], Library]:
    def made(one: Broken) -> Library:
        kept = [text for name, text in SOUND.items() if name not in one.gone]
        changed: dict[str, Any] = {}
        if one.subject:
            words = f'subject = "{one.subject}"'
            changed["frame"] = lambda text: text.replace(
                'subject = "After your visit to {clinic_short_name}"', words
            )
        return shelf_of(*kept, *one.added, **changed)

    return made


def found(library: Library, *forms: tuple[Channel, ...]) -> list[Contradiction]:
    reach = Reach(library)
    speeches = [Speech(reach, "en", form) for form in forms or (PAGES, TEXTS)]
    return [one for speech in speeches for one in contradictions(speech)]


def by_words(library: Library) -> list[Contradiction]:
    return [one for one in found(library) if not one.of_record]


def test_a_shelf_that_breaks_no_rule_is_found_clean(shelf_of: Made) -> None:
    library = shelf_of(*SOUND.values())

    assert by_words(library) == []
    check = check_language(Reach(library), "en", TypstPress(), TODAY)
    assert check.findings == ()


def test_every_rule_that_words_can_break_is_broken_below() -> None:
    assert {rule.name for rule in RULES} - NOT_BY_WORDS == {one.rule for one in BREAKING}


@pytest.mark.parametrize("one", BREAKING, ids=lambda one: f"{one.rule}: {one.why[:30]}")
def test_what_breaks_a_rule_is_found_and_somebody_breaks_it_on_the_real_path(
    one: Broken, shelf_with: Callable[[Broken], Library]
) -> None:
    library = shelf_with(one)
    reach = Reach(library)
    rows = [
        row for row in contradictions(Speech(reach, "en", one.channels))
        if row.rule.name == one.rule and row.why.startswith(one.why) and not row.of_record
    ]  # fmt: skip

    # The shortest reason: others name more than one thing on record.
    row = min(rows, key=lambda row: len(row.why))
    assert row.act is row.rule.act
    assert row.channels == one.told_on
    held = reach.space.example(row.who)
    assert row.why in broken_by(held, library, row)


def broken_by(held: Iterable[Asked], library: Library, row: Contradiction) -> list[str]:
    """What the rule says of this patient's own messages, walked through the real path."""
    done = walk(held, "en", library, TODAY)
    messages = [one for one in done.messages if one.channel in row.channels]
    assert messages
    return [
        said.why for one in messages for said in broken(one, released(done), [row.rule])
        if said.act is row.act
    ]  # fmt: skip


def released(done: Discharge) -> Release:
    return Release(
        case=done.case, library=done.library, recall=done.recall,
        facts=patient_facts(done.case, done.library), choice=done.choice, worded=done.worded,
        today=TODAY,
    )  # fmt: skip


@pytest.mark.parametrize("one", BREAKING, ids=lambda one: f"{one.rule}: {one.why[:30]}")
def test_the_editor_is_told_the_rule_the_files_and_somebody_it_is_broken_for(
    one: Broken, shelf_with: Callable[[Broken], Library]
) -> None:
    library = shelf_with(one)

    check = check_language(Reach(library), "en", TypstPress(), TODAY)

    on = " and ".join(one.told_on)
    told = next(
        row for row in check.findings
        if row.problem.startswith(f"{on}: {one.rule} (rule ") and told_of(one, row.file)
    )  # fmt: skip
    places = [f"content/made/{place}" for name in one.blocks for place in [places_of(one)[name]]]
    assert told.file == (" and ".join(places) or "content")
    assert told.block == (one.blocks[0] if one.blocks else "shelf")
    assert told.patients > 0
    assert told.case
    assert told.language == "en"


def places_of(one: Broken) -> dict[str, str]:
    """The file and the line on which the words of each block begin."""
    texts = [text for name, text in SOUND.items() if name not in one.gone]
    return {
        text.split("id: ")[1].split("\n")[
            0
        ]: f"{number}.md:{text[: text.index(END)].count(NEW) + 3}"
        for number, text in enumerate([*texts, *one.added])
    }


END, NEW = "\n---\n", "\n"


def told_of(one: Broken, file: str) -> bool:
    """A rule is told once for the blocks that break it, with one of its reasons."""
    return bool(one.blocks) is file.startswith("content/made/")


def test_a_number_that_is_none_of_the_region_s_is_found(shelf_of: Made) -> None:
    """READ refuses such a block; were it let through, the proof would say so."""
    text = bad("Use {urgent_advice_relay}.", given="advice-line:yes", kind="contact")
    library = shelf_of(*SOUND.values(), text)
    assert by_words(library) == []

    library = replace(library, region=replace(library.region, urgent_advice_relay=None))

    (row,) = by_words(library)
    assert (row.rule.name, row.block) == ("strange phone number", "bad")


# --- what the record alone breaks ---------------------------------------------------------------
def test_what_was_recorded_is_told_apart_from_what_is_said(shelf_of: Made) -> None:
    of_record = {one.rule.name for one in found(shelf_of(*SOUND.values())) if one.of_record}

    assert of_record == {"aminoglycoside drops", "allergy to the drops"}


def test_nobody_is_written_to_on_a_route_they_did_not_agree_to(shelf_of: Made) -> None:
    reach = Reach(shelf_of(*SOUND.values()))
    for channels in (PAGES, TEXTS, (Channel.EMAIL,)):
        speech = Speech(reach, "en", channels)
        routes = reach.space.any_of(reach.space.holds(f"route:{one}") for one in channels)
        assert not (speech.everybody & ~routes).satisfiable()
        assert speech.everybody == reach.space.possible & routes


# --- words and translations that are lacking ----------------------------------------------------
def test_a_rule_without_words_in_a_language_is_told_and_never_passed_in_silence(
    shelf_of: Made,
) -> None:
    library = shelf_of(*SOUND.values())
    words = {name: saying for name, saying in library.rules.words["en"].items()
             if name not in ("bleeding", "side_left")}  # fmt: skip
    less = replace(library, rules=RuleBook({"en": words}, library.rules.opposing))

    reach = Reach(less)
    rows = [
        row for form in (PAGES, TEXTS) for row in contradictions(Speech(reach, "en", form))
        if not row.of_record
    ]  # fmt: skip

    assert {row.rule.name for row in rows} == {"blood thinner", "wrong ear"}
    assert {row.act for row in rows} == {Act.WARN}
    assert {row.why for row in rows} == {
        "cannot be checked in en; shared/rules.toml lacks words for it"
    }
    thinner = next(row for row in rows if row.rule.name == "blood thinner")
    assert reach.space.example(thinner.who) >= {Asked("caution:blood-thinner")}


def test_who_would_get_half_a_translation_is_written_nothing_and_judged_for_nothing(
    translated: Library,
) -> None:
    """Whoever is told the untranslated block is left out, and nobody else."""
    catalogue = translated.catalogues["pl"]
    victim = next(b for b in translated.blocks if b.given_for == ("uses:hearing-aid",)
                  or "caution:blood-thinner" in b.given_for)  # fmt: skip
    lacking = {key: told for key, told in catalogue.phrases.items() if key[0] != victim.id}
    less = replace(
        translated, catalogues={"pl": replace(catalogue, phrases=lacking)}
    )  # fmt: skip
    reach = Reach(less)
    speech = Speech(reach, "pl", PAGES)
    routes = speech.written_to(PAGES)

    assert speech.everybody == routes & ~reach.gets(victim)
    assert reach.space.anybody_fits(speech.everybody)
    assert Speech(reach, "en", PAGES).everybody == routes
    assert victim.id not in {one.told.line.block_id for one in speech.lines}


# --- what a rule may ask ------------------------------------------------------------------------
def rule(check: Callable[[Seen], Iterable[str]]) -> Rule:
    return Rule(name="made up", row=99, act=Act.BLOCK, source="made up", check=check)


UNSUPPORTED: dict[str, Callable[[Seen], Iterable[str]]] = {
    "facts one after another": lambda seen: [fact for fact in seen.facts],  # type: ignore[attr-defined]  # noqa: C416 - iterating is what must fail
    "facts as a set": lambda seen: [*(seen.facts & {"a:b"})],  # type: ignore[operator]
    "whether there are facts": lambda seen: ["x"] if seen.facts else [],
    "facts of an ear one after another": lambda seen: [f for e in seen.case.ears for f in e.facts],
    "every line": lambda seen: [told.line.text for told in seen.told],
    "the patient": lambda seen: [seen.case.patient.name],
    "the choice": lambda seen: [str(seen.asked.choice)],
    "the lines of the message": lambda seen: [str(seen.message.lines)],
    "how many ears": lambda seen: [str(len(seen.case.ears))],
}


@pytest.mark.parametrize("name", UNSUPPORTED)
def test_a_rule_that_asks_in_a_way_the_proof_cannot_follow_fails_loudly(
    name: str, shelf_of: Made
) -> None:
    speech = Speech(Reach(shelf_of(*SOUND.values())), "en", PAGES)

    with pytest.raises((TypeError, AttributeError, NotImplementedError)):
        list(contradictions(speech, [rule(UNSUPPORTED[name])]))


def test_an_ear_holds_nothing_of_the_person_and_the_person_nothing_of_an_ear(
    shelf_of: Made,
) -> None:
    """As at release: a rule that mixes them up is no better off in the proof."""

    def mixed(seen: Seen) -> Iterable[str]:
        if "condition:wax" in seen.facts:
            yield "the person has wax"
        if any("age:child" in ear.facts for ear in seen.case.ears):
            yield "an ear is a child"
        if any("condition:wax" in ear.facts for ear in seen.case.ears):
            yield "an ear has wax"

    speech = Speech(Reach(shelf_of(*SOUND.values())), "en", PAGES)

    assert [one.why for one in contradictions(speech, [rule(mixed)])] == ["an ear has wax"]


def test_detail_that_others_would_see_is_no_detail_to_a_rule(shelf_of: Made) -> None:
    def detail(seen: Seen) -> Iterable[str]:
        if "texts:detail" in seen.facts:
            yield "sent in detail"

    reach = Reach(shelf_of(*SOUND.values()))
    (row,) = contradictions(Speech(reach, "en", TEXTS), [rule(detail)])

    asked = reach.space.cube([Asked("texts:detail")])
    assert not (row.who & ~asked).satisfiable()
    for seen in ("texts:shared-phone", "need:proxy"):
        assert not (row.who & reach.space.holds(seen)).satisfiable()
        assert reach.space.anybody_fits(asked & reach.space.holds(seen))


# --- groups -------------------------------------------------------------------------------------
def test_groups_are_disjoint_and_cover_everybody(shelf_of: Made) -> None:
    reach = Reach(shelf_of(*SOUND.values(), bad("No swimming.", given="condition:grommet")))
    space = reach.space
    parted: list[Condition] = []

    def check(seen: Seen) -> Iterable[str]:
        told = [one.line.block_id for one in seen.about("swim_ban", "pain")]
        ears = [e.side for e in seen.case.ears if "condition:wax" in e.facts]
        return [f"{told} {ears} {'age:child' in seen.facts} {seen.tells(is_urgent)}"]

    def is_urgent(told: Told) -> bool:
        return told.kind is Kind.URGENT

    for channels in (PAGES, TEXTS):
        speech = Speech(reach, "en", channels)
        parted = [row.who for row in contradictions(speech, [rule(check)])]
        assert len(parted) > 8
        assert sum(map(space.count, parted)) == space.count(speech.everybody)
        assert space.any_of(parted) == speech.everybody
    assert not any(
        (one & other).satisfiable() for n, one in enumerate(parted) for other in parted[n + 1 :]
    )


def test_groups_of_nothing_asked_are_one(shelf_of: Made) -> None:
    space = Space(shelf_of())

    assert list(groups(space.possible, lambda known: "same")) == [(space.possible, "same")]


def test_nobody_is_no_group(shelf_of: Made) -> None:
    assert list(groups(Space(shelf_of()).nobody, lambda known: "same")) == []


def test_unlisted_is_what_a_rule_raises_for_lack_of_words(shelf_of: Made) -> None:
    def check(seen: Seen) -> Iterable[str]:
        raise Unlisted("made up", "shared/other.toml")

    rows = list(contradictions(Speech(Reach(shelf_of()), "en", PAGES), [rule(check)]))

    assert [(row.act, row.why) for row in rows] == [
        (Act.WARN, "cannot be checked in en; shared/other.toml lacks words for it")
    ]
