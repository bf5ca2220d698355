"""The press: what comes out of it, read back from the PDF by independent readers."""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any
from unicodedata import category, normalize

import page as page_validation
import pikepdf
import pypdfium2
import pypdfium2.raw as raw
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from read_back import in_order, letters, pages, pdfium, poppler

from aftercare.edges import fonts
from aftercare.edges.press import _ARRANGEMENTS, _CLOSEST, TypstPress, _job
from aftercare.errors import BadText, OutOfReach
from aftercare.model import (
    VITAL_KINDS,
    Kind,
    Line,
    Passage,
    Purpose,
    Role,
    Section,
    Shape,
    Span,
    Worded,
)
from aftercare.render.leaflet import Paper, Printed, Row, leaflet_data, ruler_data

# Letters made up for these tests; the translations are drafts that nobody has approved.
LETTERS: dict[str, Any] = json.loads(
    Path(__file__).with_name("letters.json").read_text(encoding="utf-8")
)
LANGUAGES = sorted(LETTERS)
SHAPES = {Kind.URGENT: Shape.BULLETS, Kind.NORMAL: Shape.BULLETS, Kind.CARE: Shape.STEPS}
MARKED = re.compile(r"\{(?P<role>\w+)\|(?P<slot>[^}]*)\}|\*\*(?P<strong>.+?)\*\*")
PRESS = TypstPress()


def line(text: str, block: str = "frame") -> Line:
    """A line of letters.json: ``{phone|999}`` is a span with a role, ``**now**`` is bold."""
    spans, at = [], 0
    for found in MARKED.finditer(text):
        spans.append(Span(text[at : found.start()]))
        strong, role = found["strong"], found["role"]
        spans.append(Span(strong, strong=True) if strong else Span(found["slot"], Role(role)))
        at = found.end()
    spans.append(Span(text[at:]))
    return Line(tuple(span for span in spans if span.text), block, approved=False)


def letter(language: str, *, times: int = 1, **frame: Line) -> Worded:
    """A whole letter; ``times`` says its ordinary lines over and over, to fill pages."""
    told = LETTERS[language]
    sections = []
    for kind in Kind:
        heading, *said = told[kind.value]
        repeat = 1 if kind in VITAL_KINDS else times
        lines = tuple(line(one, kind.value) for one in said * repeat)
        shape = SHAPES.get(kind, Shape.PARAGRAPHS)
        sections.append(Section(kind, line(heading), (Passage(shape, lines),)))
    return Worded(
        language=language,
        direction=told["direction"],
        frame={key: line(text) for key, text in told["frame"].items()} | frame,
        sections=tuple(sections),
        short=(),
    )


def data(
    worded: Worded,
    *,
    point: float = 12.0,
    purpose: Purpose = Purpose.PATIENT,
    paper: Paper = Paper.A4,
    most_pages: int | None = None,
) -> str:
    return leaflet_data(
        worded,
        clinic="Marsh Lane Ear Clinic",
        purpose=purpose,
        point=point,
        paper=paper,
        edition="7f3a 91c2",
        most_pages=most_pages,
    )


@cache
def pressed(language: str, times: int, point: float, purpose: Purpose) -> Printed:
    return PRESS.press(data(letter(language, times=times), point=point, purpose=purpose))


every_variant = pytest.mark.parametrize(
    ("language", "times", "point", "purpose"),
    [
        (language, times, point, purpose)
        for language in LANGUAGES
        for times, point, purpose in (
            (1, 12.0, Purpose.PATIENT),
            (1, 18.0, Purpose.PATIENT),
            (1, 18.0, Purpose.SAMPLE),
            (8, 12.0, Purpose.SAMPLE),
        )
    ],
)


# --- reading a PDF back ------------------------------------------------------------------


def told(given: Any) -> Iterator[str]:
    """Every part of the data that is printed once."""
    if isinstance(given, dict):
        if "parts" in given:
            yield "".join(p if isinstance(p, str) else "".join(p) for p in given["parts"])
        else:
            for value in given.values():
                yield from told(value)
    elif isinstance(given, list):
        for value in given:
            yield from told(value)


def expected(given: str, printed: Printed) -> str:
    """All the text the sheets should hold: the data, list marks, and the page furniture."""
    made = json.loads(given)
    stamp, number = made.pop("stamp"), made.pop("page")
    passages = [p for s in made["vital"] + made["sections"] for p in s["passages"]]
    marks = "".join(
        "•" if passage["shape"] == "bullets" else f"{at}."
        for passage in passages
        if passage["shape"] != "paragraphs"
        for at, _ in enumerate(passage["lines"], 1)
    )
    numbers = "".join(
        "".join(told(number)) + f"{at}/{printed.pages}"
        for at in range(1, printed.pages + 1)
        if printed.pages > 1
    )
    stamps = "".join(told(stamp)) * (1 + 2 * printed.pages)
    return "".join(told(made)) + marks + numbers + stamps


