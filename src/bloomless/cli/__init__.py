"""The one command, ``bloomless``.

Belongs here: reading arguments, calling one job, showing its result as text or JSON.
May import: every room. Must never: hold a rule, a formula or a decision.
"""
