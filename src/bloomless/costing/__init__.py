"""Costing: what a batch costs and what a piece has to bring.

Belongs here: batch cost, losses, labour, packaging, energy, overhead; price, margin, mark-up, break-even, sensitivity.
May import: ``recipes``, ``materials``, ``sources``, ``quantities``, ``errors``.
Must never: round inside a sum, mix currencies, hide a price that is missing, know a law.
"""

from bloomless.costing.cost import BatchCost, CostLine, Packaging, Terms, batch_cost
from bloomless.costing.sensitivity import PriceRise, Swing, by_batch_size, price_rise, swings

__all__ = [
    "BatchCost",
    "CostLine",
    "Packaging",
    "PriceRise",
    "Swing",
    "Terms",
    "batch_cost",
    "by_batch_size",
    "price_rise",
    "swings",
]
