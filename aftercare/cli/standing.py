"""``aftercare locales status``: which language is safe to send today, and to whom."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from aftercare.cli import DONE, FOUND, say_json
from aftercare.cli.catalogues import filled, open_bench, sms_counter, stand_anyway
from aftercare.cli.lines import folded
from aftercare.cli.shelf import tell_faults
from aftercare.cli.vetting import fault_row, show_fault, stops
from aftercare.model import SmsCount
from aftercare.proof.carried import carried
from aftercare.proof.reach import Reach
from aftercare.proof.translated import Standing, State
from aftercare.proof.withheld import Audience, Withheld, on_help, withheld_now, withheld_still
from aftercare.render.gsm import GSM_7, UCS_2, part_sizes


def status(home: str | None, *, as_json: bool) -> int:
    """How far each language has come, and what that withholds.

    1 when anything is withheld from anybody, or a file of the shelf cannot be read.
    """
    bench = open_bench(home)
    audience = Audience(Reach(bench.library))
    rows = [
        _Row(stand_anyway(bench, language), audience, sms_counter(filled(bench.library, language)))
        for language in bench.languages
    ]
    if as_json:
        told = {"patients": audience.everybody, "languages": [row.told() for row in rows]}
        say_json({"library": bench.library.fingerprint, **told}, indent=1)
    else:
        for line in _overview(rows) if len(rows) > 1 else ():
            print(line)
        for row in rows:
            row.show()
    tell_faults(bench.faults)
    return FOUND if bench.faults or any(row.holds_up for row in rows) else DONE


# Blocks, or letters, that are named on a screen; a new language lacks them all.
_NAMED = 12


def _overview(rows: list[_Row]) -> Iterator[str]:
    """A line for each language, before what there is to say of each."""
    yield f"{'':8}{'translated':>11}{'approved':>10}{'stopped':>9}  withheld today from"
    for row in rows:
        one, total = row.one, len(row.one.states)
        approved, stopped = len(one.of(State.APPROVED)), len(one.of(State.BLOCKED))
        counts = f"{f'{row.translated}/{total}':>11}{approved:>10}{stopped:>9}"
        yield f"{one.language:8}{counts}  {row.withheld_from}"
    yield ""


class _Row:
    """One language as it is told."""

    def __init__(
        self, one: Standing, audience: Audience, counted: Callable[[str], SmsCount]
    ) -> None:
        self.one, self._audience, self.everybody = one, audience, audience.everybody
        self.texts = carried(one, counted)
        self.now, self.still = withheld_now(one, audience), withheld_still(one, audience)
        self.blocking = [f for f in one.faults if stops(f) and f.sentence and f.sentence.safety]
        self.of_file = [fault for fault in one.faults if stops(fault) and not fault.sentence]

    @property
    def holds_up(self) -> bool:
        """Whether anything of the language is kept from anybody."""
        return bool(self.now.patients or self.of_file)

    def told(self) -> dict[str, Any]:
        one = self.one
        return {
            "language": one.language,
            "sentences": len(one.states),
            **{state.value: len(one.of(state)) for state in State},
            "translated": self.translated,
            "approved_total": len(one.reviewers),
            "approvals_of_other_words": one.unmatched,
            "blocked_safety": sorted({f.sentence.id for f in self.blocking if f.sentence}),
            "texts": {
                "short": self.texts.texts,
                "need_ucs2": self.texts.wide,
                "letters": list(self.texts.letters),
            },
            "help_lines": {name: state.value for name, state in on_help(one).items()},
            "withheld": self._withheld(self.now),
            "withheld_with_all_else_approved": self._withheld(self.still),
            "file": [fault_row(one.language, fault) for fault in self.of_file],
            "blocking": [fault_row(one.language, fault) for fault in self.blocking],
        }

    @property
    def translated(self) -> int:
        """How many sentences have a translation of their present words."""
        return len(self.one.of(State.BLOCKED, State.DRAFT, State.APPROVED))

    @property
    def withheld_from(self) -> str:
        """The share of patients who get no message in this language as it stands."""
        patients = self.everybody if self.of_file else self.now.patients
        return self._audience.share(patients).partition(" of ")[0] if patients else "nobody"

    def _withheld(self, held: Withheld) -> dict[str, Any]:
        everything = bool(self.of_file)
        return {
            "blocks": list(held.blocks),
            "patients": self.everybody if everything else held.patients,
        }

    def show(self) -> None:
        for line in self._lines():
            print(line)
        for fault in (*self.of_file, *self.blocking):
            show_fault(fault)

    def _lines(self) -> Iterator[str]:
        one = self.one
        counts = ", ".join(f"{len(one.of(state))} {state}" for state in State if one.of(state))
        yield f"{one.language}: {self.translated} of {len(one.states)} translated ({counts})"
        told = self._said(self.now)
        yield from folded(f"today: {told}", "  ")
        if self._said(self.still) != told:
            yield from folded(f"with all else approved: {self._said(self.still)}", "  ")
        if one.unmatched:
            yield f"  approvals of words changed since, which count no more: {one.unmatched}"
        yield from folded(f"text messages: {self._travels()}", "  ")
        states = dict.fromkeys(on_help(one).values())
        if states and (self.now.patients or self.of_file):
            yield f"  the line on how to get help instead: {', '.join(states)}"

    def _travels(self) -> str:
        """What the alphabet of the language costs: an SMS is paid for by the part."""
        sizes, texts = part_sizes(), self.texts
        if not texts.wide:
            return f"{GSM_7}, {sizes[GSM_7]} characters a part"
        # More letters than that are a script, and nothing a translator could go round.
        few = 0 < len(texts.letters) <= _NAMED
        named = f", for want of {' '.join(texts.letters)}" if few else ""
        return (
            f"{texts.wide} of {texts.texts} short texts need {UCS_2}, {sizes[UCS_2]} characters a"
            f" part where {GSM_7} has {sizes[GSM_7]}{named}"
        )

    def _said(self, held: Withheld) -> str:
        patients = self.everybody if self.of_file else held.patients
        if not patients:
            return "nothing is withheld"
        share = self._audience.share(patients)
        return f"messages in another language for {share}, for want of {self._named(held)}"

    def _named(self, held: Withheld) -> str:
        if self.of_file:
            return "a catalogue that can be read"
        every = {context for context, _ in self.one.states}
        if every == set(held.blocks):
            return f"every one of its {len(every)} blocks"
        first, more = held.blocks[:_NAMED], len(held.blocks) - _NAMED
        return ", ".join(first) + (f" and {more} more (--json lists them)" if more > 0 else "")
