"""EDGES: the only rooms that touch the world: files, fonts, the typesetter, the clock."""