@every_variant
def test_no_letter_is_lost_or_doubled(
    language: str, times: int, point: float, purpose: Purpose
) -> None:
    """By pypdfium2. The typesetter writes a letter with a raised vowel mark twice (krilla issue
    411): ``edges.copying`` mends that."""
    given = data(letter(language, times=times), point=point, purpose=purpose)
    printed = pressed(language, times, point, purpose)

    wanted = Counter(letters(expected(given, printed)))
    found = Counter(letters("".join(pages(printed.pdf))))

    assert not wanted - found, "lost"
    assert not found - wanted, "doubled"


LEFT_TO_RIGHT = [one for one in LANGUAGES if LETTERS[one]["direction"] == "ltr"]


@pytest.mark.parametrize("read", [poppler, pdfium])
@pytest.mark.parametrize("language", LEFT_TO_RIGHT)
@pytest.mark.parametrize("point", [12.0, 18.0])
def test_every_line_is_read_out_letter_for_letter_and_in_its_order(
    language: str, point: float, read: Callable[[bytes], str]
) -> None:
    """By pdftotext (poppler) and by pypdfium2. Right-to-left text is reordered by both, so there
    only the letters are compared, above."""
    made = json.loads(data(letter(language), point=point))
    lines = list(told([made["title"], made["salutation"]]))
    lines += [one for part in ("vital", "sections") for one in told(made[part])]

    assert in_order(pressed(language, 1, point, Purpose.PATIENT).pdf, lines, read) == []


SYLLABLES = {
    "bn": (
        "ক খ গ ঘ ঙ চ ছ জ ঝ ঞ ট ঠ ড ঢ ণ ত থ দ ধ ন প ফ ব ভ ম য র ল শ ষ স হ ড় ঢ় য় "
        "ক্ষ জ্ঞ ত্ন প্র র্থ ন্ত ন্দ "
        "ন্ড ম্প ম্ব ল্প স্ত স্থ ক্ত দ্ধ দ্ব ত্র শ্র স্ক ষ্ট ষ্ঠ ঞ্চ ঙ্গ চ্ছ জ্জ ট্ট ত্ত ম্ম ল্ল "
        "গ্র ব্র হ্ন স্ব শ্চ ন্ধ র্ম র্ক্ষ",
        ("", *"ািীুূৃেৈোৌংঃঁ", "্য", "াঁ"),
    ),
    "pa": (
        "ਕ ਖ ਗ ਘ ਙ ਚ ਛ ਜ ਝ ਞ ਟ ਠ ਡ ਢ ਣ ਤ ਥ ਦ ਧ ਨ ਪ ਫ ਬ ਭ ਮ ਯ ਰ ਲ ਵ ੜ ਸ ਹ "
        "ਸ਼ ਖ਼ ਗ਼ ਜ਼ ਫ਼ ਲ਼ ਪ੍ਰ ਸ੍ਵ ੜ੍ਹ ਨ੍ਹ ਮ੍ਹ ਕ੍ਰ",
        ("", *"ਾਿੀੁੂੇੈੋੌੰਂੱ", "ਾਂ", "ੀਂ", "ੁੰ", "ਿੱ"),
    ),
}


@pytest.mark.parametrize("read", [poppler, pdfium])
@pytest.mark.parametrize("language", sorted(SYLLABLES))
def test_every_syllable_is_read_out_once(language: str, read: Callable[[bytes], str]) -> None:
    """Every consonant, and conjuncts that are met, with every sign that may follow."""
    heads, signs = SYLLABLES[language]
    rows = [" ".join(head + sign for sign in signs) for head in heads.split()]
    section = Section(Kind.NORMAL, line("1"), (Passage(Shape.PARAGRAPHS, tuple(map(line, rows))),))
    worded = replace(letter(language), sections=(*letter(language).sections[:2], section))

    assert in_order(PRESS.press(data(worded)).pdf, rows, read) == []


def test_the_order_test_notices_lines_that_changed_places() -> None:
    pdf = pressed("bn", 1, 12.0, Purpose.PATIENT).pdf
    title, greeting = (LETTERS["bn"]["frame"]["title"], LETTERS["bn"]["normal"][1])

    assert in_order(pdf, [title, greeting], poppler) == []
    assert in_order(pdf, [greeting, title], poppler) == [letters(title)]


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_file_says_which_way_it_is_read(language: str) -> None:
    """ISO 32000-2, table 147, Direction; by pikepdf. The typesetter takes Panjabi for rtl."""
    with pikepdf.open(io.BytesIO(pressed(language, 1, 12.0, Purpose.PATIENT).pdf)) as document:
        said = str(document.Root.ViewerPreferences.get("/Direction", "/L2R"))

    assert said == {"ltr": "/L2R", "rtl": "/R2L"}[LETTERS[language]["direction"]]


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_is_strong_is_set_in_a_bold_of_its_own(language: str) -> None:
    """By the ink on the page as pdfium draws it, whatever the font calls itself."""
    words = LETTERS[language]["normal"][1]
    plain, strong = (
        Line((Span(words * 9, strong=strong),), "frame", approved=True) for strong in (False, True)
    )
    light, heavy = (PRESS.press(data(letter(language, caution=one))) for one in (plain, strong))

    assert ink(heavy.pdf) > 1.03 * ink(light.pdf)


