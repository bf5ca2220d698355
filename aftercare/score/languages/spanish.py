import re
from aftercare.score.languages.letters import folded

_STRONG = "aeoáéíóúàèìòùâêôäëöãõåæœ"
_WEAK = "iuüîûï"
_NUCLEUS = re.compile(rf"i(?=[ií])|[{_WEAK}]*+[{_STRONG}][{_WEAK}]*+|[{_WEAK}]++|y(?![{_WEAK}{_STRONG}])")
_GLIDE_Y = re.compile(rf"(?<=[{_STRONG}{_WEAK}])y(?![{_STRONG}{_WEAK}])")

_WAW = re.compile(rf"hu(?=[{_STRONG}])")

def syllables(word: str) -> int:
    plain = folded(word)
    if "h" in plain:
        plain = _WAW.sub("w", plain).replace("h", "")
    if "y" in plain:
        plain = _GLIDE_Y.sub("i", plain)
    return len(_NUCLEUS.findall(plain)) or 1
