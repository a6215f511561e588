"""Kitchens: simulated bowls on other physics than the filter's, with the cook, tools and faults round them.

Belongs here: drawing a kitchen, carrying its true bowl through time, what a cook does to it and sees of it, the
rule-based cooks.
May import: ``errors``, ``quantities``, ``sources``. Must never: share a formula, a table or a line of code with
``physics``, ``materials``, ``estimation`` or ``advice``: it grades them.
"""

from bloomless.kitchens.bowl import Truth
from bloomless.kitchens.doing import carry_out
from bloomless.kitchens.draws import KINDS
from bloomless.kitchens.faults import FAULTS, Fault
from bloomless.kitchens.hands import Hands, Line
from bloomless.kitchens.insight import full_knowledge
from bloomless.kitchens.kitchen import Kitchen, Vessel, draw_kitchen
from bloomless.kitchens.rules import LIMIT_s, Outcome, outcome, practised_hand, taught_rule
from bloomless.kitchens.world import World

__all__ = [
    "FAULTS",
    "KINDS",
    "Fault",
    "Hands",
    "Kitchen",
    "LIMIT_s",
    "Line",
    "Outcome",
    "Truth",
    "Vessel",
    "World",
    "carry_out",
    "draw_kitchen",
    "full_knowledge",
    "outcome",
    "practised_hand",
    "taught_rule",
]
