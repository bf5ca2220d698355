"""Who may be written to, by what: what a list says of consent, of death and of moving away."""

from __future__ import annotations

import re
from datetime import date

from aftercare.recall.consent import Want, lack
from aftercare.recall.incoming.days import read_day
from aftercare.recall.incoming.plan import ImportPlan, plain
from aftercare.recall.incoming.trouble import Trouble
from aftercare.recall.people import Standing

_CHANNELS = ("email", "print", "sms")  # sorted, as the register keeps them
_PARTS = re.compile(r"[;,/|+&]| and ")


class Agreement:
    """Reads the columns of consent together. Nothing said is no consent, never a guess."""

    FIELDS = ("agreed", "agreed_email", "agreed_print", "agreed_sms", "agreed_on")

    def __init__(self, plan: ImportPlan) -> None:
        self._plan = plan

    def read(self, cells: tuple[str, ...]) -> str | Trouble:
        """The channels agreed to, sorted, parted by spaces."""
        *words, on = cells
        said = [plain(word) for word in words]
        if self._any("withdrawn", said):
            return self._silent(said, on)
        every = self._general(said[0])
        if every is None:
            return Trouble("", "agreed: not a word the mapping knows")
        if self._no(said[0]):
            return self._silent(said, on)  # no to everything is no to each
        given = []
        for channel, word in zip(_CHANNELS, said[1:], strict=True):
            answer = self._answer(word, channel in every)
            if answer is None:
                return Trouble("", f"agreed_{channel}: not a word the mapping knows")
            if answer:
                given.append(channel)
        return " ".join(given) or self._silent(said, on)

    def _silent(self, said: list[str], on: str) -> Trouble:
        """Nobody who said no is asked like somebody who never was."""
        if self._any("withdrawn", said) or self._any("refused", said):
            return Trouble("", lack(Want.REFUSED, self._day(on)), Standing.SILENT)
        if self._any("no", said):
            return Trouble("", lack(Want.UNTOLD, self._day(on)), Standing.SILENT)
        return Trouble("", lack(Want.NOT_ASKED, None), Standing.SILENT)

    def _day(self, cell: str) -> date | None:
        """The day of an answer; one that is not clearly past counts as the newest there is."""
        found = read_day(cell, self._plan.dates, self._plan.serials)
        return found if isinstance(found, date) and found <= self._plan.today else None

    def _any(self, kind: str, said: list[str]) -> bool:
        return any(self._plan.says(kind, one) for one in said)

    def _no(self, word: str) -> bool:
        return self._plan.says("no", word) or self._plan.says("refused", word)

    def _blank(self, word: str) -> bool:
        return not word or self._plan.says("empty", word)

    def _general(self, word: str) -> frozenset[str] | None:
        """The channels the one column for all of them gives."""
        if self._blank(word):
            return frozenset(self._plan.agreed.split())
        if self._plan.says("yes", word) or self._plan.says("all", word):
            return frozenset(_CHANNELS)
        if self._no(word) or self._plan.says("not_asked", word):
            return frozenset()
        named = [self._channel(part) for part in _PARTS.split(word)]
        if None in named:  # "sms email", parted by nothing but a blank
            named = [self._channel(part) for part in word.split()]
        return None if None in named else frozenset(one for one in named if one)

    def _channel(self, word: str) -> str | None:
        word = plain(word)
        return next((one for one in _CHANNELS if self._plan.says(one, word)), None)

    def _answer(self, word: str, usual: bool) -> bool | None:
        if self._blank(word):
            return usual
        if self._plan.says("yes", word):
            return True
        return False if self._no(word) or self._plan.says("not_asked", word) else None


class Life:
    """Reads whether somebody has died or moved away."""

    FIELDS = ("deceased", "moved", "status", "notes")

    def __init__(self, plan: ImportPlan) -> None:
        self._plan = plan
        words = sorted(plan.words["death_notes"], key=len, reverse=True)
        told = "|".join(re.escape(word) for word in words) or "(?!)"
        self._death = re.compile(rf"\b(?:{told})\b", re.IGNORECASE)

    def read(self, cells: tuple[str, ...]) -> Trouble | None:
        """Nothing, or why nobody writes to them, or why a person must look first."""
        deceased, moved, status, notes = cells
        for cell, kind, said in (
            (deceased, "deceased", "deceased"), (moved, "moved", "moved away"),
        ):  # fmt: skip
            found = self._flag(cell, kind)
            if found:
                return Trouble(None, said, Standing.SILENT)
            if found is None:
                return Trouble(None, f"{kind}: {self._open(cell)}")
        return self._status(plain(status)) or self._notes(notes)

    def _flag(self, cell: str, kind: str) -> bool | None:
        word = plain(cell)
        if self._plan.says("unsure", word):
            return None
        if not word or self._plan.says("empty", word) or self._plan.says("no", word):
            return False
        if self._plan.says("current", word):
            return False
        if self._plan.says("yes", word) or self._plan.says(kind, word):
            return True
        # A day of death is a death, whichever day is meant by it.
        found = read_day(cell, self._plan.dates, self._plan.serials)
        is_day = not isinstance(found, Trouble) or found.said != "not a date"
        return True if is_day else None

    def _open(self, cell: str) -> str:
        unsure = self._plan.says("unsure", plain(cell))
        return "an open question" if unsure else "not a word the mapping knows"

    def _status(self, word: str) -> Trouble | None:
        if not word or self._plan.says("empty", word) or self._plan.says("current", word):
            return None
        if self._plan.says("withdrawn", word):
            return Trouble(None, lack(Want.REFUSED, None), Standing.SILENT)
        for kind, said in (("deceased", "deceased"), ("moved", "moved away")):
            if self._plan.says(kind, word):
                return Trouble(None, said, Standing.SILENT)
        return Trouble(None, "status: not a word the mapping knows")

    def _notes(self, notes: str) -> Trouble | None:
        return Trouble(None, "notes: speak of a death") if self._death.search(notes) else None
