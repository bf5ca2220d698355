"""One language: what must be there for everybody, and what it is told by."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from made_up import TODAY
from made_up_blocks import block

from aftercare.edges.press import TypstPress
from aftercare.model import Library, Side
from aftercare.proof.editing import Finding
from aftercare.proof.language import LanguageCheck, check_language, otherwise
from aftercare.proof.reach import Reach
from aftercare.proof.space import SEEN, Asked
from aftercare.proof.witness import walk

Made = Callable[..., Library]


def both(name: str, words: str, **more: Any) -> str:
    return block(name, f"{words}\n", more=f'sms: "{words}"\n', **more)


HELP = {
    "call": both("s-call", "Call {emergency_number} now for a weak face.", kind="urgent",
                 given="speech:phone"),
    "text": both("s-text", "Text {emergency_text_number} now for a weak face.", kind="urgent",
                 given="speech:no-phone, emergency-text:yes"),
    "phone": both("s-phone", "Phone us on {clinic_phone}.", kind="contact", given="speech:phone"),
    "reply": both("s-reply", "Text us on {clinic_text_number}.", kind="contact",
                  given="reply:text"),
    "mail": both("s-mail", "Write to {clinic_email}.", kind="contact", given="reply:email"),
}  # fmt: skip


def cut(small: Any, library: Library) -> Library:
    made: Library = small(
        library, procedure=("suction",), need=("deaf",), routes=("sms", "email", "print"),
        text_number=True,
    )  # fmt: skip
    return made


def checked(library: Library, language: str = "en") -> LanguageCheck:
    return check_language(Reach(library), language, TypstPress(), TODAY)


def lacking(found: tuple[Finding, ...]) -> dict[str, Finding]:
    return {one.problem: one for one in found if "some patients are told no" in one.problem}


def test_a_shelf_with_help_for_everybody_lacks_none(shelf_of: Made, small: Any) -> None:
    check = checked(cut(small, shelf_of(*HELP.values())))

    assert check.findings == ()
    assert check.held == ()
    assert check.groups > 10
    assert check.language == "en"


@pytest.mark.parametrize(
    ("gone", "told", "fact"),
    [
        ("call", ["urgent signs", "emergency number of GB"], "speech:phone"),
        ("text", ["urgent signs", "emergency number of GB"], "need:deaf"),
        ("phone", ["way to contact the clinic"], "route:print"),
    ],
)
def test_whoever_is_told_no_way_to_help_is_found_on_pages_and_in_texts(
    gone: str, told: list[str], fact: str, shelf_of: Made, small: Any
) -> None:
    library = cut(small, shelf_of(*(text for name, text in HELP.items() if name != gone)))

    found = lacking(checked(library).findings)

    # Whoever is texted can text back.
    forms = ["email and print"] if gone == "phone" else ["email and print", "sms"]
    assert set(found) == {
        f"{form}: some patients are told no {one}" for form in forms for one in told
    }
    for one in found.values():
        assert one.patients > 0
        assert (fact in one.case) is (fact != "speech:phone")
        assert ("need:deaf" in one.case) is (gone == "text")


def test_signs_without_the_region_s_number_are_not_enough(shelf_of: Made, small: Any) -> None:
    """Another number in an urgent block, or the region's in another kind, does not count."""
    wrong = both("s-call", "Call {clinic_phone} now for a weak face.", kind="urgent",
                 given="speech:phone")  # fmt: skip
    other = both("s-other", "Call {emergency_number} now.", kind="care")
    library = cut(small, shelf_of(*{**HELP, "call": wrong}.values(), other))

    found = lacking(checked(library).findings)

    assert set(found) == {
        f"{form}: some patients are told no emergency number of GB"
        for form in ("email and print", "sms")
    }


def test_a_number_to_text_is_help_only_to_who_cannot_call(shelf_of: Made, small: Any) -> None:
    """Where it is another number than the one to ring."""
    given = "emergency-text:yes"
    all_text = both("s-text", "Text {emergency_text_number} now for a weak face.", kind="urgent",
                    given=given)  # fmt: skip
    texts = {name: text for name, text in HELP.items() if name != "call"} | {"text": all_text}
    library = cut(small, shelf_of(*texts.values()))
    assert lacking(checked(library).findings) == {}

    elsewhere = replace(library, region=replace(library.region, emergency_text_number="998"))

    (page, text) = lacking(checked(elsewhere).findings).values()
    assert page.problem.endswith("told no emergency number of GB")
    assert "need:deaf" not in page.case + text.case


