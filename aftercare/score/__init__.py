"""SCORE: what words cost the reader."""

from aftercare.score.lines import count_lines, score_lines

__all__ = ["count_lines", "score_lines"]
