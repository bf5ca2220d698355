"""One made-up message and what breaks in it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

import pytest
from made_up import TODAY, a_case, a_patient, an_ear

from aftercare.choose import patient_facts
from aftercare.model import (
    Approval,
    ApprovalState,
    Block,
    Case,
    Channel,
    Choice,
    Chosen,
    Counts,
    Fact,
    Kind,
    Library,
    Line,
    Message,
    Score,
    Side,
    Span,
    Status,
    Worded,
)
from aftercare.recall import due
from aftercare.rules import Act, Asked, Broken, broken


@dataclass(frozen=True)
class Said:
    """A line somebody could have written, and the block it would stand in."""

    text: str
    side: Side = Side.LEFT
    kind: Kind = Kind.CARE
    block: str = "made-up"
    given_for: tuple[Fact, ...] = ()
    spans: tuple[Span, ...] = ()
    approved: bool = True

    def chosen(self) -> Chosen:
        block = Block(
            id=self.block, version="1", kind=self.kind, given_for=self.given_for,
            withheld_from=(), rank=1, parts=(), sms=None, sms_detail=None,
            sources=("made up",), author="A. N. Editor",
            approval=Approval(ApprovalState.APPROVED, "Dr A. Example", TODAY),
            review_by=date(2028, 1, 1), place="content/made/up.md",
        )  # fmt: skip
        return Chosen(block, self.side, ("made up",))

    def line(self) -> Line:
        return Line(self.spans or (Span(self.text),), self.block, self.approved)


@dataclass(frozen=True)
class Judge:
    """Judges made-up words by the rules of a library."""

    library: Library
    frame: dict[str, Line] = field(default_factory=dict)

    def __call__(
        self,
        case: Case,
        *lines: Said,
        channel: Channel = Channel.PRINT,
        missing: tuple[str, ...] = (),
        **asked: Any,
    ) -> list[Broken]:
        chosen = tuple(one.chosen() for one in lines)
        language = case.patient.language
        message = Message(
            channel=channel, language=language, lines=tuple(one.line() for one in lines),
            chosen=chosen, score=Score(counts=Counts()), status=Status.RELEASED,
        )  # fmt: skip
        usual: dict[str, Any] = {
            "case": case,
            "library": self.library,
            "recall": due(case.visit_date, case.recall, self.library.clinic)
            if case.recall
            else None,
            "facts": patient_facts(case, self.library),
            "choice": Choice(chosen, ()),
            "worded": Worded(
                language=language, direction="ltr", frame=self.frame, sections=(), short=(),
                missing=missing,
            ),
            "today": TODAY,
        }  # fmt: skip
        return list(broken(message, Asked(**{**usual, **asked})))

    def names(self, case: Case, *lines: Said, **asked: Any) -> set[str]:
        return {one.rule.name for one in self(case, *lines, **asked) if one.act is one.rule.act}

    def blocks(self, case: Case, *lines: Said, **asked: Any) -> set[str]:
        return {one.rule.name for one in self(case, *lines, **asked) if one.act is Act.BLOCK}


@pytest.fixture(scope="session")
def judge(library: Library) -> Judge:
    return Judge(library)


@pytest.fixture(scope="session")
def visit() -> Callable[..., Case]:
    """A visit from facts: those of the ears by side, the rest the patient's."""

    def made(
        left: Iterable[Fact] = (),
        right: Iterable[Fact] | None = None,
        patient: Iterable[Fact] = ("age:adult",),
        language: str = "en",
        drops_stop: date | None = None,
        **changes: Any,
    ) -> Case:
        ears = [an_ear("procedure:suction", *left)]
        if right is not None:
            ears.append(an_ear("procedure:suction", *right, side=Side.RIGHT))
        return a_case(
            ears=tuple(replace(ear, drops_stop=drops_stop) for ear in ears),
            patient=a_patient(facts=frozenset(patient), language=language),
            **changes,
        )

    return made
