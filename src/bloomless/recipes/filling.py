"""Filling plans: how much chocolate, filling and colour a set of moulds needs, in which order, and what comes back.

All cavities of a set are alike. Amounts carry the excess that stays on bowl, spatula and bag: it is not lost, but it is
not in the mould either.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from bloomless.errors import ImpossibleInput
from bloomless.materials.moulds import Hollow, Mould
from bloomless.recipes.colours import CHOCOLATE_MOST_C, ColourAmount, ColourLayer, colour_amount
from bloomless.recipes.findings import Finding
from bloomless.recipes.inclusions import InclusionPlan
from bloomless.sources import Grade, Sourced

__all__ = ["FILLING_WARN_C", "FillingPlan", "Kind", "Layering", "Part", "plan_filling"]

Kind: TypeAlias = Literal["solid", "shell", "layers", "hollow"]

EXCESS: Final = {
    "solid": Sourced(1.12, "1", 0.03, "common_practice", Grade.TRADE_PRACTICE, note="bars 1.10-1.15 of the net"),
    "shell": Sourced(1.20, "1", 0.05, "derived", Grade.DERIVED, note="over the full sheet that shells are poured from"),
    "filling": Sourced(1.06, "1", 0.03, "common_practice", Grade.TRADE_PRACTICE, note="bag and bowl"),
}
WASTE: Final = Sourced(0.035, "1", 0.015, "common_practice", Grade.TRADE_PRACTICE, note="true waste 2-5 %")
CAP_MM: Final = Sourced(1.5, "mm", 0.3, "couverture_maker_technique", Grade.PUBLISHED, note="left free for the cap")
FILLING_WARN_C: Final = Sourced(
    29.0, "°C", 1.0, "couverture_maker_technique", Grade.ASSUMED, note="≤ 28 read; others differ"
)
_FILLING_DENSITY: Final = {"ganache": 1200.0, "praline": 1200.0, "caramel": 1340.0, "jelly": 1290.0}


@dataclass(frozen=True, slots=True)
class Layering:
    """One layer of a layered bar, from the mould up."""

    name: str
    share: float
    """Of the depth."""


@dataclass(frozen=True, slots=True)
class Part:
    """Something to have ready."""

    name: str
    in_pieces_g: float
    take_g: float
    spread_g: float
    """One standard deviation of what ends up in the pieces, by the volume of the mould."""


@dataclass(frozen=True, slots=True)
class FillingPlan:
    """Amounts and order."""

    kind: Kind
    mould: str
    moulds: int
    pieces: int
    piece_g: float
    shell_g: float
    """Of one piece; 0 for solid ones."""
    cap_g: float
    filling_g: float
    filling_ml: float
    chocolate_share: float
    parts: tuple[Part, ...]
    """Chocolate, fillings, layers."""
    returns_g: float
    """Chocolate that comes back out of the moulds."""
    waste_g: float
    colours: tuple[ColourAmount, ...]
    inclusions: tuple[InclusionPlan, ...]
    steps: tuple[str, ...]
    findings: tuple[Finding, ...]


def plan_filling(
    mould: Mould,
    moulds: int,
    kind: Kind = "solid",
    *,
    density_kg_m3: float = 1250.0,
    wall_mm: float = 1.5,
    cap_mm: float = CAP_MM.value,
    filling: str = "ganache",
    filling_density_kg_m3: float | None = None,
    filling_C: float | None = None,
    layers: tuple[Layering, ...] = (),
    colours: tuple[ColourLayer, ...] = (),
    inclusions: tuple[InclusionPlan, ...] = (),
) -> FillingPlan:
    """Plan one set of equal moulds.

    Parameters
    ----------
    mould, moulds
        What is filled, and how many of it.
    kind
        ``solid``, ``shell`` (shell, filling, cap), ``layers`` (poured one on another) or ``hollow`` (a figure).
    density_kg_m3
        Of the chocolate as it is poured.
    wall_mm, cap_mm
        Of shells and figures.
    filling, filling_density_kg_m3, filling_C
        Kind of filling, its density if known, its temperature when it goes in.
    layers
        For ``layers``: from the mould up, shares of the depth adding up to 1.
    colours, inclusions
        Put in before, and with, the chocolate.
    """
    if moulds < 1:
        raise ImpossibleInput("moulds", moulds, "at least 1")
    if kind not in ("solid", "shell", "layers", "hollow"):
        raise ImpossibleInput("kind", kind, "solid, shell, layers or hollow")
    if kind == "hollow" and not isinstance(mould.cavity, Hollow):
        raise ImpossibleInput("kind", kind, "solid, shell or layers: this mould is no figure of two halves")
    dense = filling_density_kg_m3 or _FILLING_DENSITY.get(filling, 1200.0)
    pieces = mould.cavities * moulds
    full_g = mould.piece_g(density_kg_m3)
    shell_g = cap_g = filling_ml = 0.0
    if kind in ("shell", "hollow"):
        shell_g, cap_g, filling_ml = _shell(mould, kind, density_kg_m3, wall_mm, cap_mm)
    filling_g = 0.0 if kind == "hollow" else filling_ml * dense / 1000
    inside_g = sum(p.on_piece_g for p in inclusions if p.where == "inside")
    by_volume = sum(p.share_by_volume for p in inclusions if p.where == "inside")
    chocolate_g = shell_g + cap_g if kind in ("shell", "hollow") else full_g * (1 - min(by_volume, 0.9))
    added_g = inside_g + sum(p.on_piece_g for p in inclusions if p.where == "back")
    parts = _parts(kind, mould, pieces, full_g, chocolate_g, cap_g, filling, filling_g, layers)
    returns = max(parts[0].take_g - parts[0].in_pieces_g, 0.0) if kind in ("shell", "hollow") else 0.0
    piece_g = chocolate_g + filling_g + added_g
    return FillingPlan(
        kind, mould.name, moulds, pieces, piece_g, shell_g, cap_g, filling_g, filling_ml, chocolate_g / piece_g, parts,
        returns, WASTE.value * sum(p.in_pieces_g for p in parts),
        tuple(colour_amount(mould, moulds, layer) for layer in colours), inclusions,
        _steps(kind, wall_mm, cap_mm, bool(colours), inclusions, returns),
        _notice(mould, kind, wall_mm, cap_mm, filling_ml, filling, filling_C, inclusions),
    )  # fmt: skip


def _shell(mould: Mould, kind: Kind, density: float, wall_mm: float, cap_mm: float) -> tuple[float, float, float]:
    """Grams of shell and cap of one piece, and ml that stay for the filling."""
    if not 0.3 <= wall_mm < mould.cavity.depth_mm:
        raise ImpossibleInput("wall_mm", wall_mm, f"0.3 mm to below the depth, {mould.cavity.depth_mm:g} mm")
    if kind == "hollow":
        return mould.shell_g(density, wall_mm), 0.0, mould.cavity.hollow_ml(wall_mm, 0.0)
    if not 0.5 <= cap_mm < mould.cavity.depth_mm:
        raise ImpossibleInput("cap_mm", cap_mm, f"0.5 mm to below the depth, {mould.cavity.depth_mm:g} mm")
    room = mould.cavity.hollow_ml(wall_mm, cap_mm)
    shell_g = (mould.cavity.volume_ml - mould.cavity.hollow_ml(wall_mm, 0.0)) * density / 1000
    return shell_g, mould.shell_g(density, wall_mm, cap_mm) - shell_g, room


def _parts(
    kind: Kind, mould: Mould, pieces: int, full_g: float, chocolate_g: float, cap_g: float, filling: str,
    filling_g: float, layers: tuple[Layering, ...],
) -> tuple[Part, ...]:  # fmt: skip
    spread = mould.volume_spread_share

    def part(name: str, each_g: float, take_g: float) -> Part:
        return Part(name, each_g * pieces, take_g, spread * each_g * pieces)

    if kind == "layers":
        if abs(sum(layer.share for layer in layers) - 1) > 0.01 or any(layer.share <= 0 for layer in layers):
            raise ImpossibleInput("layers", [layer.share for layer in layers], "shares above 0 that add up to 1")
        made = [(layer.name, layer.share * chocolate_g) for layer in layers]
        return tuple(part(name, each, each * pieces * EXCESS["solid"].value) for name, each in made)
    if kind == "solid":
        return (part("chocolate", chocolate_g, chocolate_g * pieces * EXCESS["solid"].value),)
    if kind == "hollow":
        # A figure is filled by a measured amount and turned, or filled whole and poured out; the latter asks for more.
        return (part("chocolate", chocolate_g, full_g * pieces * EXCESS["shell"].value),)
    shells_g = (chocolate_g - cap_g) * pieces
    take = full_g * pieces * EXCESS["shell"].value
    return (
        Part("chocolate for shells", shells_g, take, spread * shells_g * 1.5),
        part("chocolate for caps", cap_g, cap_g * pieces * 1.5),
        part(filling, filling_g, filling_g * pieces * EXCESS["filling"].value),
    )


def _steps(
    kind: Kind, wall_mm: float, cap_mm: float, coloured: bool, inclusions: tuple[InclusionPlan, ...], returns_g: float
) -> tuple[str, ...]:
    steps = ["Moulds clean, dry, polished, at 20-24 °C and never warmer than the chocolate."]
    if coloured:
        steps.append(
            f"Colours tempered, 30-31 °C, thin layers; wait until they are matt, 5-15 min at 18-20 °C. The "
            "chocolate on "
            f"them at most {CHOCOLATE_MOST_C.value:g} °C, the same day."
        )
    if any(p.where == "inside" for p in inclusions):
        steps.append("Pieces dry and at 24-28 °C, stirred in last; take the temperature of the bowl again.")
    if kind in ("shell", "hollow"):
        steps.append(f"Fill whole, tap 10-20 s, turn out for a wall of {wall_mm:g} mm, scrape the rims while soft.")
        steps.append(
            f"About {returns_g:.0f} g come back: keep them at working temperature for the next mould or the caps, "
            "or melt "
            "them again; they count as crystals in the bowl."
        )
    else:
        steps.append("Fill level, tap 10-20 s until no bubbles rise, scrape.")
    if kind == "layers":
        steps.append("Each layer when the one below is matt but not cold: it must not run in, and must still bind.")
    if kind == "shell":
        steps.append(f"Filling at most 28 °C, {cap_mm:g} mm below the rim; let it set, often overnight at 16-18 °C.")
        steps.append("Warm the rims a breath, cap, scrape once.")
    if any(p.where == "back" for p in inclusions):
        steps.append("Pieces on the back at once, pressed in a little, before the surface turns matt.")
    steps.append(
        "What is left in the bowl: plain, back to the bowl for the next batch; with nuts, milk or colour on it,"
    )
    steps[-1] += " only into a product that declares them; allergens travel with it."
    return tuple(steps)


def _notice(
    mould: Mould, kind: Kind, wall_mm: float, cap_mm: float, filling_ml: float, filling: str, filling_C: float | None,
    inclusions: tuple[InclusionPlan, ...],
) -> tuple[Finding, ...]:  # fmt: skip
    found = [finding for plan in inclusions for finding in plan.findings]
    if kind == "shell" and filling_ml <= 0:
        found.append(
            Finding(
                "no_room", "stop", f"A wall of {wall_mm:g} mm and a cap of {cap_mm:g} mm leave no room for a filling."
            )
        )
    if kind == "shell" and cap_mm < CAP_MM.value:
        found.append(
            Finding(
                "thin_cap",
                "care",
                f"A cap of {cap_mm:g} mm leaks easily; 1.5 mm are usual.",
                cap_mm,
                CAP_MM.value,
                "couverture_maker_technique",
            )
        )
    if filling_C is not None and filling_C > FILLING_WARN_C.value:
        found.append(
            Finding(
                "filling_warm",
                "care",
                f"Filling at {filling_C:g} °C melts the shell from inside and lifts colour: below 28 °C is common "
                "advice.",
                filling_C,
                FILLING_WARN_C.value,
                "couverture_maker_technique",
            )
        )
    if kind == "shell" and filling in ("ganache", "caramel", "jelly"):
        found.append(
            Finding(
                "moist_filling",
                "care",
                "A filling with water keeps only as long as its water activity allows: a prediction is no release, a "
                "laboratory value and the local code decide.",
            )
        )
    if mould.scratched:
        found.append(
            Finding(
                "scratched", "care", "Scratched cavities hold on, dull the face and keep rests of what was in them."
            )
        )
    return tuple(found)
