"""Syllables of an English word by rule, for words that no table holds.

One syllable for each group of vowel letters, less the silent ones, plus the breaks inside a
group. Written for this project and tuned on one half of CMUdict, exceptions included;
tests/score/test_rules.py measures the other half.
"""

from __future__ import annotations

import re

_GROUP = re.compile(r"[aeiouy]+")
_LONGEST = 60  # letters; what is longer is no word, and only its vowel groups are counted

# A first word of a compound whose last e is silent.
_COMPOUND = (
    "some|here|there|where|fore|home|fire|life|safe|side|wide|like|base|house|space|game|line|"
    "case|care|white|free?|stone|fine|grape|horse|love|time|name|note|nine|five|rice|ice|lake|"
    "cheese|trade|gate|cave|age|state|sale|bone|bare|snake|wave|wire|blue|store|price|bike|face"
)
# Endings before which a silent e stays silent.
_TAIL = "ly|less|ness|ful|fully|ment|ments|some|men|man|land|ton|town|wood|ford|field|ville|son"

# Letters that show a syllable nobody says; each match takes one away.
_SILENT = tuple(
    map(
        re.compile,
        (
            r"[aeiouy](?:[^aeiouyl]|[^aeiouy]{2,3}(?<![bcdfgkptz]l)|qu|gu)e$",  # make, taste
            r"[aeiouy]l+e$",  # whole, belle; not table
            r"[aeiouy](?:[^aeiouytd]|[^aeiouy]{1,2}[^aeiouytdl]|[^aeiouy]*[aeiouylr]l)ed$",
            r"[aeiouy]ed$",
            r"(?:[aeiouy]|qu|gu)(?:[^aeiouyscxzgl]|[^aeiouy]{1,2}[^aeiouyscxzglh]|th|ph|gh)es$",
            r"[aeiouy]l+es$",
            rf"[aeiouy][^aeiouy]{{1,2}}(?<![bcdfgkptz]l)e(?=(?:{_TAIL})$)",
            rf"^(?:{_COMPOUND})(?<=e)(?=[^aeiouyrdsnlmt]|th|sh|st|sl|li|lo|me|ma|mo)",
            r"^every|^sever(?=a)|^gener(?=al)|(?<=ff)er(?=en)|ically$|^inter(?=est)|^temper(?=a)",
            r"(?<=[aeiou])ious$(?!)",
        ),
    )
)
# Breaks inside a group of vowel letters; each match adds one.
_BREAK = tuple(
    map(
        re.compile,
        (
            r"[aeiouy]ing(?:s|ly)?$|[aeiouy]ingness$",  # seeing, playing
            r"(?<![ctsg])i[ae]n(?!c?e?$)",
            r"[^aeiouycgtsx]ia(?=[lnt])",
        ),
    )
)


def syllables_by_rule(word: str) -> int:
    """How many syllables a lower-case word has, at least one; linear in its length."""
    groups = len(_GROUP.findall(word))
    if len(word) > _LONGEST:
        return max(1, groups)
    silent = sum(1 for rule in _SILENT if rule.search(word))
    breaks = sum(len(rule.findall(word)) for rule in _BREAK)
    return max(1, groups - silent + breaks)
