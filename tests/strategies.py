"""What a clinic can meet, as generators: names, ears, patients, whole visits.

A case made here is one the visit reader would let in. ``hostile_texts`` are not.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from datetime import date
from functools import cache
from typing import Any
from unicodedata import category, normalize

from hypothesis import strategies as st
from made_up import HOME, TODAY, a_case, a_patient, an_ear

from aftercare.model import Case, Ear, Fact, Interval, Patient, Side

EAR_GROUPS = ("condition", "procedure", "finding", "drops", "plan")
PATIENT_GROUPS = ("caution", "allergy", "status", "uses", "need", "format", "texts")
NO_SPEECH = frozenset({"need:deaf", "need:hard-of-hearing", "need:cannot-phone"})
# Marks that reorder what follows, and separators: the visit reader refuses them.
REORDERING = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u2028\u2029"

# What people are called, and what a name must never turn into.
ODD_NAMES = (
    "<script>alert(1)</script>",
    "<b>Ann</b> & co",
    "&lt;i&gt; &amp; &#65;",
    "]]> --> <!-- <![CDATA[",
    '"><img src=x onerror=alert(1)>',
    "{clinic_phone} {patient_name}",
    "**Bold** _it_ `x` # * -",
    "[side:left] Ann",
    "=?utf-8?q?a=0D=0ABcc:_x=40example.org?=",
    "Bcc: x@example.org",
    "=HYPERLINK(A1)",
    "+1+1",
    "@SUM(A1)",
    "#set text(red)",
    "$(rm) `ls` ; | %s {0} \\n",
    "999",
    "Zoë O’Neil-Łukasz",
    "שרה",
    "محمد",
    "Ann שרה 999",
    "李明",
    "👩‍👩‍👧 Ann",
)


@cache
def facts_file() -> dict[str, Any]:
    """The checkout's own vocabulary, as it stands in its file."""
    return tomllib.loads((HOME / "shared" / "facts.toml").read_text(encoding="utf-8"))


@cache
def vocabulary() -> dict[str, Any]:
    """Its groups."""
    groups: dict[str, Any] = facts_file()["groups"]
    return groups


@cache
def impossible() -> tuple[tuple[frozenset[Fact], frozenset[Fact]], ...]:
    """What cannot hold together, and what allows it all the same."""
    listed = facts_file()["impossible"]
    return tuple((frozenset(one["together"]), frozenset(one.get("unless", []))) for one in listed)


def admitted(text: str) -> bool:
    """Whether the visit reader lets these characters in."""
    unfit = {"Cc", "Cs", "Co", "Cn"}
    return not any(category(char) in unfit or char in REORDERING for char in text)


def names() -> st.SearchStrategy[str]:
    """Names as they may stand in a visit: any script, any punctuation, no controls."""
    letters = st.characters(exclude_categories=("Cc", "Cs", "Co", "Cn"))
    drawn = st.text(letters, min_size=1, max_size=30).map(lambda text: normalize("NFC", text))
    any_name = drawn.map(str.strip).filter(lambda text: bool(text) and admitted(text))
    return st.sampled_from(ODD_NAMES) | any_name


def hostile_texts() -> st.SearchStrategy[str]:
    """Anything at all, controls and line ends included."""
    traps = (
        "a\r\nBcc: x@example.org",
        "a\x00b",
        "a\x0b\x0cb",
        "a\u2028b",
        "a\u2069\u202eb",
        "=?utf-8?b?QQ==?=",
    )
    return st.sampled_from((*ODD_NAMES, *traps)) | st.text(max_size=30)


def lengths() -> st.SearchStrategy[int]:
    """Millimetres a visit file can hold: 0.1 to 15 cm."""
    return st.integers(1, 150)


@st.composite
def subsets(draw: st.DrawFn, group: str, *, least: int = 0) -> frozenset[Fact]:
    """Facts of one group that can hold together."""
    told = vocabulary()[group]
    chosen = draw(st.sets(st.sampled_from(sorted(told["values"])), min_size=least))
    for pair in told.get("opposites", []):
        if set(pair) <= chosen:
            chosen -= {pair[0]}
    return frozenset(f"{group}:{value}" for value in chosen)


@st.composite
def ears(draw: st.DrawFn, side: Side) -> Ear:
    """One ear over the whole vocabulary, with or without a length."""
    facts = draw(subsets("procedure", least=1))
    for group in EAR_GROUPS:
        facts |= draw(subsets(group)) if group != "procedure" else frozenset()
    return an_ear(*facts, side=side, removed_mm=draw(st.none() | lengths()))


@st.composite
def patients(draw: st.DrawFn, languages: tuple[str, ...] = ("en",)) -> Patient:
    """A patient whom at least one channel and one route to the clinic fit."""
    facts = frozenset({draw(st.sampled_from(("age:child", "age:adult")))})
    for group in PATIENT_GROUPS:
        facts |= draw(subsets(group))
    mobile = draw(st.sampled_from((None, "07700 900123")))
    # Who cannot phone is let in only with another way to reach the clinic.
    must = mobile is None and bool(facts & NO_SPEECH)
    email = "orla@example.org" if must else draw(st.sampled_from((None, "orla@example.org")))
    return a_patient(
        name=draw(names()),
        language=draw(st.sampled_from(languages)),
        facts=facts,
        mobile=mobile,
        email=email,
    )


@st.composite
def cases(draw: st.DrawFn, languages: tuple[str, ...] = ("en",)) -> Case:
    """A visit over the whole vocabulary, as the visit reader would let it in."""
    sides = draw(st.sampled_from(((Side.LEFT,), (Side.RIGHT,), (Side.LEFT, Side.RIGHT))))
    patient, seen = draw(patients(languages)), tuple(draw(ears(side)) for side in sides)
    recall = draw(st.none() | st.builds(Interval, months=st.integers(3, 12)) | confirmed())
    derived = frozenset({"recall:agreed" if recall else "recall:none"})
    # What is said of the person goes first: an ear may then hold what it could not beside it.
    patient = replace(patient, facts=without_impossible(patient.facts, derived))
    person = patient.facts | derived
    return a_case(
        patient=patient,
        clinician=draw(names()),
        ears=tuple(replace(e, facts=without_impossible(e.facts, person)) for e in seen),
        recall=recall,
        recall_declined=None if recall else "nothing to follow up",
        visit_date=draw(st.dates(date(2026, 11, 1), TODAY)),
    )


def confirmed() -> st.SearchStrategy[Interval]:
    """Any figure at all, with the reason that one outside what is allowed needs."""
    reason = st.just("as the surgeon asked")
    return st.builds(Interval, months=st.integers(1, 60), confirmed=reason)


def without_impossible(facts: frozenset[Fact], beside: frozenset[Fact]) -> frozenset[Fact]:
    """The facts less one of each combination that cannot hold, here or beside others."""
    for together, unless in impossible():
        held = facts | beside
        if together & facts and together <= held and not unless & held:
            facts -= {max(together & facts, key=_decided)}
    return facts


def _decided(fact: Fact) -> tuple[int, Fact]:
    """How late in a visit a fact is settled, its age never taken back: the last can go first."""
    order = ("age", *EAR_GROUPS, *PATIENT_GROUPS)
    return order.index(fact.partition(":")[0]), fact