def ink(pdf: bytes) -> int:
    """How dark all pages are together."""
    with pypdfium2.PdfDocument(pdf) as document:
        drawn = [bytes(sheet.render(scale=2, grayscale=True).buffer) for sheet in document]
    return sum(255 * len(one) - sum(one) for one in drawn)


@pytest.mark.parametrize(
    ("language", "folders"),
    [
        ("en", {"manimgx_fonts"}),
        ("pa", {"manimgx_fonts"}),
        ("ur", {"manimgx_fonts", "files"}),
        ("bn", {"manimgx_fonts", "files"}),
        ("zh", {"manimgx_fonts", "manimgx_fonts_cjk"}),
    ],
)
def test_only_the_fonts_a_letter_needs_are_read(language: str, folders: set[str]) -> None:
    press = TypstPress()
    press.press(data(letter(language)))

    assert [{folder.name for folder in read} for read in press._read] == [folders]


def test_quotation_marks_are_as_wide_as_the_letters_on_a_chinese_page_alone() -> None:
    """The Latin font draws them too, and narrower."""
    rows = {language: json.loads(data(letter(language))) for language in ("zh", "en")}

    told_zh = fonts.named(fonts.families(rows["zh"]), "zh")
    assert told_zh[0] == {"name": "Noto Sans", "covers": "latin-in-cjk"}
    assert fonts.named(fonts.families(rows["en"]), "en") == ["Noto Sans"]
    assert width_of("“", "zh") > 1.5 * width_of("9", "zh")


def width_of(char: str, language: str) -> float:
    """How far the next character stands from the first of these on page 1, in points."""
    with pypdfium2.PdfDocument(pressed(language, 1, 12.0, Purpose.PATIENT).pdf) as document:
        text = document[0].get_textpage()
        at = text.get_text_range().index(char)
        left, right = text.get_charbox(at, loose=True)[::2]
        return float(right - left)


def test_the_extraction_test_notices_a_lost_letter() -> None:
    given = data(letter("pl"))
    printed = PRESS.press(data(letter("pl", title=line("Jak dba o ucho"))))

    assert Counter(letters(expected(given, printed))) - Counter(
        letters("".join(pages(printed.pdf)))
    ) == Counter("ć")


SCRIPTS = {
    "Armenian": "Արամ Խաչատրյան և",
    "Devanagari": "श्रीमती लक्ष्मी शर्मा, स्त्री हिंदी ऑस्ट्रेलिया कॉफ़ी अँगूठा",
    "Ethiopic": "አበበ በቀለ እባክዎን",
    "Georgian": "გიორგი გთხოვთ",
    "Gujarati": "શ્રીમતી લક્ષ્મી કૃષ્ણ સ્ત્રી હિંદ",
    "Gurmukhi": "ਸ੍ਰੀਮਤੀ ਲਕਸ਼ਮੀ ਗੁਰਪ੍ਰੀਤ ਅੰਮ੍ਰਿਤ ਇੱਕ",
    "Hebrew": "שרה כהן שלום לחץ",
    "Kannada": "ಶ್ರೀಮತಿ ಲಕ್ಷ್ಮೀ ಕೃಷ್ಣ ಸ್ತ್ರೀ",
    "Malayalam": "ശ്രീമതി ലക്ഷ്മി കൃഷ്ണൻ സ്ത്രീ",
    "Myanmar": "မောင်မောင် ခင်နှင်းဝေ ပြည့် စိုး",
    "Sinhala": "ශ්‍රීමතී ලක්ෂ්මී ක්‍රිෂ්ණා",
    "Tamil": "ஸ்ரீமதி லக்ஷ்மி கிருஷ்ணன்",
}
# Names for the families that are not called after one script.
OF_FAMILIES = {
    "Hind Siliguri": ("শ্রীমতী লক্ষ্মী কৃষ্ণা ব্যানার্জ্জী", "ক্ষেত্রমোহন ৰায়"),
    "Noto Sans CJK SC": ("林小梅", "佐藤さくら", "김서연", "歐陽詩韻"),
}


def test_every_further_script_we_offer_has_a_trial() -> None:
    tried = {f"Noto Sans {script}" for script in SCRIPTS} | OF_FAMILIES.keys()
    assert tried == {family.name for family in fonts.CHAIN[2:]}


