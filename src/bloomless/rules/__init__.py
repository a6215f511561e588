"""Rules: food law as data, and the findings it gives about a food and its label.

Belongs here: rules with citation and dates; identity, list of ingredients, allergens, nutrition, net quantity, codes.
May import: ``recipes``, ``materials``, ``sources``, ``quantities``, ``errors``. Must never: raise where a law is broken
(findings are returned), round before comparing, know paper or screens.
"""

from bloomless.rules.law import Law, all_law, law_of
from bloomless.rules.rule import NO_ADVICE, Figure, Finding, Rule, Severity, Status, Table

__all__ = ["NO_ADVICE", "Figure", "Finding", "Law", "Rule", "Severity", "Status", "Table", "all_law", "law_of"]
