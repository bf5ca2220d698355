"""Shelves to write on, small vocabularies, and everybody they allow, written out one by one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import chain, combinations, product
from types import MappingProxyType

import pytest
from made_up import TODAY

from aftercare.choose import patient_facts
from aftercare.library import block_paths, read
from aftercare.model import Case, Channel, Fact, FactGroup, Impossible, Library, Side
from aftercare.proof.reach import Reach
from aftercare.proof.space import NOTED, SEEN, Asked, Condition, Space, facts_of
from aftercare.proof.witness import case_of

# Answers that are worked out, or settled by the clinic: they are left whole.
WORKED_OUT = frozenset(
    {"side", "age", "reader", "speech", "route", "reply", "recall", "units", "region",
     "advice-line", "emergency-text"}
)  # fmt: skip
NO_SPEECH = frozenset({"need:deaf", "need:hard-of-hearing", "need:cannot-phone"})


@pytest.fixture(scope="session")
def shelf_of(shelf: dict[str, bytes]) -> Callable[..., Library]:
    """A library with these block files alone, by id, and settings changed by path."""
    bare = {
        path: raw
        for path, raw in shelf.items()
        if path not in set(block_paths(shelf)) and not path.startswith("locales/")
    }

    def made(*blocks: str, **changed: Callable[[str], str]) -> Library:
        files = dict(bare)
        for number, text in enumerate(blocks):
            files[f"content/made/{number}.md"] = text.encode()
        for name, change in changed.items():
            path = {"limits": "shared/limits.toml", "frame": "content/frame.toml"}[name]
            files[path] = change(files[path].decode()).encode()
        return read(files)

    return made


@dataclass(frozen=True)
class Small:
    """Cuts a vocabulary down, and writes out everybody it allows without asking the proof."""

    def __call__(
        self, library: Library, *, routes: Iterable[str] = ("print",), text_number: bool = False,
        impossible: Iterable[Impossible] = (), **kept: Iterable[str],
    ) -> Library:  # fmt: skip
        """The library with these values of these groups; one group keeps what can be in it."""
        facts = {
            name: group if name in WORKED_OUT else _cut(group, kept.get(name, ()))
            for name, group in library.facts.items()
            if name in WORKED_OUT or name != "length" or "length" in kept
        }
        barred = (never(f"route:{one}") for one in ("sms", "email", "print") if one not in routes)
        clinic = library.clinic if text_number else replace(library.clinic, text_number=None)
        return replace(
            library, facts=MappingProxyType(facts), clinic=clinic, catalogues={},
            impossible=(*barred, *impossible),
        )  # fmt: skip

    def everybody(self, library: Library) -> dict[frozenset[Asked], Case]:
        """Each patient once, as what is recorded of them and as their visit."""
        found = {}
        for held in _recorded(library):
            case = case_of(held, "en", TODAY)
            if _can_be(held, case, library):
                found[held] = case
        return found

    def cube(self, space: Space, held: frozenset[Asked]) -> Condition:
        """Exactly this patient, as a condition."""
        return space.cube(held) & space.all_of(
            ~space.cube([one]) for one in space.questions if one not in held
        )

    def held_of(self, case: Case, library: Library) -> frozenset[Asked]:
        """What is recorded of the patient of a visit."""
        patient = case.patient
        held = {Asked(fact) for fact in patient.facts if fact != "age:adult"}
        held |= {Asked("recall:agreed")} if case.recall else set()
        contact = {Channel.SMS: patient.mobile, Channel.EMAIL: patient.email}
        held |= {Asked(f"route:{c}") for c in patient.agreed if contact.get(c, "paper")}
        held |= {Asked("reply:text")} if patient.mobile and library.clinic.text_number else set()
        for ear in case.ears:
            held |= {Asked(SEEN, ear.side)}
            held |= {Asked(fact, ear.side) for fact in ear.facts if fact != "length:not-noted"}
        return frozenset(held)

    def met(self, reach: Reach, case: Case) -> Condition:
        """The patient of a visit, as a condition."""
        return self.cube(reach.space, self.held_of(case, reach.library)) & reach.space.possible


@pytest.fixture(scope="session")
def small() -> Small:
    return Small()


def never(*facts: Fact, unless: Iterable[Fact] = ()) -> Impossible:
    return Impossible(
        together=frozenset(facts), unless=frozenset(unless), because="made up", instead="-"
    )


@pytest.fixture(scope="session")
def cannot_be() -> Callable[..., Impossible]:
    return never


def _cut(group: FactGroup, kept: Iterable[str]) -> FactGroup:
    values = {value: group.values[value] for value in kept}
    opposites = tuple(pair for pair in group.opposites if pair <= set(values))
    return replace(group, values=values, opposites=opposites, told=frozenset())


def _subsets(facts: Iterable[Fact]) -> Iterator[frozenset[Fact]]:
    listed = list(facts)
    sizes = range(len(listed) + 1)
    yield from map(frozenset, chain.from_iterable(combinations(listed, n) for n in sizes))


def _given(facts: Mapping[str, FactGroup], scope: str) -> list[Fact]:
    groups = (group for group in facts.values() if group.scope == scope and not group.derived)
    return [f"{group.name}:{value}" for group in groups for value in group.values]


def _recorded(library: Library) -> Iterator[frozenset[Asked]]:
    free = ["age:child", "recall:agreed", "route:sms", "route:email", "route:print"]
    free += ["reply:text"] if library.clinic.text_number else []
    person = list(_subsets(_given(library.facts, "patient") + free))
    noted = [NOTED] if "length" in library.facts else []
    ear = list(_subsets(_given(library.facts, "ear") + noted))
    sides = [(Side.LEFT,), (Side.RIGHT,), (Side.LEFT, Side.RIGHT)]
    every = ((facts, seen) for facts in person for seen in sides)
    for facts, seen in every:
        if not any(fact.startswith("route:") for fact in facts):
            continue
        for ears in product(ear, repeat=len(seen)):
            held = {Asked(fact) for fact in facts} | {Asked(SEEN, side) for side in seen}
            yield frozenset(
                held | {Asked(f, s) for s, told in zip(seen, ears, strict=True) for f in told}
            )


def _can_be(held: frozenset[Asked], case: Case, library: Library) -> bool:
    person = patient_facts(case, library)
    answers = {Asked("reply:text"), Asked("route:email")} & held
    if (NO_SPEECH & person and not answers) or not _can_text(held, library):
        return False
    return all(
        any(fact.startswith("procedure:") for fact in facts)
        and not any(one.holds(person | case_facts) for one in library.impossible)
        and not _opposed(facts | facts_of(held)[None], library)
        for side, facts in facts_of(held).items()
        if side is not None
        for case_facts in [next(ear.facts for ear in case.ears if ear.side is side)]
    )


def _can_text(held: frozenset[Asked], library: Library) -> bool:
    wanted = library.clinic.text_number is not None and Asked("route:sms") in held
    return not wanted or Asked("reply:text") in held


def _opposed(facts: frozenset[Fact], library: Library) -> bool:
    return any(
        {f"{group.name}:{value}" for value in pair} <= facts
        for group in library.facts.values()
        for pair in group.opposites
    )
