"""READ: the files of a clinic's folder become one frozen Library with a fingerprint."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterator, Mapping
from types import MappingProxyType

from aftercare.errors import AftercareError, BadContent
from aftercare.library.blocks import parse_block
from aftercare.library.catalogues import languages, parse_catalogue
from aftercare.library.settings import (
    parse_clinic,
    parse_facts,
    parse_frame,
    parse_limits,
    parse_region,
)
from aftercare.model import Block, Catalogue, FactGroup, Library

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
    facts = parse_facts(*_file(files, "shared/facts.toml"))
    clinic = parse_clinic(*_file(files, "shared/clinic.toml"))
    faults: list[AftercareError] = []
    blocks = _blocks(files, facts, faults)
    catalogues = _catalogues(files, wanted, faults)
    frame = parse_frame(*_file(files, "content/frame.toml"))
    region = parse_region(*_file(files, "shared/regions.toml"), clinic)
    limits = parse_limits(*_file(files, "shared/limits.toml"))
    if faults:
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
    )


def fingerprint(files: Files) -> str:
    """The edition of a shelf: a digest of names and bytes, whatever order they came in."""
    total = hashlib.sha256()
    for path in sorted(path for path in files if not path.startswith("shared/demo/")):
        total.update(path.encode() + b"\0" + hashlib.sha256(files[path]).digest())
    return f"sha256:{total.hexdigest()[:32]}"


def block_paths(files: Files) -> Iterator[str]:
    """The paths of the block files, in order of name."""
    for path in sorted(files):
        steps = path.split("/")
        in_topic = steps[0] == "content" and len(steps) > 2
        if in_topic and path.endswith(".md") and steps[-1] not in _NOT_BLOCKS:
            yield path


def _file(files: Files, path: str) -> tuple[str, bytes]:
    if path not in files:
        raise BadContent(path, "the file is missing", "'aftercare init' writes a complete folder")
    return path, files[path]


def _blocks(
    files: Files, facts: Mapping[str, FactGroup], faults: list[AftercareError]
) -> tuple[Block, ...]:
    found: dict[str, Block] = {}
    for path in block_paths(files):
        try:
            block = parse_block(path, files[path], facts)
            if block.id in found:
                raise BadContent(
                    f"{path}:1",
                    f"the id '{block.id}' is taken by {found[block.id].place}",
                    "rename",
                )
            found[block.id] = block
        except AftercareError as fault:
            faults.append(fault)
    return tuple(sorted(found.values(), key=_page_order))


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


def _together(faults: list[AftercareError]) -> BadContent:
    if len(faults) == 1:
        return BadContent(faults[0].place, faults[0].problem, faults[0].remedy)
    listed = "".join(f"\n  {fault}" for fault in faults)
    return BadContent("the shelf", f"{len(faults)} files cannot be used:{listed}")
