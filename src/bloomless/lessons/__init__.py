"""Lessons: practice bowls with hidden truth, what they score, and what their crystals did.

Belongs here: opening a practice bowl, what a player may do in it, the score, the story told afterwards.
May import: ``kitchens``, ``advice``, ``estimation`` and everything inside them. Must never: read a clock or a key: time
passes when the caller says so.
"""

from bloomless.lessons.debrief import Moment, debrief
from bloomless.lessons.practice import LEVELS, PLAYS, Glimpse, PracticeBowl, Seen, open_bowl
from bloomless.lessons.score import Score, score

__all__ = [
    "LEVELS",
    "PLAYS",
    "Glimpse",
    "Moment",
    "PracticeBowl",
    "Score",
    "Seen",
    "debrief",
    "open_bowl",
    "score",
]
