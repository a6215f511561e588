"""Lots: goods received, used, made, boxed and sold.

Belongs here: stock by lot, lot codes, the match of a label roll with a tray; later the whole ledger.
May import: ``recipes``, ``materials``, ``sources``, ``quantities``, ``errors``. Must never: judge law, read the clock.
"""

from bloomless.lots.codes import lot_code
from bloomless.lots.matching import Match, RollMark, TrayMark, match_roll, read_mark
from bloomless.lots.stock import Drawn, Lot, draw, left_g, oldest_first

__all__ = [
    "Drawn",
    "Lot",
    "Match",
    "RollMark",
    "TrayMark",
    "draw",
    "left_g",
    "lot_code",
    "match_roll",
    "oldest_first",
    "read_mark",
]
