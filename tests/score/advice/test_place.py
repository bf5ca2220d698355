"""Every word of a Markdown text knows where in the source it stands."""

from __future__ import annotations

import html

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from aftercare.score.advice.place import Shape, placed
from aftercare.score.structure import paragraphs

BITS = (
    'Keep |dry|**|*|_|`|[a](b)|[|](|](u "t")|\\|&amp;|&eacute;|<b>|<http://a.b>|- |1. |  |    |'
    "> |# | #|• |{clinic_phone}|👂|é|\u00a0|![x](y)|---\n|[a]: /u\n|a|B9| |x|\n|\r\n|\n\n|\t"
)
MARKDOWN = st.lists(
    st.sampled_from([*BITS.split("|"), "|", "| --- |", "\n|---|---|\n", "\\|"]), max_size=25
).map("".join)


@settings(max_examples=400, deadline=None)
@given(MARKDOWN)
def test_each_letter_of_the_words_stands_at_its_place_in_any_markdown(text):
    for stretch in placed(text).stretches:
        reached = 0
        for place, letter in enumerate(stretch.words):
            if letter.isspace():
                continue
            start, end = stretch.source_start(place), stretch.source_end(place + 1)
            source = text[start:end]
            escaped = source[-1:] == letter and set(source[:-1]) <= {"\\"}
            assert escaped or html.unescape(source) == letter, (place, source)
            assert start >= reached
            reached = end


@settings(max_examples=400, deadline=None)
@given(MARKDOWN)
@example("Keep \n• \n• rest\n")
@example("\u00a0\r\nKeep dry")
def test_the_words_are_those_the_scores_are_made_from(text):
    own = [one.words for one in placed(text).stretches if one.shape is not Shape.HEADING]
    scored = [line.split() for line in paragraphs(text)]
    assert [words.split() for words in own if words.split()] == [line for line in scored if line]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Put it in the **left** ear.", "left"),
        ("- Rest\n- Call **us\n  now**", "now"),
        ("1. Lie down\r\n2. Wait\r\n", "Wait"),
        ("Ring {clinic_phone} 👂 **now**.", "now"),
        ("| drops | a\\|b |\n| --- | --- |\n| oil | daily |", "daily"),
        ("> Keep it\n> _dry_.", "dry"),
        ("caf&eacute; &amp; **ear**", "ear"),
        ("See [our *page*](https://clinic.example 'page').", "page"),
        ("Keep\tit `very dry`.", "very dry"),
    ],
)
def test_words_are_found_behind_marks(text, words):
    stretch = next(one for one in placed(text).stretches if words in one.words)
    begin = stretch.words.rindex(words)
    start, end = stretch.source_start(begin), stretch.source_end(begin + len(words))
    assert text[start:end] == words
    assert start == (text.index(words) if text.count(words) == 1 else text.index("*page*") + 1)


def test_lists_headings_pictures_tables_and_bold_are_counted():
    text = "# Ears\n\n**Now**\n\n- a\n- b\n\nx\n\n1. c\n\n![ear](e.png)\n\n| d |\n|---|\n| e |"
    page = placed(text)
    shapes = [(one.words, one.shape, one.items) for one in page.stretches]
    assert shapes == [
        ("Ears", Shape.HEADING, 0),
        ("Now", Shape.PARAGRAPH, 0),
        ("a", Shape.ITEM, 1),
        ("b", Shape.ITEM, 1),
        ("x", Shape.PARAGRAPH, 0),
        ("c", Shape.STEP, 2),
        ("d", Shape.CELL, 0),
        ("e", Shape.CELL, 0),
    ]
    assert (page.images, page.tables, page.bold) == (1, 1, 1)
    assert [page.line_of(text.index(word)) for word in ("Ears", "Now", "| e")] == [1, 3, 16]
