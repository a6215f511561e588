"""Assembly: the only place that chooses concrete parts: which database, which clock, which thermometers.

Belongs here: settings from the environment and the command line, the opened house, bowls at work and their workers.
May import: the rooms of the rim below it and the whole centre. Must never: hold a rule of food or physics, draw a page.
"""

from bloomless.assembly.house import House, open_house
from bloomless.assembly.places import Places, places

__all__ = ["House", "Places", "open_house", "places"]
