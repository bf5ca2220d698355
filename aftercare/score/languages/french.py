import re
from aftercare.score.languages.letters import folded

_L = r"[^\W\d_]"
_V = "aeiouyàâäéèêëîïôöùûüÿœæ"
_NUCLEUS = re.compile(rf"""
   (?:(?<![bcdfgptv][rl])(?:i|ou|u|y)(?=[{_V}]))?
   (?:eau|ao[uû](?=[tl])|eui(?=l)|[oœ]eui?|œi|aî|ai|au|ay|ey|oy|uy|ei|eu|eû|oi|oî|ou|où|oû|oê|ui|uî
   |e(?!s?(?!{_L}))(?!(?<=[iuyéo]e)(?:ment|r(?:a|ai|as|ons|ez|ont|ait|ais|aient))(?!{_L}))(?!(?<=ge)[aoâô])
   |[aiouyàâäéèêëîïôöùûüÿœæ])""", re.X)
_SILENT_U = re.compile(r"qu|gu(?=[eiyéèêî])")
_SPOKEN_ENT = tuple("ment souvent".split())
def syllables(word: str) -> int:
    w = folded(word)
    w = _SILENT_U.sub("g", w)
    if w.endswith("ent") and not w.endswith(_SPOKEN_ENT): w=w[:-2]
    return (len(_NUCLEUS.findall(w)) + ("pays" in w)) or 1
