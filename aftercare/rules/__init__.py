"""The contradictions no message may hold, each a named rule with its source.

A rule sees one finished message and the facts behind it. It is asked at release, message by
message, and by whoever proves the shelf, over every message that can be made. BLOCK means no
output without a clinician's override and a reason; WARN is told and stops nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType

from aftercare.model import Message
from aftercare.rules import (
    cautions,
    drops,
    hearing,
    opposing,
    privacy,
    reader,
    recall,
    routes,
    sides,
    translations,
    water,
)
from aftercare.rules.opposing import LOGGED
from aftercare.rules.rule import Act, Broken, Rule
from aftercare.rules.seen import Asked, Seen, Unlisted
from aftercare.rules.translations import UNREVIEWED

__all__ = ["BY_NAME", "LOGGED", "RULES", "UNREVIEWED", "Act", "Asked", "Broken", "Rule", "broken"]

_THEMES = (
    drops, water, cautions, hearing, reader, routes, translations, sides, recall, privacy, opposing,
)  # fmt: skip
RULES: tuple[Rule, ...] = tuple(
    sorted((rule for theme in _THEMES for rule in theme.RULES), key=lambda rule: rule.row)
)
BY_NAME: Mapping[str, Rule] = MappingProxyType({rule.name: rule for rule in RULES})


def broken(message: Message, asked: Asked, rules: Iterable[Rule] = RULES) -> tuple[Broken, ...]:
    """Every rule this message breaks, in the order of the table. Nothing is raised.

    Half a translation is judged for being half, and for nothing else. A rule whose words the
    message's language lacks answers with a WARN that it could not check.
    Overrides are not looked at: that is the gate's.
    """
    seen = Seen(message, asked)
    asks = [rule for rule in rules if not asked.worded.missing or rule is translations.MISSING]
    return tuple(one for rule in asks for one in _broken(rule, seen))


def _broken(rule: Rule, seen: Seen) -> Iterator[Broken]:
    try:
        for why in dict.fromkeys(rule.breaches(seen)):
            yield Broken(rule, rule.act, why)
    except Unlisted as lack:
        why = f"cannot be checked in {seen.message.language}; {lack.file} lacks words for it"
        yield Broken(rule, Act.WARN, why)
