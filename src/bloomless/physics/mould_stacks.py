"""What lies in a cavity when it cools, layer by layer: capped pieces, layered bars, pieces with nuts on their back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from bloomless.errors import ImpossibleInput
from bloomless.materials.moulds import Hollow, Mould
from bloomless.physics.mould_cooling import Inert, Layer, Stack, filled
from bloomless.physics.mould_melt import Melt
from bloomless.sources import Grade, Sourced

__all__ = ["FILLINGS", "SHELL_DONE", "Core", "capped", "layered", "set_before", "with_back"]

SHELL_DONE = Sourced(0.95, "1", 0.03, "assumed", Grade.ASSUMED, note="of what can be solid, in a shell that has rested")


def _moist(volumetric: float, conductivity: float) -> Inert:
    return Inert(conductivity, volumetric)


FILLINGS = {
    "ganache": _moist(1200.0 * 2500.0, 0.33),
    "caramel": _moist(1340.0 * 2300.0, 0.30),
    "jelly": _moist(1290.0 * 2700.0, 0.38),
    "praline": _moist(1200.0 * 1900.0, 0.22),
}
"""Conductivity and heat of a cubic metre by composition (a third to a fifth of water; nut paste) [from memory, ±15 %].

Fat that sets within a filling is left out: some 10-20 kJ/kg in a nut paste, a tenth of the load of a bonbon.
"""


@dataclass(frozen=True, slots=True)
class Core:
    """Inside of a capped piece."""

    shell_mm: float
    cap_mm: float
    matter: Inert
    temperature_C: float


def set_before(melt: Melt, temperature_C: float) -> tuple[float, float, float]:
    """V, IV and II of chocolate that set well some time ago and stands at this temperature."""
    return SHELL_DONE.value * float(melt.solid_share(temperature_C)), 0.0, 0.0


def capped(mould: Mould, melt: Melt, core: Core, *, mould_C: float, cells: int = 60) -> Stack:
    """Shell that has set, filling, and a cap just poured.

    Parameters
    ----------
    mould, melt
        What is capped with what; the shell is of the same chocolate.
    core
        Thicknesses and the filling.
    mould_C
        Of the mould and the shell when the cap is poured.
    cells
        Over the whole depth.

    Raises
    ------
    ImpossibleInput
        If no room stays for a filling, or the mould is at or above the temperature of the chocolate.
    """
    cavity = mould.cavity
    if isinstance(cavity, Hollow):
        raise ImpossibleInput("mould", mould.name, "a mould with one open side: figures of two halves have no cap")
    plain = filled(mould, melt, mould_C=mould_C, cells=cells)
    poured, wall = plain.layers
    for name, value in (("shell_mm", core.shell_mm), ("cap_mm", core.cap_mm)):
        if not 0.3 <= value < cavity.depth_mm:
            raise ImpossibleInput(name, value, f"0.3 mm to below the depth, {cavity.depth_mm:g} mm")
    room = poured.thickness_mm - core.cap_mm - core.shell_mm
    if room < 0.5:
        raise ImpossibleInput("cap_mm", core.cap_mm, "a cap and a wall that leave room for a filling")
    most = max(6, cells // 5)
    layers = (
        replace(poured, thickness_mm=core.cap_mm, cells=most),
        Layer(core.matter, room, core.temperature_C, max(6, cells - 2 * most)),
        replace(poured, thickness_mm=core.shell_mm, cells=most, temperature_C=mould_C, solid=set_before(melt, mould_C)),
        wall,
    )
    return replace(plain, layers=layers)


def layered(mould: Mould, layers: Sequence[tuple[Melt, float]], *, mould_C: float, cells: int = 60) -> Stack:
    """Bar of several chocolates, poured one on another: the last is poured, those below have set at the mould's side.

    Parameters
    ----------
    mould
        What is filled.
    layers
        Chocolate and share of the depth, from the mould up; shares add up to 1.
    mould_C
        Of the mould and of the layers below the last, which stood in it.
    cells
        Over the whole depth.
    """
    if not layers or abs(sum(share for _, share in layers) - 1) > 0.01 or min(share for _, share in layers) <= 0:
        raise ImpossibleInput("layers", [share for _, share in layers], "shares above 0 that add up to 1")
    last, _ = layers[-1]
    plain = filled(mould, last, mould_C=mould_C, cells=cells)
    poured, wall = plain.layers
    made = []
    for i, (melt, share) in enumerate(reversed(layers)):
        layer = replace(
            poured, matter=melt, thickness_mm=share * poured.thickness_mm, cells=max(6, round(share * cells))
        )
        if i > 0:
            layer = replace(layer, temperature_C=mould_C, solid=set_before(melt, mould_C))
        made.append(layer)
    return replace(plain, layers=(*made, wall))


def with_back(stack: Stack, matter: Inert, thickness_mm: float, temperature_C: float) -> Stack:
    """Pieces pressed into the open side: a loose layer over it that takes and keeps heat."""
    if not thickness_mm > 0:
        raise ImpossibleInput("thickness_mm", thickness_mm, "above 0")
    return replace(stack, layers=(Layer(matter, thickness_mm, temperature_C, 8), *stack.layers))
