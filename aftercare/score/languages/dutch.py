import re
from aftercare.score.languages.letters import folded

_V = "aeiouyäëïöüéèêáàâíóôúû"
_NUCLEUS = re.compile(rf"[aeo]{{1,2}}u|aai|ooi|oei|[a]a|ee|oo|uu|ie|oe|ui|ei|ij|ou|au|ai|[{_V}]")

def syllables(word: str) -> int:
    w = folded(word).replace("qu","q")
    return len(_NUCLEUS.findall(w)) or 1
