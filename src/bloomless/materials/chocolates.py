"""What chocolates are made of, and how composition moves their melting and their working window.

Shares are of the whole mass unless the name says ``of_fat``. The usual compositions are illustrative recipes of the
four kinds [crystal sheet, thermal section]; a chocolate of the book overrides them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.sources.sourced import Grade, Sourced

__all__ = [
    "COLOUR_SHARE",
    "KINDS",
    "LABEL_ROUNDING",
    "MOST_COLOUR_SHARE",
    "USUAL",
    "WINDOWS",
    "Chocolate",
    "Kind",
    "WorkingWindow",
    "chocolate",
    "melting_shift_K",
    "working_window",
]

Kind: TypeAlias = Literal["dark", "milk", "white", "cocoa_butter"]
KINDS: Final[tuple[Kind, ...]] = ("dark", "milk", "white", "cocoa_butter")


@dataclass(frozen=True, slots=True)
class Chocolate:
    """One chocolate as shares of its mass.

    Parameters
    ----------
    kind
        ``dark``, ``milk``, ``white`` or ``cocoa_butter``.
    cocoa_butter_share, milk_fat_share, liquid_oil_share
        The three fats; together all fat.
    sugar_share, lactose_share
        Crystalline sucrose and lactose.
    protein_share, fibre_share, ash_share, moisture_share
        The rest: cocoa solids and milk solids without fat and lactose.

    Raises
    ------
    ImpossibleInput
        If a share is outside 0…1 or they do not add up to one within 2 %.
    """

    kind: Kind
    cocoa_butter_share: float
    milk_fat_share: float
    liquid_oil_share: float
    sugar_share: float
    lactose_share: float
    protein_share: float
    fibre_share: float
    ash_share: float
    moisture_share: float = 0.0

    def __post_init__(self) -> None:
        shares = {
            "cocoa_butter_share": self.cocoa_butter_share,
            "milk_fat_share": self.milk_fat_share,
            "liquid_oil_share": self.liquid_oil_share,
            "sugar_share": self.sugar_share,
            "lactose_share": self.lactose_share,
            "protein_share": self.protein_share,
            "fibre_share": self.fibre_share,
            "ash_share": self.ash_share,
            "moisture_share": self.moisture_share,
        }
        for name, share in shares.items():
            if not 0.0 <= share <= 1.0:
                raise ImpossibleInput(name, share, "a share from 0 to 1")
        total = math.fsum(shares.values())
        if abs(total - 1.0) > 0.02:
            raise ImpossibleInput("composition", round(total, 4), "shares that add up to 1")
        if self.fat_share < 0.15:
            raise ImpossibleInput("fat_share", round(self.fat_share, 4), "at least 0.15 fat, or it will not flow")

    @property
    def fat_share(self) -> float:
        """All fat, as a share of the mass."""
        return self.cocoa_butter_share + self.milk_fat_share + self.liquid_oil_share

    @property
    def cocoa_butter_of_fat(self) -> float:
        """Cocoa butter as a share of all fat."""
        return self.cocoa_butter_share / self.fat_share

    @property
    def milk_fat_of_fat(self) -> float:
        """Milk fat as a share of all fat."""
        return self.milk_fat_share / self.fat_share

    @property
    def liquid_oil_of_fat(self) -> float:
        """Liquid oil as a share of all fat."""
        return self.liquid_oil_share / self.fat_share


def _usual(kind: Kind, *shares: float) -> Chocolate:
    return Chocolate(kind, *shares)


USUAL: Final[dict[Kind, Chocolate]] = {
    # cocoa butter, milk fat, oil, sugar, lactose, protein, fibre, ash
    "dark": _usual("dark", 0.380, 0.000, 0.0, 0.450, 0.000, 0.065, 0.080, 0.025),
    "milk": _usual("milk", 0.295, 0.065, 0.0, 0.470, 0.080, 0.070, 0.010, 0.010),
    "white": _usual("white", 0.303, 0.067, 0.0, 0.460, 0.095, 0.060, 0.000, 0.015),
    "cocoa_butter": _usual("cocoa_butter", 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0),
}
"""Illustrative recipes: dark 38 / milk 36 / white 37 % fat [crystal sheet 5.2, derived]; milk fat 18 % of the fat."""

COLOUR_SHARE: Final = Sourced(
    0.06, "1", 0.02, "common_practice", Grade.TRADE_PRACTICE, note="fat-dispersed colour in cocoa butter, 4 to 10 %"
)
"""Colour does not dissolve: lakes and mineral pigments are fine solids in the butter, which melts as it would plain."""
MOST_COLOUR_SHARE: Final = 0.3
"""Beyond it a paste of colour, not something to temper [assumed; whites hold some 15 %]."""
LABEL_ROUNDING: Final = 0.02
"""Fat and its parts on a wrapper may differ by so much of the whole mass: four figures, rounded to a per cent each."""
MILK_FAT_K_PER_PCT: Final = Sourced(
    -0.15, "K/%", 0.06, "common_practice", Grade.ASSUMED, note="per % of milk fat in the fat; tables give 0.05–0.2"
)
LIQUID_OIL_K_PER_PCT: Final = Sourced(
    -0.2, "K/%", 0.08, "lovegren_1976", Grade.DERIVED, note="0.15–0.35 from blends with olive oil and a soft fraction"
)
REFERENCE_MILK_FAT_PCT: Final[dict[Kind, float]] = {"dark": 0.0, "milk": 18.0, "white": 18.0, "cocoa_butter": 0.0}
KIND_SHIFT_K: Final[dict[Kind, Sourced]] = {
    "dark": Sourced(0.0, "K", 0.5, "beckett_2009", Grade.DERIVED, note="the reference"),
    "milk": Sourced(
        -1.5, "K", 0.6, "mcgee_2004", Grade.DERIVED, note="from working windows; DSC peaks would say −3 [Hussain 2018]"
    ),
    "white": Sourced(
        -2.5, "K", 0.7, "mcgee_2004", Grade.DERIVED, note="from working windows; sources differ most here"
    ),
    "cocoa_butter": Sourced(0.0, "K", 0.5, "beckett_2009", Grade.DERIVED, note="as dark"),
}


def chocolate(
    kind: Kind,
    *,
    fat_share: float | None = None,
    cocoa_butter_share: float | None = None,
    milk_fat_share: float | None = None,
    liquid_oil_share: float | None = None,
) -> Chocolate:
    """A chocolate of a kind, with the shares that are known; the others as is usual.

    Parameters
    ----------
    kind
        One of ``KINDS``.
    fat_share
        All fat; what is not named otherwise is cocoa butter, or milk fat where the cocoa butter of a milk or white
        chocolate is named. Where all is named the parts count, and may differ from it by ``LABEL_ROUNDING``.
    cocoa_butter_share, milk_fat_share, liquid_oil_share
        Parts of the fat, as shares of the whole mass.

    Returns
    -------
    Chocolate
        The non-fat parts of the usual recipe, scaled to fill what the fats leave.

    Raises
    ------
    UnknownName
        If the kind is unknown.
    ImpossibleInput
        If the shares contradict each other.
    """
    if kind not in USUAL:
        raise UnknownName("chocolate", kind, USUAL)
    usual = USUAL[kind]
    fat = usual.fat_share if fat_share is None else fat_share
    oil = 0.0 if liquid_oil_share is None else liquid_oil_share
    if milk_fat_share is not None:
        milk = milk_fat_share
    elif usual.milk_fat_share > 0.0 and fat_share is not None and cocoa_butter_share is not None:
        milk = max(fat - cocoa_butter_share - oil, 0.0)  # what else is fat in milk and white chocolate
    else:
        milk = usual.milk_fat_of_fat * fat
    butter = fat - milk - oil if cocoa_butter_share is None else cocoa_butter_share
    if fat_share is not None and abs(butter + milk + oil - fat_share) > LABEL_ROUNDING:
        raise ImpossibleInput("fat_share", fat_share, f"the sum of the fats named, {butter + milk + oil:.3f}")
    usual_rest = 1.0 - usual.fat_share
    rest = 1.0 - butter - milk - oil
    rest = 0.0 if abs(rest) < 1e-9 else rest  # rounding is not a share
    if usual_rest < 1e-6:  # cocoa butter: what is not fat is colour, and counts as mineral
        return Chocolate(kind, butter, milk, oil, 0.0, 0.0, 0.0, 0.0, rest)
    k = rest / usual_rest
    return Chocolate(
        kind,
        butter,
        milk,
        oil,
        k * usual.sugar_share,
        k * usual.lactose_share,
        k * usual.protein_share,
        k * usual.fibre_share,
        k * usual.ash_share,
    )


def melting_shift_K(of: Chocolate) -> float:
    """Shift of every melting temperature against cocoa butter in dark chocolate [K].

    ``shift = kind + a·(milk fat − reference) + b·liquid oil`` with shares in % of the fat.

    Notes
    -----
    a = −0.15 K/% [prior], b = −0.2 K/% [derived, Lovegren 1976: between ideal dilution −0.06 and −0.35]. The shift of
    the kind is taken from working windows, because what counts is which crystals survive in the bowl.
    """
    milk = 100.0 * of.milk_fat_of_fat - REFERENCE_MILK_FAT_PCT[of.kind]
    return float(
        KIND_SHIFT_K[of.kind].value
        + MILK_FAT_K_PER_PCT.value * milk
        + LIQUID_OIL_K_PER_PCT.value * 100.0 * of.liquid_oil_of_fat
    )


@dataclass(frozen=True, slots=True)
class WorkingWindow:
    """Temperatures between which a bowl in temper may be used."""

    low: Sourced
    high: Sourced


def _window(low_C: float, high_C: float) -> WorkingWindow:
    note = "wider than the usual advice, because what counts is which crystals survive"
    return WorkingWindow(
        Sourced(low_C, "°C", 0.4, "mcgee_2004", Grade.ASSUMED, note=note),
        Sourced(high_C, "°C", 0.4, "mcgee_2004", Grade.ASSUMED, note=note),
    )


WINDOWS: Final[dict[Kind, WorkingWindow]] = {
    "dark": _window(29.3, 33.0),
    "milk": _window(27.8, 31.5),
    "white": _window(26.8, 30.5),
    "cocoa_butter": _window(29.5, 32.5),
}


def working_window(of: Chocolate) -> tuple[float, float]:
    """Lower and upper end of the working window [°C], moved by milk fat and liquid oil like the melting points."""
    window, by = WINDOWS[of.kind], melting_shift_K(of) - KIND_SHIFT_K[of.kind].value
    return window.low.value + by, window.high.value + by
