import re
from aftercare.score.languages.letters import folded

_V = "aeiouyäöüéèêáàâíóôúûœæëï"
_NUCLEUS = re.compile(rf"aa|ai|au|ay|äu(?!m\b)|ee|ei|eu(?!m\b|ms\b)|ey|ie(?![{_V}])|oo|ou|oi|[{_V}]")

def syllables(word: str) -> int:
    w = folded(word).replace("qu","q")
    return len(_NUCLEUS.findall(w)) or 1
