"""Estimation: the bowl as a hidden state.

Belongs here: the events of a bench as data, the belief (an ensemble of bowls), how an event changes it, evidence of
thermometer and eye, forecasts, and what a kitchen teaches.
May import: ``physics`` and everything inside it. Must never: advise, read a clock, open a file.
"""
