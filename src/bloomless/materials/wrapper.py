"""A bought chocolate from what its wrapper says: what it is made of, with a range for everything inferred.

Six components (cocoa butter, fat-free cocoa, sucrose, milk fat, fat-free milk, lecithin) add up to 100 g. What the
wrapper prints, and the usual ranges of such chocolate where it prints nothing, are weighed in a constrained least
squares; the range of a component is the least and the most it can have while every printed number stays within its
rounding and tolerance (a linear program each).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Final, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog, lsq_linear

from bloomless.errors import ImpossibleInput
from bloomless.materials.chocolates import Chocolate
from bloomless.materials.composition import PARTS, Composition, mix
from bloomless.materials.ingredients import AllergenNote, Ingredient, ingredient_library
from bloomless.sources import Grade, read_csv

__all__ = ["COMPONENTS", "Wrapper", "chocolate_for_the_bowl", "chocolate_from_wrapper"]

Kind: TypeAlias = Literal["dark", "milk", "white"]
Array = NDArray[np.float64]
COMPONENTS: Final = ("cocoa_butter", "fat_free_cocoa", "sucrose", "milk_fat", "fat_free_milk", "lecithin")
PRINTED: Final = {
    "fat_g": "fat_g",
    "saturated_fat_g": "saturated_fat_g",
    "sugars_g": "sugars_g",
    "protein_g": "protein_g",
    "fibre_g": "fibre_g",
    "carbohydrate_g": "carbohydrate_g",
}
TOLERANCE_SHARE: Final = 0.05
"""Printed averages are kept within about 5 % by makers [assumed]; laws allow up to 20 %."""
TOLERANCE_LEAST_g: Final = 0.6
COCOA_TOLERANCE_PCT: Final = 0.6
MOST_LECITHIN_g: Final = 0.8
SUM_WEIGHT: Final = 1e4
ORDER_NAMES: Final = {
    "sugar": {"sucrose": 1.0},
    "cocoa butter": {"cocoa_butter": 1.0, "fat_free_cocoa": -1.15},
    "cocoa mass": {"fat_free_cocoa": 2.15},
    "milk powder": {"fat_free_milk": 1.0, "milk_fat": 1.0},
}
"""How the lines of a chocolate's own list follow from the components, cocoa mass with 53.5 % fat [assumed]."""


@dataclass(frozen=True, slots=True)
class Wrapper:
    """What is printed on the wrapper; None where nothing is. Amounts in g per 100 g."""

    kind: Kind
    cocoa_pct: float | None = None
    fat_g: float | None = None
    saturated_fat_g: float | None = None
    carbohydrate_g: float | None = None
    """As printed in Europe, without fibre."""
    sugars_g: float | None = None
    fibre_g: float | None = None
    protein_g: float | None = None
    milk_solids_pct: float | None = None
    """All dry milk, fat included."""
    order: Sequence[str] = ()
    """Its list of ingredients from the first on, of: sugar, cocoa mass, cocoa butter, milk powder."""

    def __post_init__(self) -> None:
        if self.kind not in ("dark", "milk", "white"):
            raise ImpossibleInput("kind", self.kind, "dark, milk or white")
        for name in ("cocoa_pct", "milk_solids_pct", *PRINTED):
            value = getattr(self, name)
            if value is not None and not 0.0 <= value <= 100.0:
                raise ImpossibleInput(name, value, "a number from 0 to 100")
        for number, name in enumerate(self.order):
            if name not in ORDER_NAMES:
                raise ImpossibleInput(f"order[{number}]", name, f"one of {', '.join(ORDER_NAMES)}")
        if self.cocoa_pct is None and self.fat_g is None:
            raise ImpossibleInput("cocoa_pct", None, "the cocoa share, the fat, or both")


