"""The YAML header of a block: read safely, checked strictly, every complaint with its line."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date as Day
from typing import Annotated, Any, Literal

import yaml
from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from aftercare.errors import BadContent

# Generous for a page of words; a larger file is a mistake or an attack.
BLOCK_BYTES = 65_536
_PLAIN_TAGS = frozenset(
    f"tag:yaml.org,2002:{name}"
    for name in ("map", "seq", "str", "int", "float", "bool", "null", "timestamp")
)
_ID = r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$"
_FACT = r"^[a-z][a-z-]*:[A-Za-z][A-Za-z0-9-]*$"
FactName = Annotated[str, Field(pattern=_FACT)]


class ApprovalHeader(BaseModel):
    """`approval:` as an editor writes it."""

    model_config = ConfigDict(extra="forbid", strict=True)

    state: Literal["draft", "approved", "retired"]
    approver: str | None = Field(default=None, min_length=3)
    date: Day | None = None

    @model_validator(mode="after")
    def _approved_by_somebody(self) -> ApprovalHeader:
        if self.state == "approved" and (self.approver is None or self.date is None):
            raise ValueError("an approved text needs 'approver' and 'date'")
        return self


class BlockHeader(BaseModel):
    """The header of a block; see ``content/README.md`` for what each key means."""

    model_config = ConfigDict(extra="forbid", strict=True, populate_by_name=True)

    id: Annotated[str, Field(pattern=_ID, max_length=60)]
    version: Annotated[str, Field(min_length=1, max_length=20)]
    kind: Literal["urgent", "contact", "done", "normal", "care", "water", "recall"]
    given_for: Annotated[list[FactName], Field(alias="for")]
    withheld_from: Annotated[list[FactName], Field(alias="not_for")] = []
    rank: Annotated[int, Field(ge=0, le=999)]
    sms: str | list[str] | None = None
    sms_detail: str | list[str] | None = None
    sources: Annotated[list[str], Field(min_length=1)]
    author: Annotated[str, Field(min_length=2)]
    approval: ApprovalHeader
    review_by: Day


@dataclass(frozen=True, slots=True)
class Split:
    """A block file in two: the checked header and the body, with the line each starts on."""

    header: BlockHeader
    key_lines: Mapping[str, int]
    body: str
    body_line: int


def split(place: str, text: str) -> Split:
    """Part a block file into its checked header and its body.

    Raises ``BadContent`` naming the file and the line of the first thing wrong.
    """
    lines = text.split("\n")
    if not lines or lines[0].rstrip() != "---":
        raise BadContent(f"{place}:1", "no header", "start the file with a line of ---")
    closing = next((n for n, line in enumerate(lines[1:], 1) if line.rstrip() == "---"), None)
    if closing is None:
        raise BadContent(f"{place}:1", "the header has no end", "close it with a line of ---")
    data, key_lines = _load(place, "\n".join(lines[1:closing]))
    try:
        header = BlockHeader.model_validate(data)
    except ValidationError as error:
        raise _complaint(place, error, key_lines) from None
    return Split(header, key_lines, "\n".join(lines[closing + 1 :]), closing + 2)


def _load(place: str, source: str) -> tuple[dict[str, Any], dict[str, int]]:
    """Plain YAML values and the line of every key; no aliases, tags or repeated keys."""
    loader = yaml.CSafeLoader if yaml.__with_libyaml__ else yaml.SafeLoader
    try:
        node = yaml.compose(source, Loader=loader)
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        line = 2 + (mark.line if mark else 0)
        what = getattr(error, "problem", None) or "unreadable"
        raise BadContent(f"{place}:{line}", f"the header is not YAML ({what})", "mend it") from None
    if not isinstance(node, yaml.MappingNode):
        raise BadContent(f"{place}:2", "the header is empty or a list", "write key: value lines")
    key_lines: dict[str, int] = {}
    _refuse_tricks(place, node, key_lines)
    try:
        data = yaml.constructor.SafeConstructor().construct_document(node)
    except (yaml.YAMLError, ValueError) as error:
        line = getattr(getattr(error, "problem_mark", None), "line", 0) + 2
        raise BadContent(
            f"{place}:{line}", f"a value cannot be read ({error})", "put text in quotes"
        ) from None
    return data, key_lines


def _refuse_tricks(place: str, root: yaml.MappingNode, key_lines: dict[str, int]) -> None:
    seen: set[int] = set()
    for path, node in _walk("", root):
        line = node.start_mark.line + 2
        if id(node) in seen:
            raise BadContent(f"{place}:{line}", "the header uses a YAML alias", "write it out")
        seen.add(id(node))
        if node.tag not in _PLAIN_TAGS:
            raise BadContent(f"{place}:{line}", f"the header uses the tag {node.tag}", "remove it")
        if path in key_lines:
            raise BadContent(f"{place}:{line}", f"'{path}' is given twice", "keep one")
        if path:
            key_lines[path] = line


def _walk(path: str, node: yaml.Node) -> Iterator[tuple[str, yaml.Node]]:
    yield path, node
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            yield from _walk(f"{path}.{key.value}".lstrip("."), value)
    elif isinstance(node, yaml.SequenceNode):
        for index, value in enumerate(node.value):
            yield from _walk(f"{path}.{index}", value)


def _complaint(place: str, error: ValidationError, key_lines: Mapping[str, int]) -> BadContent:
    """The first of pydantic's complaints, in the editor's words and with the line."""
    first = error.errors()[0]
    steps = [str(step) for step in first["loc"] if step not in ("str", "list[str]")]
    path = ".".join(steps)
    around = (".".join(steps[:end]) for end in range(len(steps), 0, -1))
    line = next((key_lines[at] for at in around if at in key_lines), 1)
    if first["type"] == "missing":
        problem, remedy = f"the header lacks '{path}'", "add it"
    elif first["type"] == "extra_forbidden":
        problem, remedy = (
            f"the header has an unknown key '{path}'",
            "remove it or mend the spelling",
        )
    else:
        problem, remedy = f"'{path}': {first['msg']}", "see content/README.md"
    return BadContent(f"{place}:{line}", problem, remedy)
