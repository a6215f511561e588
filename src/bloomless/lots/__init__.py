"""Lots: goods received, used, made, boxed and sold.

Belongs here: lot codes, the match of a label roll with a tray, the record of a confirmation; later the whole ledger.
May import: ``recipes``, ``materials``, ``sources``, ``quantities``, ``errors``. Must never: judge law, read the clock.
"""

from bloomless.lots.codes import lot_code, read_lot_code
from bloomless.lots.matching import Match, RollMark, TrayMark, match_roll, read_mark

__all__ = ["Match", "RollMark", "TrayMark", "lot_code", "match_roll", "read_lot_code", "read_mark"]