@pytest.mark.parametrize("name", [name for names in OF_FAMILIES.values() for name in names])
def test_a_name_in_a_script_of_several_languages_is_kept_whole(name: str) -> None:
    given = data(letter("en", salutation=Line((Span(name, Role.NAME),), "frame", approved=True)))

    assert letters(name) in letters(pages(PRESS.press(given).pdf)[0])


@pytest.mark.parametrize("script", sorted(SCRIPTS))
def test_a_name_in_another_script_is_kept_whole(script: str) -> None:
    name = SCRIPTS[script]
    given = data(letter("en", salutation=Line((Span(name, Role.NAME),), "frame", approved=True)))
    printed = PRESS.press(given)

    assert Counter(letters("".join(pages(printed.pdf)))) == Counter(
        letters(expected(given, printed))
    )


# --- accessible --------------------------------------------------------------------------


@every_variant
def test_the_file_is_tagged_pdf_ua_1_with_its_language_and_title(
    language: str, times: int, point: float, purpose: Purpose
) -> None:
    """ISO 14289-1 by page-validation; the catalogue's entries by pikepdf."""
    pdf = pressed(language, times, point, purpose).pdf
    report = page_validation.validate_pdf_bytes(
        pdf, profile=page_validation.ValidationProfile.PDF_UA_1
    )
    with pikepdf.open(io.BytesIO(pdf)) as document:
        root = document.Root
        assert str(root.Lang) == language
        assert bool(root.MarkInfo.Marked)
        assert "/StructTreeRoot" in root
        assert bool(root.ViewerPreferences.DisplayDocTitle)
        assert str(document.docinfo["/Title"]) == LETTERS[language]["frame"]["title"]
        assert document.open_metadata()["pdfuaid:part"] == "1"

    assert report.is_compliant
    assert not report.failures


def test_the_validator_notices_a_missing_title() -> None:
    with pikepdf.open(io.BytesIO(pressed("en", 1, 12.0, Purpose.PATIENT).pdf)) as document:
        del document.Root.Metadata
        saved = io.BytesIO()
        document.save(saved)

    assert not page_validation.validate_pdf_bytes(
        saved.getvalue(), profile=page_validation.ValidationProfile.PDF_UA_1
    ).is_compliant


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_font_is_embedded(language: str) -> None:
    with pikepdf.open(io.BytesIO(pressed(language, 1, 12.0, Purpose.SAMPLE).pdf)) as document:
        descriptors = [
            item.FontDescriptor
            for item in document.objects
            if isinstance(item, pikepdf.Dictionary) and "/FontDescriptor" in item
        ]
        assert descriptors
        assert all({"/FontFile2", "/FontFile3"} & set(one.keys()) for one in descriptors)


@every_variant
def test_nothing_is_smaller_than_the_size_asked_for(
    language: str, times: int, point: float, purpose: Purpose
) -> None:
    """12 pt or more, 18 pt in large print (UKAAF G003); the stamp's repeats are 12 pt."""
    smallest = 12.0 if purpose is Purpose.SAMPLE else point

    assert min(sizes(pressed(language, times, point, purpose).pdf)) >= smallest - 0.01


def sizes(pdf: bytes) -> Iterator[float]:
    with pypdfium2.PdfDocument(pdf) as document:
        for sheet in document:
            text = sheet.get_textpage()
            for at in range(text.count_chars()):
                if raw.FPDFText_GetUnicode(text, at) > 32:
                    yield raw.FPDFText_GetFontSize(text, at)


def test_colours_keep_their_contrast() -> None:
    """WCAG 2.2, 1.4.3: 4.5 : 1 at least, by its own formula for relative luminance."""
    template = (files("aftercare.render") / "templates/leaflet.typ").read_text(encoding="utf-8")
    colour = dict(re.findall(r'#let (\w+) = rgb\("#(\w{6})"\)', template))

    assert set(colour) == {"ink", "accent", "wash"}
    for text in ("ink", "accent"):
        for ground in ("ffffff", colour["wash"]):
            assert contrast(colour[text], ground) >= 4.5


def contrast(one: str, other: str) -> float:
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


# --- the sheets --------------------------------------------------------------------------


@every_variant
def test_the_pages_are_counted_right_and_numbered_when_there_is_more_than_one(
    language: str, times: int, point: float, purpose: Purpose
) -> None:
    printed = pressed(language, times, point, purpose)
    sheets = pages(printed.pdf)
    word = LETTERS[language]["frame"]["page"]

    assert printed.pages == len(sheets)
    for at, sheet in enumerate(sheets, 1):
        numbered = Counter(f"{word}{at}/{len(sheets)}") <= Counter(letters(sheet))
        assert numbered if len(sheets) > 1 else f"/{len(sheets)}" not in letters(sheet)


