"""Bench: the jobs of the day and the ports they need.

Belongs here: start a bowl, take an event, label a lot …, each one plain function or small class, and the Protocols
(book, thermometers, clock, chance, printer) that the rim fulfils.
May import: every inner room. Must never: open a file, read a clock, know a database or a screen.
"""
