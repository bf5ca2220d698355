"""The declared vocabulary: which facts exist, which cannot meet, and what the program relies on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from aftercare.errors import BadContent
from aftercare.library.blocks import known
from aftercare.library.settings import Text, line_of, load
from aftercare.model import Fact, FactGroup, Impossible, Kind, Limits

# The program asks for the given groups and works the others out; both by these names.
_GIVEN: Mapping[str, frozenset[str]] = {
    "condition": frozenset(),
    "procedure": frozenset(),
    "finding": frozenset(),
    "drops": frozenset({"prescribed", "aminoglycoside", "specialist"}),
    "plan": frozenset(),
    "caution": frozenset(),
    "allergy": frozenset(),
    "status": frozenset(),
    "uses": frozenset(),
    "need": frozenset({"deaf", "hard-of-hearing", "cannot-phone", "proxy"}),
    "format": frozenset({"large-print"}),
    "texts": frozenset({"detail", "shared-phone"}),
}
_WORKED_OUT: Mapping[str, frozenset[str]] = {
    "length": frozenset({"noted", "not-noted"}),
    "side": frozenset({"left", "right", "both"}),
    "age": frozenset({"child", "adult"}),
    "reader": frozenset({"self", "parent"}),
    "speech": frozenset({"phone", "no-phone"}),
    "reply": frozenset({"text", "email"}),
    "route": frozenset({"sms", "email", "print"}),
    "recall": frozenset({"agreed", "none"}),
    "units": frozenset({"cm", "cm-and-inches"}),
    "region": frozenset(),
    "advice-line": frozenset({"yes", "no"}),
    "emergency-text": frozenset({"yes", "no"}),
}
_OF_AN_EAR = frozenset({"condition", "procedure", "finding", "drops", "plan", "length", "side"})
# A patient may have one way to be reached or to write back, or several.
_NOT_EXCLUSIVE = frozenset({"reply", "route"})

Name = Annotated[str, Field(pattern=r"^[a-z][a-z-]*$")]
Value = Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9-]*$")]


class GroupFile(BaseModel):
    """One `[groups.NAME]` of `facts.toml`."""

    model_config = ConfigDict(extra="forbid", strict=True)

    scope: Literal["ear", "patient"]
    derived: bool = False
    exclusive: bool = False
    opposites: list[Annotated[list[str], Field(min_length=2)]] = []
    told: list[Annotated[Kind, Field(strict=False)]] = []
    values: Annotated[dict[Value, Text], Field(min_length=1)]


class ImpossibleFile(BaseModel):
    """One `[[impossible]]` of `facts.toml`."""

    model_config = ConfigDict(extra="forbid", strict=True)

    together: Annotated[list[str], Field(min_length=1)]
    unless: list[str] = []
    because: Text
    instead: Text


class FactsFile(BaseModel):
    """`shared/facts.toml`."""

    model_config = ConfigDict(extra="forbid")

    groups: dict[Name, GroupFile]
    impossible: list[ImpossibleFile] = []


def parse_facts(place: str, raw: bytes) -> dict[str, FactGroup]:
    """The vocabulary, group by group. Raises ``BadContent`` with file and line."""
    groups = load(place, raw, FactsFile).groups
    missing = sorted((_GIVEN.keys() | _WORKED_OUT.keys()) - groups.keys())
    if missing:
        raise BadContent(f"{place}:1", f"no [groups.{missing[0]}]", "the program needs it")
    for name, group in groups.items():
        for key, problem, remedy in _faults(name, group):
            line = line_of(raw, ("groups", name, key))
            raise BadContent(f"{place}:{line}", f"[groups.{name}]: {problem}", remedy)
    return {name: _group(name, group) for name, group in groups.items()}


def read_impossible(
    place: str, raw: bytes, groups: Mapping[str, FactGroup]
) -> tuple[tuple[Impossible, ...], tuple[BadContent, ...]]:
    """What cannot hold together, and a fault with its line for each entry that had to be left out.

    An entry is left out when it names a fact nobody knows.
    """
    found, faults = [], []
    for number, one in enumerate(load(place, raw, FactsFile).impossible):
        strange = _unknown((*one.together, *one.unless), groups)
        if strange is None:
            found.append(_combination(one))
            continue
        faults.append(
            BadContent(
                f"{place}:{_impossible_line(raw, number)}",
                f"[[impossible]]: no fact is called '{strange[:60]}'",
                "write it as group:value, as the groups above have it",
            )
        )
    return tuple(found), tuple(faults)


def _unknown(named: Iterable[Fact], groups: Mapping[str, FactGroup]) -> Fact | None:
    """The first of these facts that the vocabulary lacks."""
    for fact in named:
        name, _, value = fact.partition(":")
        if name not in groups or value not in groups[name].values:
            return fact
    return None


def _combination(one: ImpossibleFile) -> Impossible:
    return Impossible(
        together=frozenset[Fact](one.together),
        unless=frozenset[Fact](one.unless),
        because=one.because,
        instead=one.instead,
    )


def _impossible_line(raw: bytes, number: int) -> int:
    """The line of the numbered `[[impossible]]`, counted from nothing."""
    lines = raw.decode("utf-8", "replace").splitlines()
    heads = [at for at, line in enumerate(lines, 1) if line.strip().startswith("[[impossible]]")]
    return heads[number] if number < len(heads) else 1


def unknown_recalls(
    place: str, raw: bytes, limits: Limits, groups: Mapping[str, FactGroup]
) -> Iterator[BadContent]:
    """Each `[recall.CONDITION]` of the limits whose condition no visit can have."""
    for fact in limits.recall_months:
        name = fact.partition(":")[2]
        if name not in groups["condition"].values:
            line = line_of(raw, ("recall", name))
            yield BadContent(
                f"{place}:{line}",
                f"[recall.{name[:40]}]: no condition is called that",
                known(groups["condition"].values),
            )


def _faults(name: str, group: GroupFile) -> Iterator[tuple[str, str, str]]:
    """What is wrong with a group: the key it stands at, the problem and the remedy."""
    if name not in _GIVEN and name not in _WORKED_OUT:
        yield "values", "no visit ever answers this", "remove it"
        return
    for value in (value for pair in group.opposites for value in pair):
        if value not in group.values:
            yield "opposites", f"no value is called '{value[:40]}'", known(group.values)
    derived = name in _WORKED_OUT
    expected = {
        "scope": "ear" if name in _OF_AN_EAR else "patient",
        "derived": derived,
        "exclusive": derived and name not in _NOT_EXCLUSIVE,
    }
    for key, right in expected.items():
        if getattr(group, key) != right:
            yield key, f"{key} must be {str(right).lower()}", "the program relies on it"
    needed = _WORKED_OUT[name] if derived else _GIVEN[name]
    lacking = sorted(needed - group.values.keys())
    extra = sorted(group.values.keys() - needed) if derived and needed else []
    if lacking or extra:
        said = f"lacks '{lacking[0]}'" if lacking else f"'{extra[0]}' is never worked out"
        yield "values", said, "the program relies on these values"


def _group(name: str, group: GroupFile) -> FactGroup:
    return FactGroup(
        name=name,
        scope=group.scope,
        values=group.values,
        derived=group.derived,
        exclusive=group.exclusive,
        opposites=tuple(frozenset(pair) for pair in group.opposites),
        told=frozenset(group.told),
    )