def test_short_letters_take_one_page_and_long_ones_three() -> None:
    assert pressed("cy", 1, 12.0, Purpose.PATIENT).pages == 1
    assert pressed("en", 1, 18.0, Purpose.PATIENT).pages == 2
    assert pressed("en", 8, 12.0, Purpose.SAMPLE).pages >= 3


@every_variant
def test_urgent_signs_and_contact_stand_whole_on_the_first_page_before_the_rest(
    language: str, times: int, point: float, purpose: Purpose
) -> None:
    made = json.loads(data(letter(language, times=times), point=point, purpose=purpose))
    first = Counter(letters(pages(pressed(language, times, point, purpose).pdf)[0]))

    assert not Counter(letters("".join(told(made["vital"])))) - first
    if made["direction"] == "ltr":
        shown = letters(pages(pressed(language, times, point, purpose).pdf)[0])
        places = [shown.index(letters("".join(told(one["heading"])))) for one in made["vital"]]
        rest = letters("".join(told(made["sections"][0]["heading"])))
        assert places == sorted(places)
        assert rest not in shown or shown.rindex(rest) > places[-1]


@every_variant
def test_a_sample_says_so_on_every_page_and_a_patients_copy_never(
    language: str, times: int, point: float, purpose: Purpose
) -> None:
    stamp = Counter(letters("".join(span.text for span in line(stamp_of(language)).spans)))
    for sheet in pages(pressed(language, times, point, purpose).pdf):
        if purpose is Purpose.SAMPLE:
            assert stamp <= Counter(letters(sheet))
        else:
            assert letters(stamp_of(language)) not in letters(sheet)


def stamp_of(language: str) -> str:
    return str(LETTERS[language]["frame"]["stamp"])


def test_the_stamp_stands_once_in_the_body_and_its_repeats_are_artifacts() -> None:
    """A screen reader meets it once, in the tagged body of page 1, and not on every page."""
    with pikepdf.open(io.BytesIO(pressed("en", 1, 12.0, Purpose.SAMPLE).pdf)) as document:
        stream = document.pages[0].Contents.read_bytes()

    assert stream.count(b"/Artifact") >= 2
    assert letters(pages(pressed("en", 1, 12.0, Purpose.SAMPLE).pdf)[0]).count("SAMPLE") == 3


@pytest.mark.parametrize("paper", list(Paper))
def test_the_sheet_has_the_size_of_the_paper(paper: Paper) -> None:
    """ISO 216 for A4 and A5; ANSI Letter (from memory). In millimetres."""
    millimetres = {Paper.A4: (210, 297), Paper.A5: (148, 210), Paper.LETTER: (215.9, 279.4)}
    printed = PRESS.press(data(letter("en"), paper=paper))

    with pypdfium2.PdfDocument(printed.pdf) as document:
        size = [points * 25.4 / 72 for points in document[0].get_size()]
    assert size == pytest.approx(millimetres[paper], abs=0.1)


@pytest.mark.parametrize("language", LANGUAGES)
def test_nothing_runs_over_the_edge_even_with_the_longest_words(language: str) -> None:
    name = "Wolfeschlegelsteinhausenbergerdorff" * 3
    address = "w" * 70 + "@marsh-lane.example"
    worded = letter(
        language,
        salutation=Line((Span(name, Role.NAME),), "frame", approved=True),
        visit_line=Line((Span(address, Role.LINK),), "frame", approved=True),
    )
    printed = PRESS.press(data(replace(worded, sections=worded.sections[2:]), point=24.0))

    with pypdfium2.PdfDocument(printed.pdf) as document:
        for sheet in document:
            text, width = sheet.get_textpage(), sheet.get_width()
            boxes = [text.get_charbox(at) for at in range(text.count_chars())]
            assert min(box[0] for box in boxes if any(box)) >= 42
            assert max(box[2] for box in boxes) <= width - 42
    assert letters(name) in letters("".join(pages(printed.pdf)))


def first_page(printed: Printed) -> str:
    return letters(pages(printed.pdf)[0])


def repeated(worded: Worded, kind: Kind, times: int) -> Worded:
    """The letter with the lines of one section said over and over."""
    sections = []
    for section in worded.sections:
        if section.kind is kind:
            (passage,) = section.passages
            lines = passage.lines * times
            section = replace(section, passages=(replace(passage, lines=lines),))
        sections.append(section)
    return replace(worded, sections=tuple(sections))


def test_the_box_comes_before_the_visit_line_when_it_only_fits_so() -> None:
    long = line("We are glad that you came. " * 30)
    shown = first_page(PRESS.press(data(letter("en", visit_line=long), point=18.0)))

    assert "Whotoring" in shown
    assert "Weareglad" not in shown[: shown.index("Whotoring")]


