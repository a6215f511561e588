"""What lies in the cavities of a casting: read from a plain document, and made into layers for the cooling model."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final, Literal, TypeAlias, get_args

from bloomless.bench.mould_numbers import number
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.materials.chocolates import KINDS, Chocolate, chocolate
from bloomless.materials.moulds import Mould
from bloomless.physics.mould_cooling import Inert, Stack, filled
from bloomless.physics.mould_melt import Melt, melt_of
from bloomless.physics.mould_stacks import FILLINGS, Core, layered, with_back
from bloomless.recipes.inclusions import LOOSE, inclusion_named, mixed_C

__all__ = ["FORMS", "Form", "Inside", "Piece", "core_of", "piece_from", "poured", "stack_of"]

Form: TypeAlias = Literal["solid", "shell", "capped", "layers"]
_STIFF_C: Final = 24.0  # below it nothing can be poured, whatever the kind [assumed]
FORMS: Final[tuple[Form, ...]] = get_args(Form)


@dataclass(frozen=True, slots=True)
class Inside:
    """Pieces in or on the chocolate."""

    name: str
    share_by_mass: float
    where: Literal["inside", "back"]
    temperature_C: float


@dataclass(frozen=True, slots=True)
class Piece:
    """How a cavity is filled."""

    form: Form = "solid"
    shell_mm: float | None = None
    cap_mm: float = 1.5
    filling: str = "ganache"
    filling_C: float = 24.0
    inclusions: tuple[Inside, ...] = ()
    layers: tuple[tuple[Chocolate, float], ...] = ()
    """Chocolate and share of the depth, from the mould up."""


def piece_from(document: Mapping[str, Any], poured_of: Chocolate) -> tuple[Piece, list[str]]:
    """Piece of a plain document, and what was assumed.

    Parameters
    ----------
    document
        ``form`` (``solid``, ``shell`` turned out and empty, ``capped`` with a filling, ``layers``), ``shell_mm``,
        ``cap_mm``, ``filling``, ``filling_C``, ``inclusions`` (``name``, ``share_by_mass``, ``where``,
        ``temperature_C``), ``layers`` (``chocolate``, ``share``, from the mould up).
    poured_of
        The chocolate of the bowl, which is the layers' unless they say another.
    """
    wall = number(document, "shell_mm", 0.3, 20, "mm")
    form = document.get("form", "solid" if wall is None else "shell")
    if form not in FORMS:
        raise UnknownName("form", form, FORMS)
    assumed: list[str] = []
    if form in ("shell", "capped") and wall is None:
        wall = 1.5
        assumed.append("Wall of the shell not said: 1.5 mm taken; half a millimetre is a tenth of the weight.")
    filling = document.get("filling", "ganache")
    if filling not in FILLINGS:
        raise UnknownName("filling", filling, FILLINGS)
    filling_C = number(document, "filling_C", -5, 60, "°C")
    if form == "capped" and filling_C is None:
        assumed.append("Temperature of the filling not said: 22 °C taken; each kelvin more is a minute later at most.")
    cap = number(document, "cap_mm", 0.3, 20, "mm", 1.5)
    return Piece(
        form, wall if form in ("shell", "capped") else None, 1.5 if cap is None else cap, filling,
        22.0 if filling_C is None else filling_C, tuple(_inside(said) for said in document.get("inclusions", ())),
        tuple(_layer(said, poured_of) for said in document.get("layers", ())) if form == "layers" else (),
    ), assumed  # fmt: skip


def _inside(said: Mapping[str, Any]) -> Inside:
    share = number(said, "share_by_mass", 0.001, 0.6)
    where = said.get("where", "inside")
    if share is None or where not in ("inside", "back"):
        raise ImpossibleInput("inclusions", dict(said), "a share_by_mass, and where: inside or back")
    at = number(said, "temperature_C", -20, 60, "°C", 22.0)
    return Inside(inclusion_named(str(said.get("name", ""))).name, share, where, 22.0 if at is None else at)


def _layer(said: Mapping[str, Any], poured_of: Chocolate) -> tuple[Chocolate, float]:
    share = number(said, "share", 0.02, 1)
    if share is None:
        raise ImpossibleInput("layers", dict(said), "a share of the depth for each layer")
    kind = said.get("chocolate", poured_of.kind)
    if kind not in KINDS:
        raise UnknownName("chocolate", kind, KINDS)
    return poured_of if kind == poured_of.kind else chocolate(kind), share


def poured(melt: Melt, piece: Piece) -> Melt:
    """The chocolate as it meets the mould: pieces stirred into it have cooled it."""
    at = melt.temperature_C
    for inside in piece.inclusions:
        if inside.where == "inside":
            heat = inclusion_named(inside.name).heat_J_kgK
            at = mixed_C(at, inside.temperature_C, inside.share_by_mass, heat)
    if at < _STIFF_C:
        raise ImpossibleInput(
            "inclusion_C", round(at, 1), f"pieces that leave the bowl at {_STIFF_C:g} °C or more: warm them"
        )
    return melt if at == melt.temperature_C else replace(melt, temperature_C=at)


def core_of(piece: Piece) -> Core | None:
    """Filling of a capped piece."""
    if piece.form != "capped":
        return None
    assert piece.shell_mm is not None
    return Core(piece.shell_mm, piece.cap_mm, FILLINGS[piece.filling], piece.filling_C)


def stack_of(mould: Mould, melt: Melt, piece: Piece, mould_C: float) -> Stack | None:
    """Layers that are neither plain nor capped; ``None`` for those.

    Parameters
    ----------
    mould, melt, mould_C
        What is filled with what, see ``poured``, and its temperature.
    piece
        How.
    """
    if piece.form == "layers":
        made = [
            (melt if of.kind == melt.kind else melt_of(of, melt.temperature_C), share) for of, share in piece.layers
        ]
        stack = layered(mould, made, mould_C=mould_C)
    elif piece.inclusions and piece.form == "solid":
        stack = filled(mould, melt, mould_C=mould_C, inclusion=_mixed(melt, piece), cells=36)
    else:
        return None
    for inside in piece.inclusions:
        if inside.where == "back":
            stack = _backed(stack, mould, melt, inside)
    return stack


def _mixed(melt: Melt, piece: Piece) -> tuple[Inert, float] | None:
    """All pieces inside as one matter, and their share of the volume."""
    volume = conductivity = heat = 0.0
    left = 1.0 - sum(inside.share_by_mass for inside in piece.inclusions if inside.where == "inside")
    for inside in piece.inclusions:
        if inside.where == "inside":
            of = inclusion_named(inside.name)
            each = inside.share_by_mass / of.density_kg_m3
            volume += each
            conductivity += each * of.conductivity_W_mK
            heat += each * of.density_kg_m3 * of.heat_J_kgK
    if volume == 0.0:
        return None
    if left <= 0.2:
        raise ImpossibleInput("inclusions", 1.0 - left, "at most 80 % of the mass in all")
    return Inert(conductivity / volume, heat / volume), volume / (volume + left / melt.density_kg_m3)


def _backed(stack: Stack, mould: Mould, melt: Melt, inside: Inside) -> Stack:
    of = inclusion_named(inside.name)
    share = inside.share_by_mass
    grams = mould.piece_g(melt.density_kg_m3) * share / (1 - share)
    thickness = min(10 * grams / (of.density_kg_m3 / 1000 * LOOSE.value * mould.cavity.opening_cm2), of.piece_mm)
    loose = Inert(LOOSE.value * of.conductivity_W_mK, LOOSE.value * of.density_kg_m3 * of.heat_J_kgK)
    return with_back(stack, loose, max(thickness, 0.2), inside.temperature_C)
