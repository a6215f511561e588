"""Physics: what heat, crystals and water do in a bowl, a mould and a room.

Belongs here: polymorphs and solid fat, growth and melting, seed pieces, bowl heat balance, mould cooling, contraction,
moist air, flow, and what a thermometer makes of a temperature.
May import: ``materials``, ``numerics`` and everything inside them. Must never: estimate, advise, know a device.
"""