@pytest.mark.parametrize("before", range(46, 66))
def test_a_polish_name_never_gains_a_hyphen_at_the_end_of_a_line(before: int) -> None:
    spans = (Span("i " * before), Span("Zdzisława Wójcik-Łęcka", Role.NAME))
    worded = letter("pl", salutation=Line(spans, "frame", approved=True))

    assert "ZdzisławaWójcik-Łęcka" in first_page(PRESS.press(data(worded)))


@pytest.mark.parametrize(
    ("language", "point", "arrangement"),
    [("pl", 19.0, 0), ("pl", 20.0, 1), ("pl", 21.0, 2), ("en", 23.0, 3), ("pl", 24.0, 4)],
)
def test_the_best_arrangement_that_fits_is_used(
    language: str, point: float, arrangement: int
) -> None:
    given = data(letter(language), point=point)

    assert PRESS.press(given) == PRESS._set(_job(given), _ARRANGEMENTS[arrangement]).printed
    assert not any(PRESS._set(_job(given), one).boxed for one in _ARRANGEMENTS[:arrangement])


def test_urgent_signs_and_contact_have_a_box_each_when_one_page_cannot_hold_both() -> None:
    long = repeated(repeated(letter("en"), Kind.URGENT, 2), Kind.CONTACT, 2)
    printed = PRESS.press(data(long, point=18.0))
    first, second, *_ = map(letters, pages(printed.pdf))
    made = letters("".join(told(json.loads(data(letter("en")))["vital"][1])))

    assert first.count("hotorswollen") == 2
    assert "Whotoring" not in first
    assert second.startswith("Whotoring")
    assert not Counter(made) - Counter(second)


def test_groups_of_signs_have_a_box_each_when_one_page_cannot_hold_them_all() -> None:
    worded = letter("en")
    urgent = worded.sections[0]
    grouped = []
    for sign in ("Call at once", "Call today", "Call soon"):
        grouped.append(Passage(Shape.PARAGRAPHS, (line(f"{sign} for any of these."),)))
        grouped.append(Passage(Shape.BULLETS, (line(f"A thing that means {sign}."),) * 9))
    urgent = replace(urgent, passages=tuple(grouped))
    printed = PRESS.press(
        data(replace(worded, sections=(urgent, *worded.sections[1:])), point=18.0)
    )
    sheets = list(map(letters, pages(printed.pdf)))

    for sign in ("Callatonce", "Calltoday", "Callsoon"):
        assert [sheet.count(f"means{sign}") for sheet in sheets if sign in sheet] == [9]
    assert "meansCallatonce" in sheets[0]
    assert "meansCallsoon" not in sheets[0]


@pytest.mark.parametrize(("kind", "times"), [(Kind.URGENT, 4), (Kind.CONTACT, 9)])
def test_a_box_too_tall_for_its_page_is_refused(kind: Kind, times: int) -> None:
    with pytest.raises(BadText, match="do not fit"):
        PRESS.press(data(repeated(letter("en"), kind, times), point=18.0))


def test_a_last_page_of_a_few_lines_is_saved_by_closer_lines() -> None:
    given = data(repeated(letter("cy"), Kind.NORMAL, 4))
    roomy = PRESS._set(_job(given), _ARRANGEMENTS[0])

    assert roomy.printed.pages == 2
    assert roomy.wasteful
    assert PRESS.press(given).pages == 1


# --- right to left -----------------------------------------------------------------------


@pytest.mark.parametrize("language", ["ur", "ar"])
@pytest.mark.parametrize("point", [12.0, 18.0])
@pytest.mark.parametrize("number", ["01632 960123", "+44 1632 960123", "07700 900123"])
def test_phone_numbers_stand_in_reading_order_on_right_to_left_pages(
    language: str, point: float, number: str
) -> None:
    """By where pdfium finds each character on the page, not by the order it reports."""
    rows = visual_rows(pressed(language, 1, point, Purpose.PATIENT).pdf)

    assert any(number.replace(" ", "") in row for row in rows)


def visual_rows(pdf: bytes) -> list[str]:
    """The visible characters of page 1, row by row, each from left to right."""
    rows: dict[int, list[tuple[float, str]]] = {}
    with pypdfium2.PdfDocument(pdf) as document:
        text = document[0].get_textpage()
        for at in range(text.count_chars()):
            x, y = raw.c_double(), raw.c_double()
            raw.FPDFText_GetCharOrigin(text, at, x, y)
            char = chr(raw.FPDFText_GetUnicode(text, at))
            if not char.isspace() and category(char) != "Cf":
                rows.setdefault(round(y.value), []).append((x.value, char))
    return ["".join(char for _, char in sorted(row)) for row in rows.values()]


