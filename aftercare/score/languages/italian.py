import re
from aftercare.score.languages.letters import folded

_STRONG = "aeoàèéìíòóùú"
_NUCLEUS = re.compile(rf"i(?=[ií])|[iuüï]*+[{_STRONG}](?:[iuïy](?![{_STRONG}iu]))*|[iu]++|y(?![aeiou])")
_STRESSED_I = tuple("logi grafi pati terapi scopi tomi metri iatri nomi emi algi ragi fagi plegi rgi egi fobi foni mani lessi acusi plasi trofi toni steni peni latri crazi garanzi agenzi eri teori categori tuttavi poesi ossi magi bugi malatti farmaci polizi pagni folli fantasi eresi cortesi gelosi ritmi addi ronzi brusi pendi obli mormori invi avvi".split())
_UNSTRESSED_I = tuple("materi arteri miseri seri feri iberi algeri nigeri siberi ferri".split())
_SHORT = re.compile(r"[bcdfghlmnprstvz]?(?:[bdfhlmnprstvz])[iu][aeo]$|io$")
def syllables(word: str) -> int:
    w = folded(word)
    n = len(_NUCLEUS.findall(w))
    if w[-1:] in ("a", "e", "o") and w[-2:-1] in ("i", "u"):
        if _SHORT.match(w) or (w[:-1].endswith(_STRESSED_I) and not w[:-1].endswith(_UNSTRESSED_I)):
            n += 1
    return n or 1
