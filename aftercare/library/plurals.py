"""Plural forms of a catalogue's header, held to CLDR and not to the tables of gettext tools.

Some of those merge forms that CLDR keeps apart (Welsh has one for none), or part what CLDR does
not (Bengali and Panjabi say none as they say one). Source: CLDR, through Babel.
"""

from __future__ import annotations

import gettext
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from babel import Locale
from babel.messages.plurals import get_plural
from babel.plural import to_gettext

# No rule is longer, and working out a longer one could take any time.
LONGEST_RULE = 1_000
# Whole numbers up to here meet every rule for what a patient is told the number of.
_COUNTS = range(1_001)
_FORMS = re.compile(r"\s*nplurals\s*=\s*(\d{1,2})\s*;\s*plural\s*=([^;]+);?\s*")


@cache
def plural_forms(language: str) -> str:
    """The value of ``Plural-Forms`` that gives each category of CLDR a form of its own."""
    usual = f"{get_plural(language)};".replace(";;", ";")
    # Whole numbers have no exponent, which C cannot ask about.
    exact = re.sub(r"\be\b", "0", to_gettext(Locale.parse(language).plural_form))
    return next(forms for forms in (usual, exact) if plural_fault(language, forms) is None)


@dataclass(frozen=True, slots=True)
class Forms:
    """The plural forms of a catalogue: how many, and the rule that picks one by a number ``n``."""

    many: int
    rule: str

    def only(self, form: int) -> int | None:
        """The one number a form is for; None for a form of several, and of none."""
        return _alone(self.rule).get(form)


def read_forms(value: str) -> Forms | None:
    """What a value of ``Plural-Forms`` says; None if it is not written so."""
    found = _FORMS.fullmatch(value)
    if found is None or len(value) > LONGEST_RULE:
        return None
    return Forms(int(found[1]), found[2].strip())


@cache
def _alone(rule: str) -> dict[int, int]:
    """The forms that are for one number only, with that number."""
    found: dict[int, list[int]] = {}
    for count, form in enumerate(_worked_out(rule) or ()):
        found.setdefault(form, []).append(count)
    return {form: counts[0] for form, counts in found.items() if len(counts) == 1}


def _worked_out(rule: str) -> list[int] | None:
    """The form of each number from 0 on; None for a rule that cannot be worked out."""
    try:
        return list(map(gettext.c2py(rule), _COUNTS))
    except (ValueError, ZeroDivisionError, RecursionError):
        return None


def plural_fault(language: str, forms: str) -> str | None:
    """What is wrong with a value of ``Plural-Forms`` for a language; None if nothing is."""
    said = read_forms(forms)
    if said is None:
        return "'Plural-Forms' is not nplurals=N; plural=RULE;"
    indices = _worked_out(said.rule)
    if indices is None:
        return "the rule of 'Plural-Forms' cannot be worked out"
    if not all(0 <= index < said.many for index in indices):
        return "the rule of 'Plural-Forms' asks for a form there is none of"
    return _parted_otherwise(indices, _category(language))


def _parted_otherwise(indices: list[int], category: Callable[[int], str]) -> str | None:
    """The first number that the rule puts with others than CLDR does."""
    by_index: dict[int, tuple[int, str]] = {}
    by_name: dict[str, tuple[int, int]] = {}
    for count, index in zip(_COUNTS, indices, strict=True):
        name = category(count)
        alike, named = by_index.setdefault(index, (count, name))
        same, its_index = by_name.setdefault(name, (count, index))
        if named != name:
            return f"'Plural-Forms' says {count} as it says {alike}; the language does not (CLDR)"
        if its_index != index:
            return f"'Plural-Forms' parts {count} from {same}; the language does not (CLDR)"
    return None


@cache
def _category(language: str) -> Callable[[int], str]:
    rule = Locale.parse(language).plural_form
    return lambda count: str(rule(count))
