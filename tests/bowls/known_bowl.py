"""A bowl that is known well: so much form V at such a temperature, for tests of what is advised then."""

from dataclasses import replace

from bloomless.estimation.begin import begin
from bloomless.estimation.events import Composition, Start
from bloomless.physics import rows


def bowl(warm_C=31.3, v=0.015, start=None, members=160, seeded=True):
    """A bowl that holds so much form V, known well."""
    start = start or Start(0.0, Composition("dark"), 800.0, temperature_C=warm_C, room_C=20.5)
    belief = begin(replace(start, temperature_C=warm_C), seed=2, members=members)
    state = belief.ensemble.state.copy()
    state[rows.FORM_V_kg] = v * state[rows.BULK_FAT_kg]
    belief = replace(belief, ensemble=belief.ensemble.with_state(state), backed=True)
    return replace(belief, seeded_at_s=0.0 if seeded else None)
