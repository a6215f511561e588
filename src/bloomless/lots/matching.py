"""The wrapper on the right piece: a label roll and a tray say whose they are, and a mismatch stops without override."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bloomless.errors import ImpossibleInput

__all__ = ["Match", "RollMark", "TrayMark", "WrapperMark", "match_roll", "match_wrapper", "read_mark"]

_SEPARATOR: Final = "|"


def _field(name: str, value: str) -> str:
    if not value or _SEPARATOR in value or value != value.strip():
        raise ImpossibleInput(name, value, "text without | and without blanks at its ends")
    return value


@dataclass(frozen=True, slots=True)
class TrayMark:
    """What the code on a tray says: product and lot."""

    product: str
    lot: str

    def __post_init__(self) -> None:
        _field("product", self.product)
        _field("lot", self.lot)

    @property
    def text(self) -> str:
        """The words of the code."""
        return _SEPARATOR.join(("T", self.product, self.lot))


@dataclass(frozen=True, slots=True)
class RollMark:
    """What the code on a label roll or sheet says: product, lot, market and version of the label it carries."""

    product: str
    lot: str
    market: str
    version: int

    def __post_init__(self) -> None:
        for name in ("product", "lot", "market"):
            _field(name, getattr(self, name))

    @property
    def text(self) -> str:
        """The words of the code."""
        return _SEPARATOR.join(("R", self.product, self.lot, self.market, str(self.version)))


@dataclass(frozen=True, slots=True)
class WrapperMark:
    """What the trade's code on a wrapper says: the product of the book with that number, and a lot if it has one."""

    text: str
    product: str
    """Empty if no product of the book has the number."""
    lot: str = ""


@dataclass(frozen=True, slots=True)
class Match:
    """Whether a roll may be used on a tray. There is no way to overrule a no: make the right label."""

    ok: bool
    reason: str
    tray: TrayMark
    roll: RollMark | WrapperMark


def read_mark(text: str) -> TrayMark | RollMark:
    """Read a scanned code; raises ``ImpossibleInput`` for anything that is neither tray nor roll."""
    parts = text.strip().split(_SEPARATOR)
    if parts[0] == "T" and len(parts) == 3:
        return TrayMark(parts[1], parts[2])
    if parts[0] == "R" and len(parts) == 5 and parts[4].isascii() and parts[4].isdigit():
        return RollMark(parts[1], parts[2], parts[3], int(parts[4]))
    raise ImpossibleInput(
        "code", text, "the code of a tray (T|product|lot) or of a label roll (R|product|lot|market|version)"
    )


def match_roll(tray: TrayMark, roll: RollMark, *, latest_version: int) -> Match:
    """Match a label roll with a tray.

    Parameters
    ----------
    tray, roll
        What was scanned.
    latest_version
        Newest released version of this label for the roll's market and lot; an older roll is as wrong as a foreign one.

    Returns
    -------
    Match
        ``ok`` only if product, lot and version all agree.
    """
    if roll.product != tray.product:
        reason = f"STOP. The roll is for {roll.product}, the tray holds {tray.product}. Make the right label."
    elif roll.lot != tray.lot:
        reason = f"STOP. The roll is for lot {roll.lot}, the tray is lot {tray.lot}. Make the right label."
    elif roll.version != latest_version:
        newest = f"version {latest_version} is released" if latest_version else "none was released for this lot"
        reason = f"STOP. The roll carries version {roll.version} of the label, {newest}. Make the right label."
    else:
        return Match(True, f"{tray.product}, lot {tray.lot}: label and tray agree.", tray, roll)
    return Match(False, reason, tray, roll)


def match_wrapper(tray: TrayMark, wrapper: WrapperMark) -> Match:
    """Match a printed wrapper, by its GTIN and lot, with a tray; a code without a lot answers for the product only."""
    if wrapper.product != tray.product:
        whose = f"is for {wrapper.product}" if wrapper.product else "is of no product in the book"
        reason = f"STOP. The wrapper {whose}, the tray holds {tray.product}. Take the right wrapper."
    elif wrapper.lot and wrapper.lot != tray.lot:
        reason = f"STOP. The wrapper is for lot {wrapper.lot}, the tray is lot {tray.lot}. Take the right wrapper."
    elif wrapper.lot:
        return Match(True, f"{tray.product}, lot {tray.lot}: wrapper and tray agree.", tray, wrapper)
    else:
        reason = f"{tray.product}: wrapper and tray agree. The wrapper names no lot: print {tray.lot} on it."
        return Match(True, reason, tray, wrapper)
    return Match(False, reason, tray, wrapper)
