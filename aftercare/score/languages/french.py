"""French: syllables by rule, and Kandel-Moles in both forms that circulate.

Rules, checked against Lexique 3 (New et al. 2004): a mute e at the end of a word is none
(oreille 2, petites 2), nor is -ent of a verb (aiment 1); any other e between consonants is one,
as in careful reading (samedi 3, médecin 3, which Lexique gives 2). i, u and ou before a vowel
join it (patient 2), but not after a consonant with l or r (crier 2).
"""

from __future__ import annotations

import re

from aftercare.model import Counts
from aftercare.score.formula import Formula, Scale
from aftercare.score.languages.letters import folded, listed
from aftercare.score.languages.ratios import profile, sentence_length, word_length

_LETTER = r"[^\W\d_]"
_VOWELS = "aeiouyàâäéèêëîïôöùûüÿœæ"
_FUTURE = "ment|r(?:a|ai|as|ons|ez|ont|ait|ais|aient)"
_NUCLEUS = re.compile(
    rf"""
    (?:(?<![bcdfgptv][rl])(?:i|ouh?|u|y)(?=[{_VOWELS}]))?      # a glide: pied, oui, nuage
    (?:eau|ao[uû](?=[tl])|eui(?=l)|œui?|oeui?|œi|oei(?=l)      # eau, août, feuille, œuf, œil
      |aî|ai|au|ay|ey|oy|ei|eu|eû|oi|oî|ou|où|oû|oê|ui
      |oo(?=[lkmt])                                            # alcool
      |e(?!s?(?!{_LETTER}))                                    # no mute e: oreille, gouttes
        (?!(?<=[iuyéo]e)(?:{_FUTURE})(?!{_LETTER}))            # paiement, oubliera
        (?!(?<=ge)[aoâô])                                      # mangeons, pigeon
      |[aiouyàâäéèêëîïôöùûüÿœæ])""",
    re.VERBOSE,
)
_SILENT_U = re.compile(r"qu|gu(?=[eiyéèêî])")
_PAY = re.compile(r"pays|abbaye")
# Words in -ent that is spoken; every other one, but for -ment, is taken for a verb.
_SPOKEN_ENT = frozenset(
    listed(
        "souvent vent auvent avent couvent paravent accent cent récent innocent décent indécent"
        " adolescent préadolescent convalescent effervescent fluorescent réticent dent accident"
        " incident président résident évident confident dissident occident strident trident prudent"
        " imprudent ardent précédent antécédent excédent argent agent urgent intelligent sergent"
        " régent négligent indulgent divergent convergent détergent astringent indigent diligent"
        " contingent émergent talent lent excellent violent équivalent opulent turbulent somnolent"
        " insolent indolent virulent polyvalent ambivalent prévalent corpulent purulent client"
        " permanent éminent imminent continent incontinent pertinent proéminent abstinent parent"
        " différent apparent transparent cohérent adhérent inhérent torrent concurrent récurrent"
        " indifférent référent efférent afférent serpent arpent absent présent consent ressent"
        " pressent fréquent conséquent subséquent éloquent content mécontent compétent incompétent"
        " intermittent latent pénitent impotent influent affluent confluent"
    )
)
# Verbs in -ment, where it is mute.
_MUTE_MENT = listed(
    "aiment forment ferment dorment firment estiment priment consomment nomment fument sument"
    " allument calment arment clament programment filment entament enflamment animent"
    " sèment"
)


def syllables(word: str) -> int:
    """The syllables of a French word as it is read with care; at least one."""
    plain = folded(word)
    if plain.endswith("ent") and _is_mute_ent(plain):
        plain = plain[:-2]
    if "qu" in plain or "gu" in plain:
        plain = _SILENT_U.sub("g", plain)
    count = len(_NUCLEUS.findall(plain))
    if "ay" in plain and _PAY.search(plain):
        count += 1
    return count or 1


def _is_mute_ent(word: str) -> bool:
    if word.endswith("ment"):
        return word.endswith(_MUTE_MENT) and word != "vraiment"
    return word not in _SPOKEN_ENT


def _kandel_moles_207(c: Counts) -> float:
    return 207 - 1.015 * sentence_length(c) - 73.6 * word_length(c)


def _kandel_moles_209(c: Counts) -> float:
    return 209 - 1.15 * sentence_length(c) - 68 * word_length(c)


_FR = frozenset({"fr"})
_NEEDS = ("words", "sentences", "syllables")
_PROFILE = profile("French", syllables="as read with care; a mute e at the end is none")
_CONFLICT = (
    "two sets of constants circulate under this name, 207 - 1.015 - 73.6 and 209 - 1.15 - 68, and "
    "the paper of 1958 was not at hand to decide; both are shown and neither is preferred"
)
_SOURCE = "Kandel & Moles 1958, Cahiers d'études de radio-télévision 19:253"
FORMULAS = (
    Formula(
        name="kandel_moles_207",
        title="Kandel-Moles (207)",
        languages=_FR,
        needs=_NEEDS,
        scale=Scale.EASE,
        profile=_PROFILE,
        source=f"{_SOURCE}, in its commoner form",
        compute=_kandel_moles_207,
        conflict=_CONFLICT,
    ),
    Formula(
        name="kandel_moles_209",
        title="Kandel-Moles (209)",
        languages=_FR,
        needs=_NEEDS,
        scale=Scale.EASE,
        profile=_PROFILE,
        source=f"{_SOURCE}, as the koRpus package gives it",
        compute=_kandel_moles_209,
        conflict=_CONFLICT,
    ),
)
