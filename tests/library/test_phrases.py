"""Markdown to phrases: words, slots and bold come through; nothing else does, nothing is lost."""

from __future__ import annotations

import re

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from made_up import refusal_of

from aftercare.errors import BadContent
from aftercare.library import phrases
from aftercare.library.phrases import parse_body, parse_phrase, parse_short, refuse_numbers
from aftercare.model import SLOTS, Phrase, Shape


def body(text: str) -> list[tuple[Shape, list[list[str]]]]:
    """Each part as its shape and, for each unit, the words of its variants."""
    return [
        (part.shape, [[v.phrase.msgid for v in unit.variants] for unit in part.units])
        for part in parse_body("p", text, 1)
    ]


def refusal(text: str) -> BadContent:
    with pytest.raises(BadContent) as caught:
        parse_body("p", text, 1)
    return caught.value


def literal(phrase: Phrase) -> str:
    return "".join(f"{{{p.text}}}" if p.slot else p.text for p in phrase.pieces)


def test_paragraphs_lists_and_steps_keep_their_order_and_shape() -> None:
    text = "One.\n\n- two\n- three\n\n1. four\n2. five\n\nSix.\n"

    assert body(text) == [
        (Shape.PARAGRAPHS, [["One."]]),
        (Shape.BULLETS, [["two"], ["three"]]),
        (Shape.STEPS, [["four"], ["five"]]),
        (Shape.PARAGRAPHS, [["Six."]]),
    ]


def test_wordings_of_one_sentence_make_one_unit() -> None:
    text = "- [side:left] L\n- [side:right] R\n- [side:both] B\n- [side:left] again\n"

    assert body(text) == [(Shape.BULLETS, [["L", "R", "B"], ["again"]])]


def test_a_variant_knows_its_line() -> None:
    part = parse_body("p", "One.\n\n- [side:left] two\n- [side:right] three\n", 10)[1]

    assert [variant.line for variant in part.units[0].variants] == [12, 13]


@pytest.mark.parametrize(
    "text",
    [
        "<script>alert(1)</script>",
        "<b>bold</b> &amp; &lt;",
        "a < b > c",
        "<div>\nblock\n</div>",
        "<!-- hidden -->",
        "<https://example.org>",
        "[words](https://example.org)".replace("[", "see ["),
        "![image](x.png)",
        "http://example.org/?a=1&b=2",
    ],
)
def test_html_and_links_stay_text(text: str) -> None:
    part = parse_body("p", text, 1)[0]

    assert literal(part.units[0].variants[0].phrase) == re.sub(r"\s+", " ", text)


@pytest.mark.parametrize(
    ("text", "word", "line"),
    [
        ("# Heading", "#", 1),
        ("Words\n---\n", "-", 1),
        ("> quote", ">", 1),
        ("```\ncode\n```", "`", 1),
        ("    code", "code_block", 1),
        ("One.\n\n***\n", "*", 3),
        ("`code`", "`", 1),
        ("*italic*", "*", 1),
        ("_italic_", "_", 1),
        ("- a\n  - b\n", "list inside a list", 2),
        ("One.\n\n{no_such_slot}", "no_such_slot", 3),
        ("{}", "no slot is called", 1),
        ("a { b", "brace", 1),
        ("a } b {clinic_phone}", "brace", 1),
        ("{ {clinic_phone} x", "brace", 1),
        ("{{clinic_phone}}", "brace", 1),
        ("**{clinic_phone}**now", "mark that marks nothing", 1),
        ("**half", "mark that marks nothing", 1),
        ("__half", "mark that marks nothing", 1),
        ("[side:left]Put it in.", "brackets", 1),
        ("[side:left, reader:self] Put it in.", "brackets", 1),
        ("[Side:Left] Put it in.", "brackets", 1),
        ("[side:left]: Put it in.", "brackets", 1),
        ("[side:left] [reader:self] Put it in.", "brackets", 1),
        ("- [side:left]", "brackets", 1),
        ("Call 999 now.", "999", 1),
        ("Ring 07700 900123.", "07700", 1),
        ("Ring ٩٩٩.", "٩٩٩", 1),
        ("999. Ring now.", "start at 1", 1),
        ("One.\n\ntwo\u202e.", "U+202E", 3),
        ("a\ufffdb", "U+FFFD", 1),
    ],
)
def test_what_is_not_for_blocks_is_refused_with_its_line(text: str, word: str, line: int) -> None:
    refused = refusal(text)

    assert word in refused.problem
    assert refused.place == f"p:{line}"


def test_a_sentence_that_looks_like_a_link_definition_is_not_swallowed() -> None:
    assert body("Note: [see]: below.\n\nWords.") == [
        (Shape.PARAGRAPHS, [["Note: [see]: below."], ["Words."]])
    ]
    assert "brackets" in refusal("[note]: vanishes\n\nWords.").problem


def test_bold_and_slots_are_pieces() -> None:
    phrase = parse_phrase("p", "**Call {emergency_number} now** or {clinic_phone}.")

    assert [(p.text, p.slot, p.strong) for p in phrase.pieces] == [
        ("Call ", False, True),
        ("emergency_number", True, True),
        (" now", False, True),
        (" or ", False, False),
        ("clinic_phone", True, False),
        (".", False, False),
    ]


