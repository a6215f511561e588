"""Coloured cocoa butter in moulds: grams a layer, its own temper and window, when the chocolate may come."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from bloomless.errors import ImpossibleInput
from bloomless.materials.moulds import Mould
from bloomless.recipes.findings import Finding
from bloomless.sources import Grade, Sourced

__all__ = ["COLOUR_WINDOW_C", "ColourAmount", "ColourLayer", "Way", "colour_amount", "colour_state"]

Way: TypeAlias = Literal["splatter", "brush", "smear", "spray"]

COLOUR_WINDOW_C: Final = {
    "low": Sourced(29.5, "°C", 0.5, "notter_2011", Grade.ASSUMED, note="splash 30.0, smear 31.1 read; window assumed"),
    "high": Sourced(32.5, "°C", 0.5, "trade_association_tip_2019", Grade.ASSUMED, note="hold at 32.2 read"),
    "thick": Sourced(28.5, "°C", 0.5, "assumed", Grade.ASSUMED, note="below it drags and clogs"),
    "lost": Sourced(33.5, "°C", 0.4, "trade_association_tip_2019", Grade.ASSUMED, note="seeds lost; warm to 33.3 read"),
}
SETTING_MIN: Final = Sourced(10.0, "min", 4.0, "common_practice", Grade.TRADE_PRACTICE, note="5-15 min at 18-20 °C")
CHOCOLATE_MOST_C: Final = Sourced(
    32.0, "°C", 0.5, "common_practice", Grade.TRADE_PRACTICE, note="hotter streaks the colour"
)
_DENSITY = 930.0
# Layer in µm with its range, share of the cavity covered, loss beside the mould [assumed].
_WAYS: Final[dict[str, tuple[float, float, float, float, float]]] = {
    "spray": (30.0, 20.0, 50.0, 1.0, 0.50),
    "smear": (100.0, 50.0, 200.0, 1.0, 0.10),
    "brush": (80.0, 50.0, 200.0, 0.7, 0.10),
    "splatter": (40.0, 20.0, 80.0, 0.25, 0.30),
}
_WORK_C: Final = {"spray": 30.0, "splatter": 30.0, "brush": 31.0, "smear": 31.1}


@dataclass(frozen=True, slots=True)
class ColourLayer:
    """One layer, in the order it is put on."""

    name: str
    way: Way = "spray"
    covered_share: float | None = None
    """Share of the cavity it covers; by the way it is put on unless given."""

    def __post_init__(self) -> None:
        if self.way not in _WAYS:
            raise ImpossibleInput("way", self.way, ", ".join(_WAYS))
        if self.covered_share is not None and not 0 < self.covered_share <= 1:
            raise ImpossibleInput("covered_share", self.covered_share, "above 0 and at most 1")


@dataclass(frozen=True, slots=True)
class ColourAmount:
    """Amount and handling of one layer for all moulds."""

    name: str
    way: str
    on_piece_g: float
    take_g: float
    """With what misses the mould or stays in the brush."""
    take_range_g: tuple[float, float]
    work_C: float
    wait_min: float
    """Until it is touch-dry and the next layer or the chocolate may come."""


def colour_amount(mould: Mould, moulds: int, layer: ColourLayer) -> ColourAmount:
    """Grams of a layer: area × thickness × 930 kg/m³, and what goes astray.

    A hemisphere of 15 mm radius sprayed 30 µm thick takes 0.039 g; 24 of them 0.95 g, 1.9 g with overspray.
    """
    if moulds < 1:
        raise ImpossibleInput("moulds", moulds, "at least 1")
    usual, low, high, covers, astray = _WAYS[layer.way]
    share = covers if layer.covered_share is None else layer.covered_share
    area_m2 = mould.cavity.wall_cm2 / 1e4 * share

    def taken(micrometre: float) -> float:
        return area_m2 * micrometre * 1e-6 * _DENSITY * 1000 * mould.cavities * moulds / (1 - astray)

    piece = area_m2 * usual * 1e-6 * _DENSITY * 1000
    return ColourAmount(
        layer.name, layer.way, piece, taken(usual), (taken(low), taken(high)), _WORK_C[layer.way], SETTING_MIN.value
    )


def colour_state(name: str, temperature_C: float, *, thick: bool = False) -> Finding:
    """What to make of a colour at a temperature, and what to do with it.

    Parameters
    ----------
    name
        Of the colour.
    temperature_C
        Of the coloured cocoa butter now.
    thick
        True if it drags.
    """
    if not -10 <= temperature_C <= 90:
        raise ImpossibleInput("colour temperature_C", temperature_C, "-10 to 90 °C")
    window = {key: value.value for key, value in COLOUR_WINDOW_C.items()}
    if temperature_C > window["lost"]:
        return Finding(
            "colour_temper_lost", "stop",
            f"“{name}” at {temperature_C:.1f} °C has lost its temper (about {window['lost']:g} °C is the end): cool "
            "it to "
            "31-32 °C and stir in 1 % of cocoa butter crystals or a layer of it that has set, then work at 30-31 °C.",
            temperature_C, window["lost"], "trade_association_tip_2019",
        )  # fmt: skip
    if temperature_C < window["thick"] or (thick and temperature_C < window["low"]):
        return Finding(
            "colour_too_set", "stop",
            f"“{name}” at {temperature_C:.1f} °C is too far set: it drags, goes on thick and comes off in flakes. "
            "Warm it "
            "gently to 30-31 °C and stir; not above 32.5 °C.",
            temperature_C, window["thick"], "notter_2011",
        )  # fmt: skip
    if temperature_C < window["low"] or temperature_C > window["high"]:
        way = "Warm" if temperature_C < window["low"] else "Cool"
        return Finding(
            "colour_off_window", "care",
            f"“{name}” at {temperature_C:.1f} °C: {way.lower()} it to 30-31 °C before use.",
            temperature_C, window["low"] if way == "Warm" else window["high"], "notter_2011",
        )  # fmt: skip
    return Finding(
        "colour_ready", "note", f"“{name}” at {temperature_C:.1f} °C is ready; keep it at 30-31 °C.", temperature_C
    )
