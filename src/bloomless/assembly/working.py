"""The bench itself as what works a bowl."""

from __future__ import annotations

from bloomless.assembly.craft import CraftMaker

__all__ = ["bench_maker"]


def bench_maker() -> CraftMaker:
    """Makes bowls of ``bench.session``."""
    raise NotImplementedError
