"""READ: the files of a clinic's folder become one frozen Library with a fingerprint."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from functools import partial
from types import MappingProxyType
from typing import TypeVar

from aftercare.errors import AftercareError, BadContent
from aftercare.library.blocks import parse_block
from aftercare.library.catalogues import languages, parse_catalogue
from aftercare.library.rulewords import parse_rules
from aftercare.library.settings import (
    line_of,
    parse_clinic,
    parse_frame,
    parse_limits,
    parse_region,
)
from aftercare.library.vocabulary import parse_facts
from aftercare.library.wordlists import parse_glossary, parse_plain_words
from aftercare.model import Block, Catalogue, Fact, FactGroup, Library, Region

__all__ = ["Files", "block_paths", "fingerprint", "read"]

Files = Mapping[str, bytes]
# Words about blocks, not blocks.
_NOT_BLOCKS = frozenset({"README.md", "HAZARDS.md"})


def read(files: Files, *, wanted: Collection[str] | None = None) -> Library:
    """The Library in ``files`` (path from the home folder, with ``/`` -> bytes).

    ``wanted`` names the languages whose catalogues are needed; all when None. The
    fingerprint covers every file whatever is wanted. Raises ``BadContent`` that lists
    every file that cannot be used, each with its line.
    """
    faults: list[AftercareError] = list(_strays(files))
    facts = _parsed(files, "shared/facts.toml", parse_facts, faults)
    clinic = _parsed(files, "shared/clinic.toml", parse_clinic, faults)
    region = None
    if clinic is not None:
        region = _parsed(files, "shared/regions.toml", partial(parse_region, clinic=clinic), faults)
    frame = _parsed(files, "content/frame.toml", parse_frame, faults)
    limits = _parsed(files, "shared/limits.toml", parse_limits, faults)
    glossary = _parsed(files, "shared/glossary.toml", parse_glossary, faults)
    plain_words = _parsed(files, "shared/plain-words.toml", parse_plain_words, faults)
    rules = _parsed(files, "shared/rules.toml", parse_rules, faults)
    blocks = () if facts is None else _blocks(files, facts, faults)
    catalogues = _catalogues(files, wanted, faults)
    if facts is not None and region is not None:
        faults.extend(_out_of_region(files, blocks, facts, region))
    if faults or not (facts and clinic and region and frame and limits and rules):
        raise _together(faults)
    return Library(
        fingerprint=fingerprint(files),
        facts=MappingProxyType(facts),
        blocks=blocks,
        frame=frame,
        clinic=clinic,
        region=region,
        limits=limits,
        catalogues=MappingProxyType(catalogues),
        glossary=MappingProxyType(glossary or {}),
        plain_words=MappingProxyType(plain_words or {}),
        rules=rules,
    )


def fingerprint(files: Files) -> str:
    """The edition of a shelf: a digest of names and bytes, whatever order they came in."""
    total = hashlib.sha256()
    for path in sorted(path for path in files if not path.startswith("shared/demo/")):
        # A name on disk may be bytes that are no text; they still name the file.
        name = path.encode("utf-8", "surrogateescape")
        total.update(name + b"\0" + hashlib.sha256(files[path]).digest())
    return f"sha256:{total.hexdigest()[:32]}"


def block_paths(files: Files) -> Iterator[str]:
    """The paths of the block files, in order of name."""
    for path in sorted(files):
        steps = path.split("/")
        in_topic = steps[0] == "content" and len(steps) > 2
        if in_topic and path.endswith(".md") and steps[-1] not in _NOT_BLOCKS:
            yield path


def _strays(files: Files) -> Iterator[BadContent]:
    """Files that were meant as blocks and would be passed over in silence."""
    blocks = frozenset(block_paths(files))
    for path in sorted(files):
        name = path.rpartition("/")[2]
        meant = path.startswith("content/") and ".md" in name.lower()
        if meant and path not in blocks and name not in _NOT_BLOCKS:
            yield BadContent(
                f"{path}:1", "not where a block is looked for",
                "name it content/<topic>/<name>.md, or move it out of content/",
            )  # fmt: skip


Parsed = TypeVar("Parsed")


def _parsed(
    files: Files,
    path: str,
    parse: Callable[[str, bytes], Parsed],
    faults: list[AftercareError],
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


def _blocks(
    files: Files, facts: Mapping[str, FactGroup], faults: list[AftercareError]
) -> tuple[Block, ...]:
    found: dict[str, Block] = {}
    for path in block_paths(files):
        try:
            block = parse_block(path, files[path], facts)
            if block.id in found:
                raise BadContent(
                    f"{path}:{_id_line(files[path])}",
                    f"the id '{block.id}' is taken by {found[block.id].place}",
                    "give one of them another id",
                )
            found[block.id] = block
        except AftercareError as fault:
            faults.append(fault)
    return tuple(sorted(found.values(), key=_page_order))


def _id_line(raw: bytes) -> int:
    lines = raw.replace(b"\r\n", b"\n").split(b"\n")
    return next((n for n, line in enumerate(lines, 1) if line.lstrip(b"\"'").startswith(b"id")), 1)


def _page_order(block: Block) -> tuple[int, int, str]:
    return list(type(block.kind)).index(block.kind), block.rank, block.id


def _catalogues(
    files: Files, wanted: Collection[str] | None, faults: list[AftercareError]
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


def _out_of_region(
    files: Files, blocks: Iterable[Block], facts: Mapping[str, FactGroup], region: Region
) -> Iterator[BadContent]:
    """A region the vocabulary lacks, and words that need a number this region does not have."""
    if region.code not in facts["region"].values:
        line = line_of(files["shared/clinic.toml"], ("region",))
        yield BadContent(
            f"shared/clinic.toml:{line}", f"shared/facts.toml has no region:{region.code}", "add it"
        )
    settled = _settled(region)
    for block in blocks:
        if _may_hold(block.given_for, settled) and not settled.intersection(block.withheld_from):
            yield from _unfilled(block, settled, region)


def _settled(region: Region) -> frozenset[Fact]:
    """The facts that are the same for every patient of the clinic."""
    return frozenset(
        {
            f"region:{region.code}",
            f"advice-line:{'yes' if region.urgent_advice_number else 'no'}",
            f"emergency-text:{'yes' if region.emergency_text_number else 'no'}",
        }
    )


def _may_hold(asked: Iterable[Fact], settled: frozenset[Fact]) -> bool:
    """Whether some patient of the clinic can have one fact of every group asked for."""
    groups = {fact.partition(":")[0] for fact in settled}
    wanted = {fact for fact in asked if fact.partition(":")[0] in groups}
    return len({fact.partition(":")[0] for fact in wanted & settled}) == len(
        {fact.partition(":")[0] for fact in wanted}
    )


def _unfilled(block: Block, settled: frozenset[Fact], region: Region) -> Iterator[BadContent]:
    for unit in block.units():
        for variant in unit.variants:
            if not _may_hold(variant.when, settled):
                continue
            for slot in variant.phrase.slots:
                if getattr(region, slot, "elsewhere") is None:
                    yield BadContent(
                        f"{block.place}:{variant.line}",
                        f"{region.code} has no number for {{{slot}}}",
                        "add it to shared/regions.toml, or name the regions it is for",
                    )


def _together(faults: list[AftercareError]) -> BadContent:
    if len(faults) == 1:
        return BadContent(faults[0].place, faults[0].problem, faults[0].remedy)
    listed = "".join(f"\n  {fault}" for fault in faults)
    return BadContent("the shelf", f"{len(faults)} faults:{listed}")
