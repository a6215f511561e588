"""What moulds are made of: heat, expansion, and how well a surface lets chocolate go."""

from __future__ import annotations

from dataclasses import dataclass

from bloomless.sources import Grade, Sourced

__all__ = ["WALLS", "Wall"]


@dataclass(frozen=True, slots=True)
class Wall:
    """A material of moulds."""

    name: str
    conductivity_W_mK: Sourced
    density_kg_m3: Sourced
    heat_J_kgK: Sourced
    expansion_per_K: Sourced
    """Linear."""
    sticking: Sourced
    """Gap needed for release over the gap that polished polycarbonate needs."""
    bends: bool
    """True if pieces can be pushed or peeled out, so that they need not let go by themselves."""
    care: str
    """How to clean it, and what harms it."""

    @property
    def volumetric_J_m3K(self) -> float:
        """Heat capacity of a cubic metre."""
        return self.density_kg_m3.value * self.heat_J_kgK.value


def _memory(value: float, unit: str, spread: float, note: str = "") -> Sourced:
    return Sourced(value, unit, spread, "polymer_tables_memory", Grade.FROM_MEMORY, note=note)


def _table(value: float, unit: str, spread: float, note: str = "") -> Sourced:
    return Sourced(value, unit, spread, "polycarbonate_property_tables", Grade.PUBLISHED, note=note)


def _metal(value: float, unit: str, spread: float) -> Sourced:
    return Sourced(value, unit, spread, "heat_transfer_textbooks", Grade.FROM_MEMORY)


def _assumed(value: float, spread: float) -> Sourced:
    return Sourced(value, "1", spread, "assumed", Grade.ASSUMED)


WALLS: dict[str, Wall] = {
    wall.name: wall
    for wall in (
        Wall(
            "polycarbonate",
            _table(0.20, "W/(m K)", 0.01, "0.19-0.22"),
            _table(1200.0, "kg/m3", 10.0, "1200-1220"),
            _table(1250.0, "J/(kg K)", 30.0, "1200-1300"),
            _table(67.5e-6, "1/K", 2e-6, "65-70e-6"),
            _assumed(1.0, 0.2),
            False,
            "Wash at 50-60 °C at most with a mild agent, rinse, dry fully, polish with cotton; alcohol, acetone and "
            "strong alkali craze it. Never scrape with metal.",
        ),
        Wall(
            "thermoformed",
            _memory(0.20, "W/(m K)", 0.03, "PET, PVC sheet"),
            _memory(1350.0, "kg/m3", 30.0),
            _memory(1150.0, "J/(kg K)", 100.0, "1000-1300"),
            _memory(65e-6, "1/K", 15e-6),
            _assumed(1.2, 0.3),
            True,
            "Rinse lukewarm, below 45 °C, dry with a soft cloth; it warps when hot and scratches easily.",
        ),
        Wall(
            "silicone",
            _memory(0.20, "W/(m K)", 0.03),
            _memory(1150.0, "kg/m3", 30.0, "1100-1200"),
            _memory(1400.0, "J/(kg K)", 70.0, "1300-1500"),
            _memory(280e-6, "1/K", 50e-6),
            _assumed(0.8, 0.2),
            True,
            "Washes hot; keeps smells and colours of what was in it. The surface of the piece is dull.",
        ),
        Wall(
            "steel",
            _metal(15.0, "W/(m K)", 1.0),
            _metal(7900.0, "kg/m3", 50.0),
            _metal(490.0, "J/(kg K)", 10.0),
            _metal(16e-6, "1/K", 1e-6),
            _assumed(1.1, 0.2),
            False,
            "Dry at once, or plain tinned ones rust; polish with cotton, no scouring.",
        ),
    )
}