def test_who_is_told_no_help_is_withheld_on_the_real_path(shelf_of: Made, small: Any) -> None:
    library = cut(small, shelf_of(*(text for name, text in HELP.items() if name != "text")))
    reach = Reach(library)
    held = reach.space.example(reach.space.holds("need:deaf"))

    done = walk(held, "en", library, TODAY)

    assert all(message.withheld_because for message in done.messages)


# --- lengths ------------------------------------------------------------------------------------
def test_a_text_of_vital_lines_over_the_limit_is_found(shelf_of: Made, small: Any) -> None:
    long = both("s-long", "Call {emergency_number} now for a weak face. " + "Rest now. " * 30,
                kind="urgent", given="speech:phone")  # fmt: skip
    library = cut(small, shelf_of(*{**HELP, "call": long}.values()))
    short = replace(library, limits=replace(library.limits, sms_parts=2))

    assert [one for one in checked(library).findings if one.problem.startswith("sms:")] == []
    (one,) = [one for one in checked(short).findings if one.problem.startswith("sms: ")]

    assert one.problem == "sms: 3 parts, and only what is vital is left"
    assert "route:sms" in one.case
    assert checked(short).texts.vital.size.parts == 3


def test_a_leaflet_of_too_many_pages_is_found(shelf_of: Made, small: Any) -> None:
    library = cut(small, shelf_of(*HELP.values()))
    tight = replace(library, limits=replace(library.limits, print_pages=0))

    (one,) = checked(tight).findings

    assert one.problem == "print: 1 pages in standard print, limit 0"
    assert "route:print" in one.case


# --- translations -------------------------------------------------------------------------------
def test_words_without_a_translation_are_found_block_by_block(translated: Library) -> None:
    catalogue = translated.catalogues["pl"]
    victim = translated.blocks[0].id
    gone = [key for key in catalogue.phrases if key[0] in (victim, "frame")][:-1]
    left = {key: told for key, told in catalogue.phrases.items() if key not in gone}
    less = replace(translated, catalogues={"pl": replace(catalogue, phrases=left)})
    few = replace(less, blocks=less.blocks[:3], reminders=())

    found = [one for one in checked(few, "pl").findings if "no translation" in one.problem]

    assert {one.block for one in found} == {victim, "frame"}
    assert {one.file for one in found} == {"locales/pl/LC_MESSAGES/aftercare.po"}
    many = {name: sum(key[0] == name for key in gone) for name in (victim, "frame")}
    assert {one.block: one.problem for one in found} == {
        name: f"{number} of its phrases have no translation" for name, number in many.items()
    }
    whole = replace(translated, blocks=translated.blocks[:3])
    assert not [one for one in checked(whole, "pl").findings if "no translation" in one.problem]


def test_what_was_recorded_and_breaks_a_rule_is_told_apart_with_how_many(
    shelf_of: Made, small: Any
) -> None:
    library = small(
        shelf_of(*HELP.values()), condition=("perforation",), procedure=("suction",),
        drops=("prescribed", "aminoglycoside"), allergy=("aminoglycoside",),
    )  # fmt: skip

    check = checked(library)

    counts = {one.rule: one.patients for one in check.held}
    assert set(counts) == {"aminoglycoside drops", "allergy to the drops"}
    people = small.everybody(library)
    # Without the rule that 'aminoglycoside' says of drops that they are prescribed.
    amino = [
        held for held in people
        if any(one.fact == "drops:aminoglycoside" and
               any(o.fact == "condition:perforation" and o.side is one.side for o in held)
               for one in held)
    ]  # fmt: skip
    assert counts["aminoglycoside drops"] == len(amino)
    assert all("no content" not in one.problem for one in check.findings)


# --- what an editor is told of somebody is so -----------------------------------------------

SOMEBODY = frozenset(
    {Asked(SEEN, Side.LEFT), Asked("procedure:suction", Side.LEFT), Asked("route:print")}
)


def test_a_case_that_is_told_is_walked_on_the_real_path(shelf_of: Made, small: Any) -> None:
    reach = Reach(cut(small, shelf_of(*HELP.values())))

    assert list(otherwise([SOMEBODY, frozenset()], reach, "en")) == []


def test_a_proof_that_is_not_the_real_path_s_is_a_finding(shelf_of: Made, small: Any) -> None:
    reach = Reach(cut(small, shelf_of(*HELP.values())))
    reach.__dict__["tellings"] = reach.tellings[1:]

    (found,) = otherwise([SOMEBODY], reach, "en")

    assert found.problem == "the proof and the real path tell it different blocks"
    assert "route:print" in found.case