@pytest.mark.parametrize("slot", SLOTS)
def test_every_declared_slot_may_be_written(slot: str) -> None:
    assert parse_phrase("p", f"a {{{slot}}} b").slots == (slot,)


def test_a_short_form_is_one_text() -> None:
    unit = parse_short("p", ["[side:left] a", "[side:right] b"], 4)

    assert unit is not None
    assert [v.phrase.msgid for v in unit.variants] == ["a", "b"]
    assert parse_short("p", None, 4) is None
    for wrong in (["a", "b"], [], "", "  "):
        with pytest.raises(BadContent, match=r"p:4"):
            parse_short("p", wrong, 4)


def test_two_digits_are_no_phone_number() -> None:
    refuse_numbers("p", parse_phrase("p", "For 10 to 12 days (72 hours), {clinic_phone}."))


@given(st.text(alphabet="ab .,'-{}[]*_<>&;#1`\\\n!(", max_size=40))
@settings(max_examples=200, deadline=None)
def test_a_body_is_refused_or_all_its_letters_are_kept(text: str) -> None:
    refused = refusal_of(lambda: parse_body("p", text, 1))
    if refused is not None:
        assert refused.place.startswith("p:")
        return
    parts = parse_body("p", text, 1)
    kept = "".join(
        literal(variant.phrase)
        for part in parts
        for unit in part.units
        for variant in unit.variants
    )
    # List markers such as "1." are shape, not words.
    assert re.sub(r"[^ab]", "", kept) == re.sub(r"[^ab]", "", text)


@given(st.text(max_size=60))
@settings(max_examples=200, deadline=None)
def test_parsing_what_was_parsed_changes_nothing(text: str) -> None:
    assume(refusal_of(lambda: parse_phrase("p", text)) is None)
    phrase = parse_phrase("p", text)

    assert parse_phrase("p", phrase.msgid) == phrase


SOME = st.sampled_from([*"ab .,:;?'\"()-–0@#$%^+=|/é你ک", *(f"{{{one}}}" for one in sorted(SLOTS))])


@given(st.one_of(st.text(), st.lists(SOME).map("".join)))
@settings(max_examples=400, deadline=None)
def test_what_needs_no_markdown_parser_is_read_as_the_parser_reads_it(text: str) -> None:
    asked: list[str] = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(phrases, "_inline", lambda said: asked.append(said) or real(said))
        found = refusal_of(lambda: parse_phrase("p", text)) or parse_phrase("p", text)
    assume(not asked and isinstance(found, Phrase))

    assert found == Phrase(found.msgid, tuple(phrases._marked("p", found.msgid)))


real = phrases._inline


@pytest.mark.parametrize("text", ["Call us.", "Call {clinic_phone} (or {clinic_email})?"])
def test_plain_words_and_slots_need_no_markdown_parser(
    text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(phrases, "_inline", None)

    assert literal(parse_phrase("p", text)) == text


# --- sentences that tell a number -----------------------------------------------------------

ONE = "[one] It takes {visit_minutes} minute."
OTHER = "[other] It takes {visit_minutes} minutes."


def test_one_and_any_other_number_are_one_phrase_of_two_forms() -> None:
    (part,) = parse_body("p", f"{ONE}\n\n{OTHER}\n", 5)
    ((variant,),) = [unit.variants for unit in part.units]

    assert [form.msgid for form in variant.phrase.forms] == [
        "It takes {visit_minutes} minute.", "It takes {visit_minutes} minutes.",
    ]  # fmt: skip
    assert (variant.when, variant.line) == (frozenset(), 5)
    assert variant.phrase.source == "\0".join(form.msgid for form in variant.phrase.forms)


def test_facts_and_numbers_choose_together_and_one_may_be_said_in_words() -> None:
    body = "\n\n".join(
        f"[{who} one] One minute for {who[7]}.\n\n[{who} other] {{visit_minutes}} minutes."
        for who in ("reader:self", "reader:parent")
    )
    (part,) = parse_body("p", body, 1)
    (unit,) = part.units

    assert [sorted(v.when) for v in unit.variants] == [["reader:self"], ["reader:parent"]]
    assert all(v.phrase.every_slot == ("visit_minutes",) for v in unit.variants)


@pytest.mark.parametrize(
    ("body", "problem"),
    [
        (ONE, "[one] without its [other]"),
        (OTHER, "[other] without its [one]"),
        (f"{ONE}\n\nRest.\n\n{OTHER}", "[one] without its [other]"),
        (f"{ONE}\n\n{ONE}\n\n{OTHER}", "[one] without its [other]"),
        (f"[reader:self one] A minute.\n\n{OTHER}", "[one] without its [other]"),
        ("It takes {visit_minutes} minutes.", "is a number, and words change with it"),
        ("[one] A minute.\n\n[other] Some minutes.", "0 numbers to count by"),
        ("[one] A minute.\n\n[other] {visit_minutes} of {visit_minutes}.", "2 numbers to count"),
        (f"[one] {{clinic_name}}.\n\n{OTHER}", "different slots"),
        ("[one other] A minute.", "[one other] in one wording"),
    ],
)
def test_a_number_told_by_halves_is_refused_with_its_line(body: str, problem: str) -> None:
    with pytest.raises(BadContent) as refused:
        parse_body("p.md", body, 1)

    assert problem in refused.value.problem
    assert refused.value.place.startswith("p.md:")
