"""E-mails in every language: direction, size and numbers, read by lxml."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

import pytest
from lxml import html
from scripts.written import LANGUAGES, RIGHT_TO_LEFT, reminder_page, written

from aftercare.edges import fonts
from aftercare.errors import BadText
from aftercare.model import Line, Role

in_every_language = pytest.mark.parametrize("language", LANGUAGES)
# WCAG 2.2, 1.4.4 asks that text can be enlarged; for readers who see little UKAAF G003 (2019)
# has 16 point for large print, and 12 points are 16 pixels (CSS Values 4, section 6.2).
LEAST_BODY, LEAST_LINE = 16, 1.5


def page(language: str) -> html.HtmlElement:
    return html.document_fromstring(written(language).email[1])


def style(element: html.HtmlElement) -> dict[str, str]:
    rules = (rule.split(":", 1) for rule in element.get("style", "").split(";") if ":" in rule)
    return {name.strip(): value.strip() for name, value in rules}


@in_every_language
def test_language_and_direction_stand_on_the_page_and_inside_it(language: str) -> None:
    found = page(language)
    direction = "rtl" if language in RIGHT_TO_LEFT else "ltr"

    # Once more inside, as some mail programs drop the outer element.
    for element in (found, found.xpath("//body/div")[0]):
        assert (element.get("lang"), element.get("dir")) == (language, direction)
    told = {(e.get("lang"), e.get("dir")) for e in found.iter() if e.get("lang") or e.get("dir")}
    assert told == {(language, direction)}


@in_every_language
def test_nothing_is_small_or_set_to_one_side(language: str) -> None:
    found = page(language)
    sizes = [
        float(one) for one in re.findall(r"font-size:\s*([\d.]+)px", written(language).email[1])
    ]
    inner = style(found.xpath("//body/div")[0])

    assert min(sizes) >= LEAST_BODY
    assert float(inner["line-height"]) >= LEAST_LINE
    # A side named outright would be the wrong one in half of the scripts.
    sided = re.compile(r"text-align|(padding|margin|border)-(left|right)|float")
    assert [e.get("style") for e in found.iter() if sided.search(e.get("style") or "")] == []


@in_every_language
def test_numbers_to_ring_are_bold_and_never_parted(language: str) -> None:
    bold = page(language).xpath("//strong[@class='number']")
    worded = written(language).done.worded
    wanted = [bare(one) for line in worded.lines() for one in numbers(line)]

    assert len(wanted) >= 3
    assert [bare(element.text_content()) for element in bold] == wanted
    assert {style(element).get("white-space") for element in bold} == {"nowrap"}


@in_every_language
def test_no_word_is_parted_at_its_hyphen(language: str) -> None:
    """Seen at the width of a phone: "e-" and Romanian "v-" at the end of a line."""
    spans = [
        span.text
        for line in written(language).done.worded.lines()
        for span in line.spans
        if span.role is Role.WORDS
    ]
    wanted = [one for text in spans for one in re.findall(r"[^\W_]+(?:-[^\W_]+)+", text)]
    kept = page(language).xpath("//span[@class='whole']")

    assert {one.text_content() for one in kept} >= {one for one in wanted if len(one) <= 20}
    assert {style(one).get("white-space") for one in kept} <= {"nowrap"}


@pytest.mark.parametrize("language", [one for one in LANGUAGES if one != "zh"])
def test_the_day_is_never_parted_from_its_month(language: str) -> None:
    for found in (page(language), html.document_fromstring(reminder_page(language))):
        said = "".join(found.xpath("//body//text()"))

        assert re.search(r"\b(3|10|24)\.?\u00a0[^\W\d_]", said)
        assert not re.search(r"\b(3|10|24)\.? [^\W\d_]+,? (de )?202[67]", said)


def test_there_are_words_with_hyphens_to_be_kept() -> None:
    assert [one.text_content() for one in page("ro").xpath("//span[@class='whole']")]


@in_every_language
def test_each_heading_stands_clear_of_what_is_above_it(language: str) -> None:
    followed = [
        (above.tag, style(below)["margin"].split()[0], style(below).get("margin-top"))
        for above, below in pairwise(page(language).xpath("//div[@class='first']/*"))
        if below.tag == "h2"
    ]

    assert followed == [("p", "1.8rem", None)] or followed == [("ul", "1.8rem", None)]


# --- colours ------------------------------------------------------------------------------


def luminance(colour: str) -> float:
    """WCAG 2.2, 'relative luminance'."""
    shares = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in shares]
    return sum(part * one for part, one in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, 'contrast ratio': black on white is 21."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def coloured(found: html.HtmlElement) -> Iterator[tuple[str, str]]:
    """Each text's colour and what it stands on, as a mail program has it that keeps no more than
    what is inside the page."""
    for element in found.xpath("//div[@class='page']//*[text()[normalize-space()]]"):
        around = [element, *element.iterancestors()]
        around = around[: 1 + next(n for n, e in enumerate(around) if e.get("class") == "page")]
        told = [style(one) for one in around]
        colour = next((one["color"] for one in told if "color" in one), "none")
        ground = next((one["background"] for one in told if "background" in one), "none")
        yield colour, ground


@in_every_language
def test_words_are_dark_on_a_light_ground_of_their_own_on_any_screen(language: str) -> None:
    """WCAG 2.2, 1.4.3. A dark mail program that drops the body left dark words on dark."""
    for found in (page(language), html.document_fromstring(reminder_page(language))):
        told = list(coloured(found))

        assert len(told) > 8
        assert min(contrast(*one) for one in told) >= 4.5
        assert found.xpath("//meta[@name='color-scheme']/@content") == ["light"]


def test_contrast_is_as_the_standard_has_it() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    # The least grey on white that passes 4.5 (common practice, no source).
    assert contrast("#767676", "#ffffff") > 4.5 > contrast("#777777", "#ffffff")


def numbers(line: Line) -> list[str]:
    return [span.text for span in line.spans if span.role is Role.PHONE]


def bare(text: str) -> str:
    return re.sub("[\u2066-\u2069]", "", text)


@in_every_language
def test_text_and_page_say_the_same_words(language: str) -> None:
    text, _ = written(language).email
    said = re.sub(r"(?m)^(- |\d+\. |== |--------)| ==$|\u200f", "", text.replace("\r", ""))
    shown = page(language).xpath("//body")[0].text_content()
    clinic = page(language).xpath("//p[@class='from']")[0].text_content()

    assert "".join(shown.replace(clinic, "", 1).split()) == "".join(said.split())


def drawable(text: str) -> None:
    """Every character but line ends and marks that steer is one a common font draws.

    A reader's own fonts are not ours to know; the Noto families hold what phones and desktops
    do, and what they lack would be a box on most screens.
    """
    fonts.check({"place": "e-mail", "text": re.sub("[\r\n\u200e\u200f]", " ", bare(text))})


@in_every_language
def test_no_character_of_an_email_would_be_a_box(language: str) -> None:
    for text in written(language).email:
        drawable(html.document_fromstring(text).text_content() if "<body" in text else text)


def test_a_character_that_would_be_a_box_is_noticed() -> None:
    with pytest.raises(BadText, match="U\\+0378"):
        drawable("a\u0378b")
