"""Studies: many simulated kitchens, worked by cooks who are advised and cooks who follow a rule, counted and drawn.

Belongs here: the advised cook, one kitchen as a case, running many of them in processes or on a cluster, statistics,
the report.
May import: every inner room. Must never: be imported by the centre, or tune what it measures.
"""

from bloomless.studies.case import COOKS, CaseSpec, run_case
from bloomless.studies.sums import summarise
from bloomless.studies.work import Study, run_study

__all__ = ["COOKS", "CaseSpec", "Study", "run_case", "run_study", "summarise"]
