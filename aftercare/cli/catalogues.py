"""The translators' bench: the shelf's own words beside its catalogues, and what holds them up."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from io import BytesIO
from pathlib import Path

from aftercare.edges.extractor import extract
from aftercare.edges.folder import find_home, is_shipped, one_at_a_time, read_home, rewrite
from aftercare.errors import AftercareError, BadContent, BadInput, OutOfReach
from aftercare.library import Files, block_paths, read_shelf
from aftercare.library.catalogues import direction, languages, read_reviewers
from aftercare.library.paths import FRAME_PATH
from aftercare.library.po import Po, read_po
from aftercare.library.signing import approvals_path
from aftercare.library.template import Asked
from aftercare.library.wordlists import parse_terms
from aftercare.model import Library, SmsCount
from aftercare.proof.stand_ins import longest, numbers
from aftercare.proof.translated import Fault, Judge, Standing, sentences, standing
from aftercare.render.gsm import count
from aftercare.render.plain_text import make_safe
from aftercare.render.sms import part_limit
from aftercare.word.checks import Finding, Severity
from aftercare.word.formats import short_date

CLINIC, GLOSSARY = "shared/clinic.toml", "shared/glossary.toml"
_LANGUAGE = re.compile(r"[a-z]{2,3}(_[A-Z][a-z]{3})?(_[A-Z]{2})?")
_SLOT = re.compile(r"\{(\w+)\}")


@dataclass(frozen=True, slots=True)
class Bench:
    """A shelf opened for its translators. ``library`` holds no catalogue: they are read apart.

    ``faults`` are what could not be read of the shelf's own words.
    """

    home: Path
    files: Files
    library: Library
    faults: tuple[AftercareError, ...]
    today: date

    @property
    def languages(self) -> tuple[str, ...]:
        """The languages with a catalogue, in order of name."""
        return tuple(languages(self.files))

    def po(self, language: str) -> Po:
        """A language's catalogue, whatever state it is in."""
        place = catalogue_path(language)
        try:
            return read_po(place, self.files[place])
        except BadContent as fault:
            return Po(place, None, (), (fault,))


def open_bench(home: str | None) -> Bench:
    """The clinic's shelf for its translators, faults and all.

    Raises an ``AftercareError`` when a file is unusable without which nothing can be read.
    """
    from aftercare.edges.clock import SystemClock

    folder = find_home(home, os.environ, here())
    files = read_home(folder)
    shelf = read_shelf(files, wanted=())
    today = SystemClock(shelf.library.clinic.timezone).today()
    return Bench(folder, files, shelf.library, shelf.faults, today)


def here() -> Path | None:
    """The current folder, unless somebody has removed it."""
    try:
        return Path.cwd()
    except OSError:
        return None


def catalogue_path(language: str) -> str:
    """Where the catalogue of a language is kept."""
    return f"locales/{language}/LC_MESSAGES/aftercare.po"


# --- which languages ----------------------------------------------------------------------


def language_of(named: str) -> str:
    """A language as catalogues are named. Raises ``BadInput`` for one that CLDR lacks."""
    language = named.replace("-", "_")
    try:
        if not _LANGUAGE.fullmatch(language):
            raise BadContent(language, "not written so")
        direction(language)
    except BadContent:
        raise BadInput(
            named[:20], "no language is called so", "write it like pl, pt_BR or zh_Hans"
        ) from None
    return language


def chosen(bench: Bench, named: Sequence[str]) -> tuple[str, ...]:
    """The languages named, or all there are. Raises ``BadInput`` for one without a catalogue."""
    for one in map(language_of, named):
        if one not in bench.languages:
            listed = ", ".join(bench.languages) or "none"
            raise BadInput(
                one, "there is no catalogue for it",
                f"'aftercare locales update {one}' begins one; there are: {listed}",
            )  # fmt: skip
    return tuple(dict.fromkeys(map(language_of, named))) or bench.languages


# --- what is asked ------------------------------------------------------------------------


class _Named(BytesIO):
    """The bytes of a file that knows its name, as an extractor is given it."""

    def __init__(self, name: str, raw: bytes) -> None:
        super().__init__(raw)
        self.name = name


def asked(bench: Bench) -> Iterator[Asked]:
    """Every sentence of the shelf that needs a translation, in order of file and line."""
    blocks = sorted(block_paths(bench.files), key=lambda path: path.rpartition("/")[::2])
    for path in (FRAME_PATH, *blocks, CLINIC):
        for line, _, words, said in extract(_Named(path, bench.files[path]), {}, (), {}):
            yield Asked(
                file=path, line=line, context=words[0], msgid=words[1], said="; ".join(said),
                plural=words[2] if len(words) > 2 else None,
            )  # fmt: skip


