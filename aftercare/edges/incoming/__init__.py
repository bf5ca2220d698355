"""Lists that somebody hands over: their bytes to rows of cells."""