@pytest.mark.parametrize("language", LANGUAGES)
def test_lines_start_at_the_side_their_language_is_read_from(language: str) -> None:
    with pypdfium2.PdfDocument(pressed(language, 1, 12.0, Purpose.PATIENT).pdf) as document:
        text, width = document[0].get_textpage(), document[0].get_width()
        boxes = [text.get_charbox(at) for at in range(text.count_chars())]
    near = 20 * 72 / 25.4 + 24  # the margin, and the inset of the box
    starts = {"ltr": [b[0] < near for b in boxes], "rtl": [b[2] > width - near for b in boxes]}
    reading = LETTERS[language]["direction"]

    assert sum(starts[reading]) > 2 * sum(starts["rtl" if reading == "ltr" else "ltr"])


@pytest.mark.parametrize("language", ["ur", "ar"])
def test_an_override_in_a_name_leaves_the_rest_of_the_line_alone(language: str) -> None:
    after = " 01632 960123 ABC"
    rows = [
        visual_rows(
            PRESS.press(
                data(
                    letter(
                        language,
                        salutation=Line(
                            (Span("سے "), Span(name, Role.NAME), Span(after)),
                            "frame",
                            approved=True,
                        ),
                    )
                )
            ).pdf
        )
        for name in ("Bo", "\u202eBo", "\u2069\u202eBo")
    ]

    assert rows[0] == rows[1] == rows[2]


# --- data, never markup ------------------------------------------------------------------


def printable(char: str) -> bool:
    return fonts._has_glyph(char) and normalize("NFKC", char) == char


PLAIN = "".join(
    char
    for char in map(chr, [*range(0x20, 0x250), *range(0x370, 0x530), *range(0x2010, 0x2060)])
    if printable(char) and category(char) not in {"Mn", "Me", "Cf"}
)
COMMANDS = r"""#panic() *b* $x$ <script> =1+1 {} [ ] \ " // /* */ @r ` ~ -- #let <a> %s {name}
    \u{1F600} https://x.example ' ... &amp; _i_"""
HOSTILE = st.sampled_from(COMMANDS.split())
WORDS = st.lists(st.one_of(HOSTILE, st.text(PLAIN, max_size=10)), max_size=8).map("".join)


@settings(max_examples=300, deadline=None)
@given(name=WORDS)
@example(name="#panic()*b*$x$<script>=1+1{}[]")
def test_whatever_a_name_holds_comes_out_as_that_very_text(name: str) -> None:
    spans = (Span("x«"), Span(name, Role.NAME), Span("»x"))
    worded = Worded(
        language="en",
        direction="ltr",
        frame={
            key: Line(spans if key == "salutation" else (Span("x"),), "frame", approved=True)
            for key in LETTERS["en"]["frame"]
        },
        sections=(),
        short=(),
    )
    shown = letters("".join(pages(PRESS.press(data(worded)).pdf)))

    assert f"x«{letters(name)}»x" in shown


ARABIC = st.sampled_from("ابپتٹثجچحخدڈذرڑزژسشصضطظعغفقکگلمنںوہھیےئءآأإؤةىيكه ۱۲۳")
SIGNED = st.builds(
    str.__add__,
    st.sampled_from("بجدرسصطعفکلمنوہیحاةى"),
    st.sampled_from("\u064b\u064d\u064f\u0650\u0651\u0670"),
)


@settings(max_examples=100, deadline=None)
@example("\u0628\u064b\u0649\u064d")
@given(st.lists(ARABIC | SIGNED, min_size=1).map("".join))
def test_no_arabic_letter_of_any_word_is_lost_or_doubled(word: str) -> None:
    """A sign may be: where two letters are drawn as one, each of their signs says both."""
    given = data(letter("ur", salutation=Line((Span(word),), "frame", approved=True)))
    printed = PRESS.press(given)
    found = Counter(letters("".join(pages(printed.pdf))))
    wanted = Counter(letters(expected(given, printed)))

    assert not wanted - found
    assert {category(one) for one in found - wanted} <= {"Mn"}


# --- refusals ----------------------------------------------------------------------------


def test_a_missing_glyph_is_refused_before_anything_is_set() -> None:
    worded = letter("en", salutation=Line((Span("ก Ann", Role.NAME),), "frame", approved=True))

    with pytest.raises(BadText, match=r"frame salutation.*U\+0E01") as refused:
        PRESS.press(data(worded))
    assert "Ann" not in str(refused.value)


