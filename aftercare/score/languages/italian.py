"""Italian: syllables by rule, and Gulpease, which needs none of them.

Rules (common grammar, from memory): a, e, o and accented vowels are each a syllable; i and u
beside them are not, unless they carry the stress. Italian seldom writes that stress, so the
endings in -ia, -ie and -io that carry it are listed.
"""

from __future__ import annotations

import re
from math import inf

from aftercare.model import Counts
from aftercare.score.formula import Band, Formula, Scale
from aftercare.score.languages.letters import folded, listed
from aftercare.score.languages.ratios import profile

_STRONG = "aeoàáâèéêëìíòóôöùúäå"
_NUCLEUS = re.compile(
    rf"i(?=[ií])|[iuüï]*+[{_STRONG}](?:[iuïy](?![{_STRONG}iu]))*+|[iuüï]++|y(?![aeiou])"
)
# Stems before a stressed -ia or -ie: allergia, otoscopia, farmacia, corsia.
_STRESSED_IA = listed(
    "logi grafi pati terapi scopi tomi metri iatri nomi emi algi ragi fagi plegi rgi ategi fobi"
    " foni omani lessi acusi plasi plasti fasi trofi toni steni peni latri crazi garanzi agenzi eri"
    " teori categori tuttavi poesi estesi ossi magi bugi malatti farmaci polizi pulizi pagni folli"
    " fantasi eresi cortesi gelosi ritmi crisi ironi armoni calori allegri prigioni signori corsi"
    " fattori ferrovi archi utopi profezi pazzi giuri scrivani etni melodi parodi lombardi turchi"
    " borghesi dinasti diplomazi filosofi periferi"
)
# The same letters with the stress elsewhere: materia, arteria, accademia.
_UNSTRESSED_IA = listed("materi arteri miseri seri nigeri siberi iberi accademi norvegi")
_STRESSED_IO = listed("add ronz brus obl mormor inv avv rinv legg calpest")
_TWO_SHORT = re.compile(r"[bcdfghlmnprstvz]?[bdfhlmnprstvz][iu][aeo]|io|pendio")  # mio, due, zia
_HIATUS = re.compile(
    r"paur|veicol|period|qualsias|(?:cardi|austri|mani)ac|[ae]in[ae]$|^(?:si|sti|di)ano$|^buio$"
)


def syllables(word: str) -> int:
    """The syllables of an Italian word; at least one."""
    plain = folded(word)
    count = len(_NUCLEUS.findall(plain)) + (_HIATUS.search(plain) is not None)
    if plain[-2:-1] in {"i", "u"} and plain[-1:] in {"a", "e", "o"}:
        count += _ends_in_two(plain)
    return count or 1


def _ends_in_two(plain: str) -> bool:
    """Whether the stress parts the last two vowels."""
    stem = plain[:-1]
    if plain[-1] == "o" and stem[:-1].endswith(_STRESSED_IO):
        return True
    if _TWO_SHORT.fullmatch(plain):
        return True
    return plain[-1] != "o" and stem.endswith(_STRESSED_IA) and not stem.endswith(_UNSTRESSED_IA)


def _gulpease(c: Counts) -> float:
    return 89 + (300 * c.sentences - 10 * c.letters) / c.words


FORMULAS = (
    Formula(
        name="gulpease",
        title="Gulpease",
        languages=frozenset({"it"}),
        needs=("words", "sentences", "letters"),
        scale=Scale.EASE,
        profile=profile("Italian", syllables="not used; letters leave out digits and punctuation"),
        source="Lucisano & Piemontese 1988, Scuola e città 39(3):110",
        compute=_gulpease,
        bands=(
            Band(40, "hard for readers with upper secondary school"),
            Band(60, "hard for readers with lower secondary school"),
            Band(80, "hard for readers with primary school"),
            Band(inf, "easy for readers with primary school"),
        ),
        conflict="the scale was published as 0 to 100; very short words and sentences pass 100",
    ),
)
