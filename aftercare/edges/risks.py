"""The order of risk out of `shared/recall.toml`; the other tables of that file are passed over."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from types import MappingProxyType
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from aftercare.errors import BadContent
from aftercare.library.settings import Text, line_of, load
from aftercare.model import Fact
from aftercare.recall.risk import OTHER, Limits, Risk, RiskOrder

PLACE = "shared/recall.toml"
Skill = Annotated[str, Field(pattern=r"^[a-z][a-z0-9-]{0,39}$")]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class _CatchUp(_Strict):
    limits: Literal["held", "weighed"]
    passing_weeks: Annotated[int, Field(ge=0, le=520)]
    invite_weeks_before: Annotated[int, Field(ge=0, le=26)]
    share_who_come: Annotated[float, Field(ge=0.2, le=1)]


class _Line(_Strict):
    weight: Annotated[int, Field(ge=1, le=1000)]
    limit_weeks: Annotated[int, Field(ge=1, le=520)]
    minutes: Annotated[int, Field(ge=5, le=240)]
    skill: Skill
    source: Text


class _Tables(BaseModel):
    model_config = ConfigDict(extra="ignore", strict=True)

    catch_up: _CatchUp
    skills: Annotated[dict[Skill, list[Skill]], Field(min_length=1)]
    risk: dict[str, _Line]


def parse_risks(raw: bytes, conditions: Collection[Fact]) -> RiskOrder:
    """The order of risk. ``conditions`` are the facts a line may be about.

    Raises ``BadContent`` with the line of the first thing wrong.
    """
    found = load(PLACE, raw, _Tables)
    skills = _closed({name: frozenset(also) for name, also in found.skills.items()}, raw)
    if OTHER not in found.risk:
        raise _bad(raw, ("risk",), f"no [risk.{OTHER}]", "say what counts for all without a line")
    lines = {_fact(name): _line(name, line) for name, line in found.risk.items()}
    for name, line in found.risk.items():
        if _fact(name) not in {*conditions, OTHER}:
            raise _bad(raw, ("risk", name), f"no condition '{name}'", "see shared/facts.toml")
        if line.skill not in skills:
            told = f"no skill '{line.skill}' in [skills]"
            raise _bad(raw, ("risk", name, "skill"), told, f"one of {', '.join(sorted(skills))}")
    return RiskOrder(
        lines=MappingProxyType(lines),
        skills=MappingProxyType(skills),
        limits=Limits(found.catch_up.limits),
        passing_weeks=found.catch_up.passing_weeks,
        invite_weeks=found.catch_up.invite_weeks_before,
        share_who_come=found.catch_up.share_who_come,
    )


def _fact(name: str) -> Fact:
    return name if name == OTHER else f"condition:{name}"


def _line(name: str, line: _Line) -> Risk:
    return Risk(condition=_fact(name), **line.model_dump())


def _closed(also: Mapping[str, frozenset[str]], raw: bytes) -> dict[str, frozenset[str]]:
    """Each skill with all it may do, at whatever remove."""
    unknown = sorted(frozenset().union(*also.values()) - also.keys())
    if unknown:
        raise _bad(raw, ("skills",), f"no skill '{unknown[0]}'", "give it a line of its own")
    known = {name: also[name] | {name} for name in also}
    for _ in known:
        known = {name: frozenset().union(*(known[one] for one in known[name])) for name in known}
    return known


def _bad(raw: bytes, loc: tuple[str, ...], problem: str, remedy: str) -> BadContent:
    return BadContent(f"{PLACE}:{line_of(raw, loc)}", problem, remedy)
