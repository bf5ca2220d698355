"""A sentence that tells a number: from the editor's two forms to each language's own, and out."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from shutil import which
from subprocess import run

import pytest
from babel import Locale
from made_up import HOME

from aftercare.edges.folder import read_home
from aftercare.library import read
from aftercare.library.plurals import plural_forms, read_forms
from aftercare.library.po import Entry, read_po, write_po
from aftercare.library.template import Asked, template
from aftercare.library.update import update
from aftercare.model import Library, Line, Role, Span
from aftercare.word.counted import plural_rule, shown
from aftercare.word.translate import Translator

BLOCK, LENGTH = "reminder-length", "content/reminders/length.md"
FILES = read_home(HOME)
_DAY = date(2026, 11, 30)
# CLDR 47, chart "Language Plural Rules": counts that meet every category of whole numbers.
CHECKED = {
    "en": (0, 1, 2, 15), "cy": (0, 1, 2, 3, 6, 4, 15), "pl": (1, 2, 5, 12, 22),
    "ro": (1, 2, 20, 101), "ar": (0, 1, 2, 3, 11, 100), "bn": (0, 1, 2), "pa": (0, 1, 2),
    "ur": (0, 1, 2), "fr": (0, 1, 2), "de": (0, 1, 2), "es": (0, 1, 2), "pt": (0, 1, 2),
    "zh": (0, 1, 2),
}  # fmt: skip
# Written out by hand; from memory, a native reader must confirm.
SAID = {
    ("en", 1): "The visit takes about 1 minute.",
    ("en", 30): "The visit takes about 30 minutes.",
    ("cy", 2): "Mae'r ymweliad yn para tua 2 funud.",
    ("cy", 30): "Mae'r ymweliad yn para tua 30 munud.",
    ("pl", 1): "Wizyta trwa około 1 minuty.",
    ("pl", 22): "Wizyta trwa około 22 minut.",
    ("ro", 15): "Vizita durează aproximativ 15 minute.",
    ("ro", 20): "Vizita durează aproximativ 20 de minute.",
    ("ar", 2): "تستغرق الزيارة نحو دقيقتين.",
    ("ar", 5): "تستغرق الزيارة نحو 5 دقائق.",
    ("ar", 30): "تستغرق الزيارة نحو 30 دقيقة.",
    ("fr", 0): "La visite dure environ 0 minute.",
    ("bn", 20): "সাক্ষাতে প্রায় 20 মিনিট সময় লাগে।",
    ("zh", 20): "就诊大约需要 20 分钟。",
}


def said(library: Library, language: str, count: int) -> Line:
    """The shipped sentence as WORD says it for a number."""
    (block,) = (one for one in library.reminders if one.id == BLOCK)
    ((phrase,),) = [[v.phrase for v in u.variants] for u in block.units()]
    slots = {"visit_minutes": Span(str(count), Role.WORDS)}
    return Translator(library, language).line(BLOCK, phrase, slots)


def marked(language: str) -> Library:
    """The shelf with a catalogue in which each form names itself, made by the house's commands."""
    forms = read_forms(plural_forms(language))
    assert forms
    one = "The visit takes about {visit_minutes} minute."
    other = one.replace("minute.", "minutes.")
    asked = Asked(file=LENGTH, line=16, context=BLOCK, msgid=one, said="", plural=other)
    pot = read_po("x.pot", template([asked], None, _DAY))
    path = f"locales/{language}/LC_MESSAGES/aftercare.po"
    made = read_po(path, update(language, path, None, pot).raw)
    (entry,) = made.entries
    assert entry.msgstrs == ("",) * forms.many
    texts = tuple(f"form {'abcdefghij'[n]} {{visit_minutes}}" for n in range(forms.many))
    assert made.header is not None
    raw = write_po(made.header, [Entry(BLOCK, one, texts, other)])
    return read({**_source_alone(), path: raw}, wanted=(language,))


