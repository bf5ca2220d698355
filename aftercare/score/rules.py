"""Syllables of an English word by rule, for words that no table holds.

One syllable for each group of vowel letters, less the silent ones, plus the breaks inside a
group. Written for this project and tuned on one half of CMUdict, exceptions included;
tests/score/test_syllables.py measures the other half.
"""

from __future__ import annotations

import re

_GROUP = re.compile(r"[aeiouy]+")
_LONGEST = 60  # letters; what is longer is no word, and only its vowel groups are counted

# First words of compounds whose last e is silent.
_FIRST = (
    "some|home|wide|side|like|base|house|game|line|case|white|stone|grape|horse|love|time|name|"
    "note|nine|five|rice|lake|cheese|trade|gate|state|sale|bone|snake|wave|store|price|bike|face|"
    "life|safe|wire|fire|fore|here|there|where|bare|care|hare|cave|space|rose|free|large|smoke|"
    "shore|score|core|more|else|apple|candle|table|single|double|middle|little|whole|hole|pole"
)
# Endings before which an e stays silent.
_TAIL = (
    "ly|less|ness|nesses|lessly|lessness|ful|fully|fulness|ment|ments|mental|some|men|man|mans|"
    "land|lands|ton|town|wood|ford|field|ville|son|sons|time|day|how|body|thing|things|where|one|"
    "wide|line|lines|work|worker|works|point|maker|makers|making|back|backs|box|way|ways|hood"
)

# Letters that show a syllable nobody says; each rule that matches takes one away.
_SILENT = tuple(
    map(
        re.compile,
        (
            r"[aeiouy](?:[^aeiouy]|[^aeiouy]{2,3}(?<![bcdfgkptz]l)(?<![bcdgtfp]r))e$",  # make
            r"(?:[aeiouy]|n)(?:g|[^aeiouy]?q)ue[sd]?$",  # league, tongue, mosque; not argue
            # walked, failed, curled; not wanted, settled, hundred
            r"[aeiouy](?:[^aeiouytdl]|[^aeiouy]*[^aeiouytdlr]|l+|[rw]l|[^dctaeiouy]?r)ed$",
            # makes; not tables, boxes, ages
            r"(?:[aeiouy]|qu)(?:[^aeiouyscxzg]|[^aeiouy]+(?:[^aeiouyscxzghl]|[tpg]h))es$",
            r"[aeiouy][^aeiouybcdfgkptz]+les$",
            # shameless, statement
            rf"[aeiouy](?:[^aeiouyl]|[^aeiouy][^aeiouyl]|l+|[rw]l)e(?=(?:{_TAIL})$)",
            rf"^(?:{_FIRST})(?<=[^aeiou]e)(?=[^aeiouyrdsnlm]|s[^aeiouyt]|th)(?!t$|ts$|(?:{_TAIL})$)",
            r"^every|^sever(?=al)|^gener(?=al)|ffer(?=en)|ically$|^inter(?=est)|pera(?=ture)",
            r"^[ei]vening|^business|^usual(?=ly)|ashion(?=a)",
        ),
    )
)
# Breaks inside a group of vowel letters; each match adds one.
_BREAK = tuple(
    map(
        re.compile,
        (
            r"i(?=a(?![nl]|$|ge|r$))|(?<![tcsgj])i(?=a(?:[nl]|$|r$))|^gi(?=an)",  # mediate
            r"i(?=o(?!n|us))|(?<![tcsgxlnh])i(?=on)|(?<![tcgx])i(?=ous)|^li(?=on)",  # biopsy
            r"i(?=u)|i(?=i)",  # medium
            r"(?<=[^aeiouy])i(?=e(?:rs?|st|t[aeiouys]?|ties|tal?y?)$)|(?<=[^aeiouy])i(?=et[aeiouy].)",
            r"(?<![ct])i(?=en[ct])|(?<=sc)i(?=en)|^qui(?=et)",  # client, quiet
            r"(?<=[aeiouy])(?<!qu)(?=ing(?:s|ly|ness)?$)",  # seeing
            r"(?<=[aeiouy].[rlndtc])e(?=a$)|(?<=[aeiouy]..[rlndtc])e(?=a$)|(?<=[rh])e(?=a$)(?<!^.e)",
            r"(?:^|[^btdhps])(?:r|l)e(?=a(?:l[it]|ct|tor|ss))|(?<=p)e(?=an)",  # reality
            r"cre(?=at)|the(?=at)|ide(?=a)|are(?=a)|ste(?=at)",
            r"(?<!g)e(?=o(?!u|ple|pard))|^ge(?=o)|(?<=[dlr]g)e(?=o[^un])",  # video, geology
            r"(?<![gt])e(?=ous)|(?<=[clms])e(?=u[ms]s?$)",
            r"(?<=[tnl])u(?=i(?:t[yio]|n[^g]|d|sh|c))|(?<=[rs])u(?=in|icid)",  # fluid
            r"(?<![gqa])u(?=e(?:n[ct]|l|r|tt|st))|(?<![gq])u(?=a(?!d[ei]))|u(?=ous)",  # fluent
            r"(?<!^[rct])o(?=a$)|o(?=e[mt])|(?<!^[rctb])(?<!^)o(?=as[ti])",  # poem
            r"o(?=e(?:ing|n[ct]))|(?<=o)e(?=ic|a)",  # otorrhoea
            r"(?<!^)[aou]y(?=[aeou])(?!ed$)|(?<=[^aeiouw])y(?=[aeo])(?!years?)(?<!^y)(?<!^.y)",
            r"ey(?=er|a)|a(?=[ou]e)|a(?=o[a-z])",  # buyer
            r"^co(?=o[pr]|e[xd]|inc)|contra(?=[aeiou])|co(?=agu)",  # cooperate
            r"sms?$|thms?$|^mc",  # prism, rhythm
        ),
    )
)


def syllables_by_rule(word: str) -> int:
    """How many syllables a lower-case word has, at least one; linear in its length."""
    groups = len(_GROUP.findall(word))
    if len(word) > _LONGEST:
        return max(1, groups)
    if not groups:
        return len(word) + 2 * word.count("w")  # read by its letters
    silent = sum(1 for rule in _SILENT if rule.search(word))
    breaks = sum(len(rule.findall(word)) for rule in _BREAK)
    return max(1, groups - silent + breaks)
