from aftercare.score.languages.letters import folded
def syllables(word: str) -> int:
    return sum(map(folded(word).count, "aeıioöuüâîû"))
