from aftercare.score.languages.letters import folded

_VOWELS = frozenset("аеёиоуыэюя")

def syllables(word: str) -> int:
    return sum(map(folded(word).count, "аеёиоуыэюя"))