def chocolate_from_wrapper(wrapper: Wrapper, *, key: str, name: str) -> Ingredient:
    """The most likely composition behind a wrapper, and how far it may be off.

    Parameters
    ----------
    wrapper
        What is printed.
    key, name
        Of the ingredient that is made.

    Returns
    -------
    Ingredient
        With ``ranges`` for the parts that matter to melting and balance, and grade ``derived``.

    Raises
    ------
    ImpossibleInput
        If the printed numbers contradict each other beyond their tolerances, with the number that fits worst.
    """
    rows, values, tolerances, names = _printed_rows(wrapper)
    usual_rows, usual_low, usual_high = _usual_rows(wrapper)
    centre, width = 0.5 * (usual_low + usual_high), usual_high - usual_low
    best = _least_squares(rows, values, tolerances, (usual_rows, centre, width), _bounds(wrapper.kind))
    off = np.abs(rows @ best - values) / tolerances
    if off.size and off.max() > 3.0:
        worst = int(off.argmax())
        fits = float(rows[worst] @ best)
        raise ImpossibleInput(names[worst], float(values[worst]), f"about {fits:.1f}, to fit the other numbers printed")
    widened = tolerances * np.maximum(1.0, off + 1e-6)
    ranges = _ranges(wrapper, (rows, values, widened), (usual_rows, usual_low, usual_high), best)
    parts = _components()
    made = mix([(float(g), parts[component]) for g, component in zip(best, COMPONENTS, strict=True) if g > 1e-9])
    return Ingredient(
        key=key,
        name=name,
        group=f"chocolate_{wrapper.kind}",
        composition=made,
        allergens=() if wrapper.kind == "dark" else (AllergenNote("milk"),),
        density_kg_m3=ingredient_library()[_LIKE[wrapper.kind]].density_kg_m3,
        label_name=f"{wrapper.kind} chocolate",
        source="derived",
        item="from the wrapper",
        grade=Grade.DERIVED,
        note="Inferred from the wrapper, with a range; allergens, traces and lecithin stand on the pack itself.",
        ranges=ranges,
    )


_LIKE: Final[Mapping[str, str]] = {"dark": "dark_64", "milk": "milk_38", "white": "white_33"}


@cache
def _components() -> Mapping[str, Composition]:
    library = ingredient_library()
    return {
        "cocoa_butter": library["cocoa_butter"].composition,
        "fat_free_cocoa": _without_fat(library["cocoa_mass"].composition),
        "sucrose": library["sucrose"].composition,
        "milk_fat": library["amf"].composition,
        "fat_free_milk": _without_fat(library["smp"].composition),
        "lecithin": library["lecithin_sunflower"].composition,
    }


def _without_fat(c: Composition) -> Composition:
    left = 100.0 - c.fat_g
    fats = ("fat_g", "saturated_fat_g", "trans_fat_g", "cocoa_butter_g", "milk_fat_g", "liquid_oil_g", "other_fat_g")
    values = {name: 0.0 if name in fats else 100.0 * v / left for name, v in c.values().items()}
    return Composition(**values, unknown=c.unknown)


def _row(part: str) -> Array:
    return np.array([getattr(_components()[c], part) / 100.0 for c in COMPONENTS])


def _unit(*components: str) -> Array:
    return np.array([1.0 if c in components else 0.0 for c in COMPONENTS])


def _printed_rows(wrapper: Wrapper) -> tuple[Array, Array, Array, list[str]]:
    rows, values, tolerances, names = [], [], [], []

    def add(name: str, row: Array, value: float, tolerance: float) -> None:
        rows.append(row)
        values.append(value)
        tolerances.append(tolerance)
        names.append(name)

    if wrapper.cocoa_pct is not None:
        add("cocoa_pct", _unit("cocoa_butter", "fat_free_cocoa"), wrapper.cocoa_pct, COCOA_TOLERANCE_PCT)
    if wrapper.milk_solids_pct is not None:
        add("milk_solids_pct", _unit("milk_fat", "fat_free_milk"), wrapper.milk_solids_pct, 1.0)
    for name in PRINTED:
        value = getattr(wrapper, name)
        if value is None:
            continue
        row = _row(name) - (_row("fibre_g") if name == "carbohydrate_g" else 0.0)
        # Fibre methods differ by a third, and protein by its factor.
        share = {"fibre_g": 0.3, "protein_g": 0.1, "carbohydrate_g": 0.1}.get(name, TOLERANCE_SHARE)
        add(name, row, value, max(TOLERANCE_LEAST_g, share * value))
    return np.array(rows).reshape(-1, len(COMPONENTS)), np.array(values), np.array(tolerances), names


def _usual_rows(wrapper: Wrapper) -> tuple[Array, Array, Array]:
    """Usual ranges of such chocolate; what the wrapper prints itself needs none."""
    cocoa = (
        wrapper.cocoa_pct
        if wrapper.cocoa_pct is not None
        else {"dark": 60.0, "milk": 35.0, "white": 30.0}[wrapper.kind]
    )
    rows, low, high = [], [], []
    for entry in read_csv("bloomless.materials", "chocolate_ranges.csv"):
        fits = float(entry["cocoa_from_pct"]) <= cocoa < float(entry["cocoa_to_pct"]) or cocoa == 100.0
        if entry["kind"] != wrapper.kind or not fits or getattr(wrapper, entry["quantity"], None) is not None:
            continue
        rows.append(_row(entry["quantity"]))
        low.append(float(entry["low"]))
        high.append(float(entry["high"]))
    rows.append(_unit("lecithin"))
    low.append(0.2)
    high.append(MOST_LECITHIN_g)
    return np.array(rows), np.array(low), np.array(high)


