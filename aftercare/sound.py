"""Which translations may be said: those in which no check finds what could hurt.

A sentence is refused its approval when a check stops it. A check, a word list or the glossary may
have learnt something since, and an approval may have been written by hand, so the sentences a
message needs are asked about again when they are used: each once, whoever approved it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Protocol

from aftercare.model import Catalogue, Translation

Key = tuple[str, str]


class Check(Protocol):
    """The checks of a translation, with all a clinic's shelf adds to them."""

    def stops(self, language: str, key: Key, targets: Sequence[str], plural: str) -> bool:
        """Whether anything found in the translation of a source stops it.

        ``targets`` is one text; where the source tells a number, one for each plural form, in
        the order of the rule ``plural``.
        """
        ...


class SoundPhrases(Mapping[Key, Translation]):
    """The translations of one language without those a check stops: these are as good as missing.

    A translation is checked when it is first looked up, at about half a millisecond.
    """

    def __init__(self, catalogue: Catalogue, check: Check) -> None:
        self._language, self._all, self._check = catalogue.language, catalogue.phrases, check
        self._plural = catalogue.plural
        self._stopped: dict[Key, bool] = {}

    def __getitem__(self, key: Key) -> Translation:
        found = self._all[key]
        if key not in self._stopped:
            forms = tuple(form.msgid for form in found.phrase.forms)
            self._stopped[key] = self._check.stops(self._language, key, forms, self._plural)
        if self._stopped[key]:
            raise KeyError(key)
        return found

    def __iter__(self) -> Iterator[Key]:
        return (key for key in self._all if key in self)

    def __len__(self) -> int:
        return sum(1 for _ in self)


class SoundCatalogues(Mapping[str, Catalogue]):
    """Catalogues in which only what is sound is found."""

    def __init__(self, catalogues: Mapping[str, Catalogue], check: Check) -> None:
        self._catalogues, self._check = catalogues, check
        self._made: dict[str, Catalogue] = {}

    def __getitem__(self, language: str) -> Catalogue:
        if language not in self._made:
            found = self._catalogues[language]
            self._made[language] = replace(found, phrases=SoundPhrases(found, self._check))
        return self._made[language]

    def __iter__(self) -> Iterator[str]:
        return iter(self._catalogues)

    def __len__(self) -> int:
        return len(self._catalogues)

    def __contains__(self, language: object) -> bool:
        return language in self._catalogues
