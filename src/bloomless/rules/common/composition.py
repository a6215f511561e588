"""Sums over a section: components, kinds of substances and what cannot be known, before any law is asked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property

from bloomless.rules.decimals import ZERO
from bloomless.rules.food import Section, Substance, Use

__all__ = ["INCLUSION_KINDS", "Leaf", "Sums", "leaves", "opened", "sums_of"]

INCLUSION_KINDS = frozenset({"nut", "seed", "fruit", "cereal", "bakery", "meat"})
"""Kinds that stand in a chocolate as pieces: the standard binds the chocolate around them."""


@dataclass(frozen=True, slots=True)
class Leaf:
    """A simple substance and the mass of it, compounds opened."""

    substance: Substance
    mass_g: Decimal
    as_liquor: bool = False


def _open(substance: Substance, mass_g: Decimal, as_liquor: bool) -> Iterator[Leaf]:
    if substance.parts:
        for part, share in substance.parts:
            yield from _open(part, mass_g * share, as_liquor)
    else:
        yield Leaf(substance, mass_g, as_liquor)


def leaves(uses: tuple[Use, ...]) -> tuple[Leaf, ...]:
    """Every simple substance of these uses; a compound whose parts nobody knows stays whole."""
    return tuple(leaf for use in uses for leaf in _open(use.substance, use.mass_g, use.as_liquor))


def opened(section: Section) -> Section:
    """The section with every compound opened into its simple substances, alike ones added up."""
    merged: dict[tuple[str, bool], Use] = {}
    for leaf in leaves(section.uses):
        key = (leaf.substance.key, leaf.as_liquor)
        before = merged[key].mass_g if key in merged else ZERO
        merged[key] = Use(substance=leaf.substance, mass_g=before + leaf.mass_g, as_liquor=leaf.as_liquor)
    return replace(section, uses=tuple(merged.values()))


@dataclass(frozen=True)
class Sums:
    """What a section is made of, in g."""

    leaves: tuple[Leaf, ...]
    total_g: Decimal
    fault: str
    """Why the composition is not known, or nothing."""

    @cached_property
    def _by_component(self) -> dict[str, Decimal]:
        found: dict[str, Decimal] = {}
        for leaf in self.leaves:
            for name, share in leaf.substance.components.items():
                found[name] = found.get(name, ZERO) + leaf.mass_g * share
        return found

    @cached_property
    def _by_kind(self) -> dict[str, Decimal]:
        found: dict[str, Decimal] = {}
        for leaf in self.leaves:
            found[leaf.substance.kind] = found.get(leaf.substance.kind, ZERO) + leaf.mass_g
        return found

    def component(self, *names: str) -> Decimal:
        """Mass of components [g]."""
        return sum((self._by_component.get(name, ZERO) for name in names), ZERO)

    def kind(self, *kinds: str) -> Decimal:
        """Mass of substances of these kinds [g]."""
        return sum((self._by_kind.get(kind, ZERO) for kind in kinds), ZERO)

    def component_of(self, kinds: frozenset[str], *names: str) -> Decimal:
        """Mass of components [g] that come from substances of these kinds."""
        return sum(
            (
                leaf.mass_g * leaf.substance.share(n)
                for leaf in self.leaves
                if leaf.substance.kind in kinds
                for n in names
            ),
            ZERO,
        )


def sums_of(section: Section) -> Sums:
    """Sums of one section; a faulty composition is told, not raised."""
    found = leaves(section.uses)
    fault = ""
    for leaf in found:
        if leaf.mass_g > 0 and leaf.substance.composition_fault:
            fault = f"{leaf.substance.key}: {leaf.substance.composition_fault}"
            break
    total = sum((leaf.mass_g for leaf in found), ZERO)
    if not fault and total <= 0:
        fault = f"{section.name or section.role} holds nothing"
    return Sums(found, total, fault)
