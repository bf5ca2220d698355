"""The YAML header of a block: read safely, checked strictly, every complaint with its line."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

import yaml
from frontmatter.default_handlers import YAMLHandler
from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    StringConstraints,
    ValidationError,
    model_validator,
)

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
MomentName = Literal[
    "invite", "unbooked", "overdue", "booked", "before", "changed", "cancelled", "missed", "letter"
]  # fmt: skip
ChannelName = Literal["sms", "email", "print"]
# Blanks alone name nobody and no source.
Named = Annotated[str, StringConstraints(strip_whitespace=True, min_length=3)]


class ApprovalHeader(BaseModel):
    """`approval:` as an editor writes it."""

    model_config = ConfigDict(extra="forbid", strict=True)

    state: Literal["draft", "approved", "retired"]
    approver: Named | None = None
    role: Named | None = None
    date: datetime.date | None = None
    digest: Annotated[str, Field(pattern=r"^[0-9a-f]{24}$")] | None = None

    @model_validator(mode="after")
    def _approved_by_somebody(self) -> ApprovalHeader:
        if self.state == "approved" and (self.approver is None or self.date is None):
            raise ValueError("an approved text needs 'approver' and 'date'")
        return self


class AcceptedHeader(BaseModel):
    """One entry of `accepted:`: words an editor keeps against advice, and why."""

    model_config = ConfigDict(extra="forbid", strict=True)

    kind: Annotated[str, Field(min_length=3)]
    words: Annotated[str, Field(min_length=1)]
    reason: Annotated[str, Field(min_length=3)]


class BlockHeader(BaseModel):
    """The header of a block; see ``content/README.md`` for what each key means."""

    model_config = ConfigDict(extra="forbid", strict=True)

    id: Annotated[str, Field(pattern=_ID, max_length=60)]
    version: Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=20)]
    kind: Literal["urgent", "contact", "done", "normal", "care", "water", "recall", "others"]
    given_for: Annotated[list[FactName], Field(alias="for")]
    withheld_from: Annotated[list[FactName], Field(alias="not_for")] = []
    rank: Annotated[int, Field(ge=0, le=999)]
    actions: Annotated[int, Field(ge=0, le=9)] | None = None
    sms: str | list[str] | None = None
    sms_detail: str | list[str] | None = None
    sources: Annotated[list[Named], Field(min_length=1)]
    author: Named
    approval: ApprovalHeader
    accepted: list[AcceptedHeader] = []
    review_by: datetime.date
    moments: Annotated[list[MomentName], Field(min_length=1)] | None = None
    channels: Annotated[list[ChannelName], Field(min_length=1)] | None = None
    subject: str | list[str] | None = None


@dataclass(frozen=True, slots=True)
class Split:
    """A block file in two: the checked header and the body, with the line each starts on."""

    header: BlockHeader
    key_lines: Mapping[str, int]
    body: str
    body_line: int

    def item_lines(self, key: str) -> list[int]:
        """The line of each item of a list in the header."""
        found = (f"{key}.{number}" for number in range(len(self.key_lines)))
        return [self.key_lines[one] for one in found if one in self.key_lines]


def split(place: str, text: str) -> Split:
    """Part a block file into its checked header and its body.

    Raises ``BadContent`` naming the file and the line of the first thing wrong.
    """
    parts = YAMLHandler()
    if not parts.detect(text):
        raise BadContent(f"{place}:1", "no header", "start the file with a line of ---")
    try:
        source, body = parts.split(text)
    except ValueError:
        raise BadContent(
            f"{place}:1", "the header has no end", "close it with a line of ---"
        ) from None
    data, key_lines = _load(place, source, _line_at(text, text.index(source, len("---"))))
    try:
        header = BlockHeader.model_validate(data)
    except ValidationError as error:
        raise _complaint(place, error, key_lines) from None
    # Lines are counted in the whole file: the splitter may swallow blank ones.
    return Split(header, key_lines, body, _line_at(text, len(text) - len(body)))


def _line_at(text: str, end: int) -> int:
    return text.count("\n", 0, end) + 1


def _load(place: str, source: str, first_line: int) -> tuple[dict[str, Any], dict[str, int]]:
    """Plain YAML values and the line of every key; no aliases, tags or repeated keys."""
    loader = yaml.CSafeLoader if yaml.__with_libyaml__ else yaml.SafeLoader
    try:
        node = yaml.compose(source, Loader=loader)
    except (yaml.YAMLError, RecursionError) as error:
        mark = getattr(error, "problem_mark", None)
        line = first_line + (mark.line if mark else 0)
        what = getattr(error, "problem", None) or "unreadable"
        raise BadContent(f"{place}:{line}", f"the header is not YAML ({what})", "mend it") from None
    if not isinstance(node, yaml.MappingNode):
        raise BadContent(
            f"{place}:{first_line}", "the header is empty or a list", "write key: value lines"
        )
    plain = _Plain(place, first_line)
    return plain.value("", node), plain.key_lines


class _Plain:
    """Turns YAML nodes into plain values, and keeps the line of every key."""

    def __init__(self, place: str, first_line: int) -> None:
        self.key_lines: dict[str, int] = {}
        self._place, self._first_line = place, first_line
        self._seen: set[int] = set()
        self._scalars = yaml.constructor.SafeConstructor()

    def value(self, path: str, node: yaml.Node) -> Any:
        self._refuse_tricks(node)
        if path:
            self.key_lines[path] = self._line(node)
        if isinstance(node, yaml.MappingNode):
            return dict(self._entry(path, key, value) for key, value in node.value)
        if isinstance(node, yaml.SequenceNode):
            return [self.value(f"{path}.{index}", item) for index, item in enumerate(node.value)]
        return self._scalar(node)

    def _line(self, node: yaml.Node) -> int:
        return self._first_line + int(node.start_mark.line)

    def _refused(self, node: yaml.Node, problem: str, remedy: str) -> BadContent:
        return BadContent(f"{self._place}:{self._line(node)}", problem, remedy)

    def _refuse_tricks(self, node: yaml.Node) -> None:
        if id(node) in self._seen:
            raise self._refused(node, "the header uses a YAML alias", "write it out")
        self._seen.add(id(node))
        if node.tag not in _PLAIN_TAGS:
            raise self._refused(node, f"the header uses the tag {node.tag}", "remove it")

    def _entry(self, path: str, key: yaml.Node, value: yaml.Node) -> tuple[str, Any]:
        # A key of another type is a merge, a list or a mistake such as `no:`.
        self._refuse_tricks(key)
        if not isinstance(key, yaml.ScalarNode) or not key.tag.endswith(":str"):
            raise self._refused(key, "a key that is not a word", "see content/README.md")
        name = f"{path}.{key.value}".lstrip(".")
        if name in self.key_lines:
            raise self._refused(key, f"'{name[:40]}' is given twice", "keep one")
        told = self.value(name, value)
        self.key_lines[name] = self._line(key)
        return key.value, told

    def _scalar(self, node: yaml.Node) -> Any:
        try:
            return self._scalars.construct_object(node)
        except (yaml.YAMLError, ValueError, OverflowError):
            problem = f"'{str(node.value)[:40]}' is no {node.tag.rpartition(':')[2]}"
            raise self._refused(node, problem, "correct it, or put text in quotes") from None


def _complaint(place: str, error: ValidationError, key_lines: Mapping[str, int]) -> BadContent:
    """The first of pydantic's complaints, in the editor's words and with the line."""
    first = error.errors()[0]
    key, *inner = (str(step) for step in first["loc"])
    # Which alternative of a union failed is no part of what the editor wrote.
    steps = [key, *(step for step in inner if step not in ("str", "list[str]"))]
    path = ".".join(steps)
    around = (".".join(steps[:end]) for end in range(len(steps), 0, -1))
    line = next((key_lines[at] for at in around if at in key_lines), 1)
    if first["type"] == "missing":
        return BadContent(f"{place}:{line}", f"the header lacks '{path}'", "add it")
    if first["type"] == "extra_forbidden":
        problem = f"the header has an unknown key '{path[:60]}'"
        return BadContent(f"{place}:{line}", problem, "remove it or mend the spelling")
    remedy = "put it in quotes" if first["type"] == "string_type" else "see content/README.md"
    return BadContent(f"{place}:{line}", f"'{path}': {first['msg']}", remedy)