def refuse_faults(bench: Bench) -> None:
    """Raises ``BadContent`` unless all of the shelf's own words can be read.

    A block that cannot be read would else be taken for one that is gone.
    """
    if bench.faults:
        listed = "".join(f"\n  {fault}" for fault in bench.faults)
        raise BadContent("the shelf", f"cannot be read whole:{listed}", "mend it first")


# --- what translations are held against ---------------------------------------------------


def stand(bench: Bench, language: str) -> Standing:
    """How far a language has come. Raises ``BadContent`` for approvals that cannot be read."""
    path = approvals_path(language)
    beside = bench.files.get(path)
    reviewers = {} if beside is None else read_reviewers(path, beside)
    return standing(language, bench.po(language), reviewers, judge(bench, language))


def stand_anyway(bench: Bench, language: str) -> Standing:
    """The same, where approvals that cannot be read are a fault of the language and count for
    nothing.
    """
    fault = approvals_fault(bench, language)
    if fault is None:
        return stand(bench, language)
    one = standing(language, bench.po(language), {}, judge(bench, language))
    return replace(one, faults=(fault, *one.faults))


def approvals_fault(bench: Bench, language: str) -> Fault | None:
    """Why the approvals of a language cannot be read; None when they can, or there are none."""
    path = approvals_path(language)
    try:
        read_reviewers(path, bench.files.get(path, b""))
    except BadContent as refused:
        place = refused.place if refused.place.rpartition(":")[2].isdecimal() else f"{path}:1"
        finding = Finding("file", Severity.BLOCK, refused.problem)
        return Fault(place=place, sentence=None, found=finding, help=refused.remedy)
    return None


def judge(bench: Bench, language: str) -> Judge:
    """What the sentences of one language are held against."""
    return judge_of(bench.library, bench.files, language)


def judge_of(library: Library, files: Files, language: str) -> Judge:
    """The same for a shelf by itself."""
    counted = sms_counter(filled(library, language))
    return Judge(
        sentences=sentences(library),
        parts=lambda text: counted(text).parts,
        limit=lambda text: part_limit(counted(text), library.limits),
        glossaries=glossaries(files),
    )


def filled(library: Library, language: str) -> Mapping[str, str]:
    """What a slot holds in a text, at its longest; a name stands for a person's."""
    try:
        direction(language)
    except BadContent:
        return numbers(library)
    return {**longest(library, language, short_date), **numbers(library)}


def sms_counter(slots: Mapping[str, str]) -> Callable[[str], SmsCount]:
    """Counts how a text travels with its slots filled; one without a filling counts as its name."""

    @cache
    def counted(text: str) -> SmsCount:
        whole = _SLOT.sub(lambda slot: slots.get(slot[1], slot[1]), text)
        return count(make_safe(whole).text)

    return counted


def glossaries(files: Files) -> Mapping[str, Mapping[str, Sequence[str]]]:
    """The translations of terms, by language; none without a glossary."""
    return parse_terms(GLOSSARY, files[GLOSSARY]) if GLOSSARY in files else {}


# --- putting in place ---------------------------------------------------------------------


def put(bench: Bench, contents: Mapping[str, bytes]) -> tuple[str, ...]:
    """Put new bytes in the places of files, all or none; return the paths that changed.

    Raises ``BadInput`` for the shelf inside the package, ``OutOfReach`` when somebody else has
    changed a file since it was read, or it cannot be written; then nothing has changed.
    """
    changed = {path: raw for path, raw in contents.items() if bench.files.get(path) != raw}
    if is_shipped(bench.home):
        raise BadInput(
            str(bench.home), "the shelf that ships with aftercare is replaced by its next version",
            "'aftercare init DIR' makes your own; name it with --home",
        )  # fmt: skip
    with one_at_a_time(bench.home):
        for path in changed:
            _refuse_meanwhile(bench, path)
        for path in changed:
            _make_folder((bench.home / path).parent)
        if changed:
            rewrite({bench.home / path: raw for path, raw in changed.items()})
    return tuple(changed)


def _refuse_meanwhile(bench: Bench, path: str) -> None:
    try:
        now = (bench.home / path).read_bytes()
    except FileNotFoundError:
        now = None
    except OSError as error:
        raise OutOfReach(path, error.strerror or "unreadable", "check its rights") from None
    if now != bench.files.get(path):
        raise OutOfReach(path, "somebody has changed it meanwhile", "run it again")


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        problem = error.strerror or "cannot be made"
        raise OutOfReach(str(folder), problem, "nothing was written") from None
