"""How the text messages of a language travel, and which letters make them dear."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

from aftercare.model import SmsCount
from aftercare.proof.translated import Standing
from aftercare.render.gsm import UCS_2, offenders
from aftercare.word.checks import Medium


@dataclass(frozen=True, slots=True)
class Carried:
    """Of a language's short texts, how many there are and how many need UCS-2.

    One of them makes the whole message UCS-2. ``letters`` are what GSM-7 lacks, the one in most
    texts first.
    """

    texts: int
    wide: int
    letters: tuple[str, ...]


def carried(one: Standing, counted: Callable[[str], SmsCount]) -> Carried:
    """How the short texts of one language travel; ``counted`` fills their slots and counts."""
    told = [
        counted(text)
        for key, entry in one.translations.items()
        if key in one.sentences and one.sentences[key].medium is Medium.SMS
        for text in entry.msgstrs
        if text
    ]
    wide = ["".join(found.texts) for found in told if found.encoding == UCS_2]
    letters = Counter(char for text in wide for char in {char for char, _ in offenders(text)})
    ordered = sorted(letters, key=lambda char: (-letters[char], char))
    return Carried(len(told), len(wide), tuple(ordered))
