"""READ: the files of a clinic's folder become one frozen Library with a fingerprint."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType
from typing import TypeVar

from aftercare.errors import AftercareError, BadContent
from aftercare.library.blocks import parse_block
from aftercare.library.catalogues import languages, parse_catalogue
from aftercare.library.paths import (
    FRAME,
    FRAME_PATH,
    Files,
    block_paths,
    fingerprint,
    last_approved,
    strays,
)
from aftercare.library.regional import out_of_region
from aftercare.library.rulewords import read_rules
from aftercare.library.settings import (
    line_of,
    parse_clinic,
    parse_frame,
    parse_limits,
    parse_region,
)
from aftercare.library.vocabulary import parse_facts, read_impossible, unknown_recalls
from aftercare.library.wordlists import parse_glossary, parse_plain_words
from aftercare.model import Block, Catalogue, Clinic, FactGroup, Impossible, Library, Region

__all__ = ["Files", "Shelf", "block_paths", "fingerprint", "last_approved", "read", "read_shelf"]

FACTS, CLINIC, LIMITS = "shared/facts.toml", "shared/clinic.toml", "shared/limits.toml"
# What an editor and a translator call the words that are in no block.
_RESERVED = {FRAME: FRAME_PATH, "clinic": CLINIC}
Faults = list[AftercareError]


@dataclass(frozen=True, slots=True)
class Shelf:
    """What could be read of a clinic's folder, and why the rest could not.

    With any fault the library is for reading only: what it would say may lack a block.
    """

    library: Library
    faults: tuple[AftercareError, ...]


def read(files: Files, *, wanted: Collection[str] | None = None) -> Library:
    """The Library in ``files`` (path from the home folder, with ``/`` -> bytes).

    ``wanted`` names the languages whose catalogues are needed; all when None. The
    fingerprint covers every file whatever is wanted. Raises ``BadContent`` that lists
    every file that cannot be used, each with its line.
    """
    shelf = read_shelf(files, wanted=wanted)
    if shelf.faults:
        raise _together(shelf.faults)
    return shelf.library


def read_shelf(files: Files, *, wanted: Collection[str] | None = None) -> Shelf:
    """What can be read of ``files``, and a fault for everything that was left out.

    A block, a catalogue, a word list, a reference between rules or an impossible combination
    that cannot be used is left out alone. Raises ``BadContent`` that lists every fault when the
    facts, the clinic, its region, the limits, the frame or the rules cannot be read at all.
    """
    faults: Faults = list(strays(files))
    facts = _parsed(files, FACTS, parse_facts, faults)
    clinic = _parsed(files, CLINIC, parse_clinic, faults)
    region = _region(files, clinic, facts, faults)
    frame = _parsed(files, FRAME_PATH, parse_frame, faults)
    limits = _parsed(files, LIMITS, parse_limits, faults)
    glossary = _parsed(files, "shared/glossary.toml", parse_glossary, faults)
    plain_words = _parsed(files, "shared/plain-words.toml", parse_plain_words, faults)
    rules = _mostly(files, "shared/rules.toml", read_rules, faults)
    impossible = _impossible(files, facts, faults)
    blocks = _blocks(files, facts, region, faults)
    catalogues = _catalogues(files, wanted, faults)
    if facts and limits:
        faults.extend(unknown_recalls(LIMITS, files[LIMITS], limits, facts))
    if not (facts and clinic and region and frame and limits and rules):
        raise _together(faults)
    library = Library(
        fingerprint=fingerprint(files),
        facts=MappingProxyType(facts),
        impossible=impossible,
        blocks=tuple(block for block in blocks if not block.moments),
        reminders=tuple(sorted((one for one in blocks if one.moments), key=_told_order)),
        frame=frame,
        clinic=clinic,
        region=region,
        limits=limits,
        catalogues=MappingProxyType(catalogues),
        glossary=MappingProxyType(glossary or {}),
        plain_words=MappingProxyType(plain_words or {}),
        rules=rules,
    )
    return Shelf(library, tuple(faults))


Parsed = TypeVar("Parsed")


def _parsed(
    files: Files, path: str, parse: Callable[[str, bytes], Parsed], faults: Faults
) -> Parsed | None:
    """The file as a value; None when it is missing or wrong, which is then among the faults."""
    try:
        if path not in files:
            remedy = "'aftercare init' writes a complete folder"
            raise BadContent(path, "the file is missing", remedy)
        return parse(path, files[path])
    except AftercareError as fault:
        faults.append(fault)
        return None


def _mostly(
    files: Files,
    path: str,
    parse: Callable[[str, bytes], tuple[Parsed, Sequence[AftercareError]]],
    faults: Faults,
) -> Parsed | None:
    """The file as a value without the entries that are wrong; those are among the faults."""
    found, left_out = _parsed(files, path, parse, faults) or (None, ())
    faults.extend(left_out)
    return found


def _region(
    files: Files, clinic: Clinic | None, facts: Mapping[str, FactGroup] | None, faults: Faults
) -> Region | None:
    if clinic is None:
        return None
    region = _parsed(files, "shared/regions.toml", partial(parse_region, clinic=clinic), faults)
    if facts is None or region is None or region.code in facts["region"].values:
        return region
    line = line_of(files[CLINIC], ("region",))
    faults.append(BadContent(f"{CLINIC}:{line}", f"{FACTS} has no region:{region.code}", "add it"))
    return None


def _impossible(
    files: Files, facts: Mapping[str, FactGroup] | None, faults: Faults
) -> tuple[Impossible, ...]:
    if facts is None:
        return ()
    return _mostly(files, FACTS, partial(read_impossible, groups=facts), faults) or ()


def _blocks(
    files: Files,
    facts: Mapping[str, FactGroup] | None,
    region: Region | None,
    faults: Faults,
) -> tuple[Block, ...]:
    """The blocks in page order, without those that are wrong or need what the region lacks."""
    found: list[Block] = []
    taken = dict(_RESERVED)
    if facts is None:
        return ()
    for path in block_paths(files):
        block = _parsed(files, path, partial(parse_block, facts=facts), faults)
        if block is None:
            continue
        unfit = [] if region is None else list(out_of_region(block, region))
        if block.id in taken:
            unfit.append(_taken(block, files[path], taken[block.id]))
        faults.extend(unfit)
        if not unfit:
            found.append(block)
            taken[block.id] = path
    return tuple(sorted(found, key=_page_order))


def _taken(block: Block, raw: bytes, by: str) -> BadContent:
    lines = raw.replace(b"\r\n", b"\n").split(b"\n")
    line = next((n for n, text in enumerate(lines, 1) if text.lstrip(b"\"'").startswith(b"id")), 1)
    return BadContent(
        f"{block.place}:{line}",
        f"the id '{block.id}' is taken by {by}",
        "give one of them another id",
    )


def _page_order(block: Block) -> tuple[int, int, str]:
    return list(type(block.kind)).index(block.kind), block.rank, block.id


def _told_order(block: Block) -> tuple[int, str]:
    """A recall message has no headings: its lines come by rank alone."""
    return block.rank, block.id


def _catalogues(
    files: Files, wanted: Collection[str] | None, faults: Faults
) -> dict[str, Catalogue]:
    found: dict[str, Catalogue] = {}
    for language, path in languages(files).items():
        if wanted is not None and language not in wanted:
            continue
        beside = f"locales/{language}/approvals.toml"
        approvals = (beside, files[beside]) if beside in files else None
        try:
            found[language] = parse_catalogue(language, path, files[path], approvals)
        except AftercareError as fault:
            faults.append(fault)
    return found


def _together(faults: Sequence[AftercareError]) -> BadContent:
    if len(faults) == 1:
        return BadContent(faults[0].place, faults[0].problem, faults[0].remedy)
    listed = "".join(f"\n  {fault}" for fault in faults)
    return BadContent("the shelf", f"{len(faults)} faults:{listed}")