def test_what_the_typesetter_says_of_a_patients_text_is_not_passed_on(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(fonts, "check", lambda document: None)
    worded = letter("en", salutation=Line((Span("Ann\x07", Role.NAME),), "frame", approved=True))

    with pytest.raises(OutOfReach) as refused:
        PRESS.press(data(worded))
    assert "Ann" not in str(refused.value)
    assert refused.value.__suppress_context__


def test_a_warning_is_as_good_as_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    lost = replace(fonts.LATIN, name="No Such Font")
    monkeypatch.setattr(fonts, "families", lambda document: (fonts.LATIN, lost))

    with pytest.raises(OutOfReach, match="warning"):
        PRESS.press(data(letter("en")))


# --- the same bytes ----------------------------------------------------------------------


def test_four_threads_press_the_same_bytes_as_one() -> None:
    jobs = [
        data(letter("ur" if at % 2 else "en", salutation=line(f"{{name|Patient {at}}}")))
        for at in range(20)
    ]
    serial = [PRESS.press(job) for job in jobs]

    with ThreadPoolExecutor(4) as pool:
        threaded = list(pool.map(PRESS.press, jobs * 4))

    assert threaded == serial * 4


def test_each_thread_keeps_a_compiler_of_its_own() -> None:
    latin = fonts.folders((fonts.LATIN,))
    with ThreadPoolExecutor(1) as pool:
        elsewhere = pool.submit(lambda: PRESS._compiler(latin)).result()

    assert PRESS._compiler(latin) is PRESS._compiler(latin)
    assert PRESS._compiler(latin) is not elsewhere


def test_another_process_presses_the_same_bytes() -> None:
    given = data(letter("ur", times=3), purpose=Purpose.SAMPLE)
    program = (
        "import sys, hashlib; from aftercare.edges.press import TypstPress;"
        "print(hashlib.sha256(TypstPress().press(sys.stdin.read()).pdf).hexdigest())"
    )
    run = subprocess.run(
        [sys.executable, "-c", program],
        input=given,
        env={
            **os.environ,
            "PYTHONPATH": os.pathsep.join(sys.path),
            "PYTHONUTF8": "1",
            "TZ": "Asia/Tokyo",
        },
        capture_output=True,
        encoding="utf-8",
        check=True,
    )

    assert run.stdout.strip() == hashlib.sha256(PRESS.press(given).pdf).hexdigest()


def test_the_file_names_the_blocks_and_versions_it_was_made_of() -> None:
    made = {**json.loads(data(letter("en"))), "blocks": ["open-cavity 1.2", "water 2"]}

    with pikepdf.open(io.BytesIO(PRESS.press(json.dumps(made)).pdf)) as document:
        assert str(document.docinfo["/Keywords"]) == "open-cavity 1.2, water 2"


def test_the_file_holds_no_date() -> None:
    with pikepdf.open(io.BytesIO(pressed("en", 1, 12.0, Purpose.PATIENT).pdf)) as document:
        assert "/CreationDate" not in document.docinfo


# --- the clinic's limit on pages ------------------------------------------------------------


def test_closer_layouts_are_taken_only_to_keep_a_limit_on_pages() -> None:
    long = letter("en", times=30)
    first = PRESS._arranged(_job(data(long)), _ARRANGEMENTS[0]).printed
    fewest = PRESS._set(_job(data(long)), _CLOSEST).printed.pages
    assert fewest < first.pages

    def took(most: int | None) -> Printed:
        return PRESS.press(data(long, most_pages=most))

    assert took(None).pages == took(first.pages).pages == first.pages
    assert took(first.pages).pdf == first.pdf
    assert took(first.pages - 1).pages == first.pages - 1
    assert took(fewest).pages == took(fewest - 1).pages == took(1).pages == fewest


def test_heights_are_those_of_the_page_with_the_least_space() -> None:
    """Of one letter in three sizes: all that is in it, added up, against where its last word is."""
    for point in (12.0, 14.0, 18.0):
        told = letter("en")
        flat = [line for section in told.sections for line in section.lines()]
        rows = [Row(line, Shape.PARAGRAPHS, boxed=False) for line in flat]
        found = PRESS.heights(
            ruler_data([told], rows, clinic="Marsh Lane Ear Clinic", point=point, edition="7f3a")
        )
        passage = Passage(Shape.PARAGRAPHS, tuple(flat[:4]))
        title = told.sections[2].heading
        only = replace(told, sections=(Section(Kind.DONE, title, (passage,)),))
        sheet = PRESS._set(_job(data(only, point=point, purpose=Purpose.SAMPLE)), _CLOSEST)
        heading = PRESS.heights(
            ruler_data([told], [Row(title, None, boxed=False)],
                       clinic="-", point=point, edition="-")
        )  # fmt: skip
        visit = Row(told.frame["visit_line"], Shape.PARAGRAPHS, boxed=False)
        more = PRESS.heights(ruler_data([told], [visit], clinic="-", point=point, edition="-"))
        between, over = found.gaps["paragraphs"], found.gaps["heading"]
        added = (
            found.head + between["paragraphs"] + more.rows[0][0]
            + between["heading"] + heading.rows[0][0] + over["paragraphs"]
            + sum(whole for whole, _ in found.rows[:4]) + 3 * between["paragraphs"]
            + between["ending"] + found.ending
        )  # fmt: skip
        top = 12 / 25.4 * 72

        assert abs(sheet.filled * (found.page + top) - top - added) < 0.1, point
        assert all(0 < line <= whole for whole, line in found.rows)
