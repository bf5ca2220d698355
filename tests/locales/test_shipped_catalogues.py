"""The catalogues that ship: whole, in step with the content, and fit for the channels."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Sequence
from io import BytesIO
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po as babel_read

from aftercare.cli.catalogues import Bench, asked, glossaries, judge, open_bench
from aftercare.library.po import read_po
from aftercare.library.template import TEMPLATE, template
from aftercare.library.update import update
from aftercare.model import Library
from aftercare.proof.translated import sentences
from aftercare.word.checks import Pair, Severity, check_pair

ROOT = Path(__file__).parents[2]
LANGUAGES = sorted(path.parts[-3] for path in ROOT.glob("locales/*/LC_MESSAGES/aftercare.po"))
EXTRACTOR = "aftercare.edges.extractor:extract"
# No letter beside it parts a figure from Chinese words.
FIGURES = r"(?<!\d)(?!1(?!\d))\d+"
METHODS = [
    ("**/README.md", "ignore"),
    ("**/HAZARDS.md", "ignore"),
    ("**/*.md", EXTRACTOR),
    ("**/frame.toml", EXTRACTOR),
    ("**/clinic.toml", EXTRACTOR),
]
Key = tuple[str | None, str]


def extracted() -> set[Key]:
    """What translators are asked for, straight from the content as it stands."""
    return {
        (context, source(msgid))
        for folder in ("content", "shared")
        for _, _, msgid, _, context in extract_from_dir(ROOT / folder, METHODS)
    }


def source(msgid: str | Sequence[str]) -> str:
    """A source as it is looked up: where it tells a number, both forms with a NUL."""
    return msgid if isinstance(msgid, str) else "\0".join(msgid)


def catalogue(path: Path) -> Catalog:
    return babel_read(BytesIO(path.read_bytes()), abort_invalid=True)


@pytest.fixture(scope="session")
def bench() -> Bench:
    return open_bench(str(ROOT))


def texts(said: str | Sequence[str]) -> tuple[str, ...]:
    """The forms of a message, be it one or several."""
    return (said,) if isinstance(said, str) else tuple(said)


def po(language: str) -> Path:
    return ROOT / "locales" / language / "LC_MESSAGES" / "aftercare.po"


def keys(messages: Catalog) -> set[Key]:
    return {(message.context, source(message.id)) for message in messages if message.id}


@pytest.mark.parametrize(
    "path", [ROOT / "locales/aftercare.pot", *map(po, LANGUAGES)], ids=lambda path: path.parts[-3]
)
def test_translators_are_asked_for_exactly_the_words_of_the_shelf(path: Path) -> None:
    assert keys(catalogue(path)) == extracted()


def test_there_are_catalogues() -> None:
    assert {"pl", "ur"} <= set(LANGUAGES)


def test_the_template_says_of_each_sentence_what_babel_finds(bench: Bench) -> None:
    """An outside judge: Babel's own extraction, as translators' tools run it."""
    theirs: dict[Key, tuple[list[str], list[str]]] = {}
    for folder in ("content", "shared"):
        for path, line, msgid, said, context in extract_from_dir(ROOT / folder, METHODS):
            notes, places = theirs.setdefault((context, source(msgid)), ([], []))
            notes.extend(one for one in said if one not in notes)
            places.append(f"{folder}/{path}:{line}")
    written = read_po(TEMPLATE, template(asked(bench), None, bench.today))

    ours = {e.key: (list(e.extracted), list(e.places)) for e in written.entries}
    assert ours == theirs
    # Babel walks a folder's files before its folders, as the template does.
    assert list(ours) == list(theirs)
    assert ours.keys() == sentences(bench.library).keys()


@pytest.mark.parametrize("language", LANGUAGES)
def test_an_update_of_a_catalogue_keeps_every_translation_it_has(
    language: str, bench: Bench
) -> None:
    raw = po(language).read_bytes()
    wanted = read_po(TEMPLATE, template(asked(bench), None, bench.today))

    done = read_po("x", update(language, "x", raw, wanted).raw)

    before = {(e.key, e.msgstrs) for e in read_po("x", raw).entries if any(e.msgstrs)}
    assert before <= {(e.key, e.msgstrs) for e in done.entries}
    assert {e.key for e in done.active()} == {e.key for e in wanted.active()}


@pytest.mark.parametrize("language", LANGUAGES)
def test_nothing_is_found_in_a_catalogue_that_stops_a_translation_or_strays_from_the_glossary(
    language: str, bench: Bench
) -> None:
    found = judge(bench, language).faults(language, bench.po(language))

    assert [(f.place, f.found) for f in found if f.found.severity is Severity.BLOCK] == []
    assert [(f.place, f.found) for f in found if f.found.kind == "term"] == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_phrase_is_translated_and_none_is_fuzzy(language: str) -> None:
    left = [m.id for m in catalogue(po(language)) if m.id and (m.fuzzy or not all(texts(m.string)))]

    assert left == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_translation_that_ships_is_approved(library: Library, language: str) -> None:
    assert not any(one.approved for one in library.catalogues[language].phrases.values())


@pytest.mark.parametrize("language", LANGUAGES)
def test_slots_bold_and_digits_are_kept(language: str) -> None:
    for message in catalogue(po(language)):
        # Forms for one number alone may say it in words: tests/word/test_counted.py asks for them.
        if message.id and not message.pluralizable:
            asked_for, target = str(message.id), str(message.string)
            # One hour is "an hour" in some languages; every other figure stays a figure.
            for kept in (r"\{[a-z_]+\}", r"\*\*", FIGURES):
                if not (kept == FIGURES and message.context == "clinic"):
                    there = sorted(re.findall(kept, target))
                    assert sorted(re.findall(kept, asked_for)) == there, (
                        message.context, asked_for,
                    )  # fmt: skip


@pytest.mark.parametrize("language", LANGUAGES)
def test_gnu_gettext_accepts_the_catalogue(language: str) -> None:
    """An outside judge: msgfmt -c of GNU gettext."""
    msgfmt = shutil.which("msgfmt")
    if msgfmt is None:
        pytest.skip("GNU gettext is not installed")

    checked = subprocess.run(
        [msgfmt, "-c", "-o", "/dev/null", str(po(language))], capture_output=True, text=True
    )

    assert (checked.returncode, checked.stderr) == (0, "")


# What a reader has to type, or say to whoever answers in English, as it is.
AS_IT_IS = {"register", "yes", "ambulance", "text", "relay", "interpreter"}


@pytest.mark.parametrize("language", ["ar", "bn", "pa", "ur", "zh"])
def test_no_word_is_left_in_another_script_but_what_must_be_typed_or_said(language: str) -> None:
    found = {
        word
        for message in catalogue(po(language))
        if message.id
        for said in texts(message.string)
        for word in re.findall(r"[A-Za-z]{2,}", re.sub(r"\{[^{}]*\}", "", said))
    }

    assert found <= AS_IT_IS


# Words that call the reader "du", "tu", "ty": school grammar of each language, from memory.
FAMILIAR = {
    "bn": "তুমি|তোমা|তুই", "cy": r"\b(dy|ti|wyt|dylet)\b", "de": r"\b(du|dich|dir|deine?[mnrs]?)\b",
    "es": r"\b(tú|tus?|ti|contigo|vosotros|vuestr[ao]s?)\b", "fr": r"\b(tu|toi|ton|tes)\b",
    "pa": "ਤੂੰ|ਤੇਰ|ਤੈਨੂੰ", "pl": r"\b(ty|ciebie|tobie|tobą|twój|twoje?|twoja|twojego|twojej)\b",
    "pt": r"\b(tu|teus?|tuas?|contigo)\b", "ro": r"\b(tu|tine|ție|tăi|tale)\b",
    "ur": r"\b(تم|تمہ\w*|تو ہے)\b", "zh": "你",
}  # fmt: skip


@pytest.mark.parametrize("language", sorted(FAMILIAR))
def test_a_patient_is_called_as_one_calls_somebody_one_does_not_know(language: str) -> None:
    """Arabic is left out: it is told from a plural by vowels that nobody writes."""
    familiar = re.compile(FAMILIAR[language], re.IGNORECASE)
    found = [
        said
        for message in catalogue(po(language))
        if message.id
        for said in texts(message.string)
        if familiar.search(said)
    ]

    assert found == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_term_told_by_another_word_than_the_glossary_s_is_seen(
    language: str, bench: Bench
) -> None:
    """Of a grommet, in every sentence that has one."""
    terms = glossaries(bench.files)[language]
    held = judge(bench, language)
    with_one = [
        (str(one.id), text)
        for one in catalogue(po(language))
        for text in texts(one.string)
        if isinstance(one.id, str) and "grommet" in one.id
    ]
    stems = "|".join(re.escape(form.split()[0].rstrip("*")) for form in terms["grommet"])
    otherwise = [
        Pair(id="", source=source, target=changed, language=language)
        for source, text in with_one
        if (changed := re.sub(stems, "…", text, flags=re.IGNORECASE)) != text
    ]

    assert len(terms) >= 18
    assert len(otherwise) >= 10
    for pair in otherwise:
        found = check_pair(pair, parts=held.parts, glossaries=held.glossaries)
        assert "term" in {one.kind for one in found}, pair.target