def _source_alone() -> dict[str, bytes]:
    return {path: raw for path, raw in FILES.items() if not path.startswith("locales/")}


@pytest.mark.parametrize("language", [one for one in CHECKED if one != "en"])
def test_each_category_of_cldr_is_told_in_a_form_of_its_own(language: str) -> None:
    library = marked(language)
    category = Locale.parse(language).plural_form  # an outside judge: CLDR, through Babel
    of_form: dict[str, set[str]] = {}
    for count in (*CHECKED[language], *range(130)):
        line = said(library, language, count)
        form, number = line.text.removeprefix("form ").split(" ")
        assert number == str(count)
        of_form.setdefault(form, set()).add(category(count))

    assert all(len(categories) == 1 for categories in of_form.values())
    assert len(of_form) == len({category(count) for count in range(130)})


@pytest.mark.parametrize("key", SAID, ids=lambda key: f"{key[0]}-{key[1]}")
def test_the_shipped_sentence_says_its_number_as_the_language_does(key: tuple[str, int]) -> None:
    language, count = key
    library = read(FILES, wanted=() if language == "en" else (language,))

    assert said(library, language, count).text == SAID[key]


@pytest.mark.parametrize("language", [one for one in CHECKED if one != "en"])
def test_every_shipped_form_keeps_its_number(language: str) -> None:
    """The number is there in figures, unless the form is for that one number alone."""
    library = read(FILES, wanted=(language,))
    forms = read_forms(plural_forms(language))
    assert forms
    for count in (*CHECKED[language], 15, 20, 30, 45, 90):
        line = said(library, language, count)
        alone = language == "ar" and count in (1, 2)
        assert (str(count) in line.text) is not alone
        assert line.approved is False
        assert "{" not in line.text


@pytest.mark.parametrize("language", CHECKED)
def test_a_number_is_shown_for_every_form_that_whole_numbers_meet(language: str) -> None:
    library = read(FILES, wanted=() if language == "en" else (language,))
    category = Locale.parse(language).plural_form
    told = shown(plural_rule(library, language))

    assert {category(count) for count in told} == {category(count) for count in range(130)}
    assert len(told) == len({category(count) for count in told})


@pytest.mark.parametrize("language", ["cy", "ar", "pl"])
def test_gnu_gettext_reads_the_shipped_forms(language: str, tmp_path: Path) -> None:
    """An outside judge: what msgfmt compiles, Python's gettext says as we do."""
    import gettext

    msgfmt = which("msgfmt")
    if msgfmt is None:
        pytest.skip("GNU gettext is not installed")
    source = tmp_path / "x.po"
    source.write_bytes(FILES[f"locales/{language}/LC_MESSAGES/aftercare.po"])
    run([msgfmt, "-o", str(tmp_path / "x.mo"), str(source)], check=True)
    with (tmp_path / "x.mo").open("rb") as compiled:
        judge = gettext.GNUTranslations(compiled)
    library = read(FILES, wanted=(language,))
    one = "The visit takes about {visit_minutes} minute."
    for count in (*CHECKED[language], 20, 31, 101, 111):
        theirs = judge.npgettext(BLOCK, one, one.replace("minute.", "minutes."), count)
        assert said(library, language, count).text == theirs.replace("{visit_minutes}", str(count))


def test_a_translation_of_another_form_is_not_used() -> None:
    """An editor rewords the form for several alone: what was made for the old one is stale."""
    raw = FILES[LENGTH].decode()
    reworded = raw.replace("about {visit_minutes} minutes.", "up to {visit_minutes} minutes.")
    assert raw != reworded
    library = read({**FILES, LENGTH: reworded.encode()}, wanted=("pl",))
    (block,) = (one for one in library.reminders if one.id == BLOCK)
    translator = Translator(library, "pl")
    phrase = next(block.units()).variants[0].phrase

    line = translator.line(BLOCK, phrase, {"visit_minutes": Span("30")})

    assert translator.missing == {BLOCK}
    assert line.text == "The visit takes up to 30 minutes."
