"""Advice: the next step at the bowl, with its reason and its chance.

Belongs here: what may be asked of a cook, plans compared by rollouts over the belief, what to melt and chop before,
working minutes after, rescue, and the memory that keeps advice from changing its mind at every reading.
May import: ``estimation`` and everything inside it. Must never: read a clock, open a file, believe a cook who said
nothing.
"""

__all__: list[str] = []