def _bounds(kind: Kind) -> tuple[Array, Array]:
    high = np.full(len(COMPONENTS), 100.0)
    if kind == "white":
        high[COMPONENTS.index("fat_free_cocoa")] = 1e-9
    high[COMPONENTS.index("lecithin")] = MOST_LECITHIN_g
    return np.zeros(len(COMPONENTS)), high


def _least_squares(
    rows: Array, values: Array, tolerances: Array, usual: tuple[Array, Array, Array], bounds: tuple[Array, Array]
) -> Array:
    usual_rows, centre, width = usual
    spread = np.maximum(0.5, width)  # usual ranges only decide where nothing is printed
    whole = SUM_WEIGHT * np.ones(len(COMPONENTS))
    design = np.vstack([rows / (0.5 * tolerances[:, None]), usual_rows / spread[:, None], whole])
    wanted = np.concatenate([values / (0.5 * tolerances), centre / spread, [SUM_WEIGHT * 100.0]])
    return np.asarray(lsq_linear(design, wanted, bounds, tol=1e-12).x)


def _ranges(
    wrapper: Wrapper, printed: tuple[Array, Array, Array], usual: tuple[Array, Array, Array], best: Array
) -> dict[str, tuple[float, float]]:
    rows, values, tolerances = printed
    usual_rows, low, high = usual
    # The best point itself must stay inside, whatever the usual ranges say.
    at = usual_rows @ best
    low, high = np.minimum(low, at - 1e-6), np.maximum(high, at + 1e-6)
    order = _order_rows(wrapper)
    a = np.vstack([rows, -rows, usual_rows, -usual_rows, order])
    slack = np.maximum(0.0, order @ best) if len(order) else np.zeros(0)
    b = np.concatenate([values + tolerances, tolerances - values, high, -low, slack + 1e-6])
    limits = list(zip(np.zeros(len(COMPONENTS)), np.maximum(_bounds(wrapper.kind)[1], best + 1e-6), strict=True))
    found = {}
    for part in PARTS:
        row = _row(part)
        if not part.endswith("_g") or not row.any():
            continue
        ends = [
            linprog(sign * row, A_ub=a, b_ub=b, A_eq=np.ones((1, len(COMPONENTS))), b_eq=[100.0], bounds=limits).fun
            for sign in (1.0, -1.0)
        ]
        low_g, high_g = ends
        if low_g is not None and high_g is not None:
            found[part] = (float(low_g), float(-high_g))
    return found


def _order_rows(wrapper: Wrapper) -> Array:
    """Falling order of the list: each line weighs at least as much as the next."""
    vectors = [np.array([ORDER_NAMES[name].get(c, 0.0) for c in COMPONENTS]) for name in wrapper.order]
    rows = [later - earlier for earlier, later in pairwise(vectors)]
    return np.array(rows).reshape(-1, len(COMPONENTS))


def chocolate_for_the_bowl(ingredient: Ingredient) -> Chocolate:
    """The same chocolate as the bowl sees it: shares of what melts and what does not.

    Parameters
    ----------
    ingredient
        A chocolate, bought or blended; one without a chocolate group counts by its milk and cocoa.

    Raises
    ------
    ImpossibleInput
        If it has too little fat to flow.
    """
    c = ingredient.composition
    named: Mapping[str, Kind] = {"chocolate_dark": "dark", "chocolate_milk": "milk", "chocolate_white": "white"}
    by_milk: Kind = "dark" if c.milk_solids_nonfat_g < 1.0 else "milk" if c.fat_free_cocoa_solids_g > 1.0 else "white"
    sugar_g = c.sugars_g - c.lactose_g
    rest_g = c.carbohydrate_g - c.sugars_g
    total_g = c.fat_g + sugar_g + c.lactose_g + c.protein_g + rest_g + c.ash_g + c.water_g
    return Chocolate(
        kind=named.get(ingredient.group, by_milk),
        cocoa_butter_share=(c.cocoa_butter_g + c.other_fat_g) / total_g,
        milk_fat_share=c.milk_fat_g / total_g,
        liquid_oil_share=(c.fat_g - c.cocoa_butter_g - c.other_fat_g - c.milk_fat_g) / total_g,
        sugar_share=sugar_g / total_g,
        lactose_share=c.lactose_g / total_g,
        protein_share=c.protein_g / total_g,
        fibre_share=rest_g / total_g,
        ash_share=c.ash_g / total_g,
        moisture_share=c.water_g / total_g,
    )
