"""Probes: thermometers of every kind that speaks an open standard, and the honest hand.

Belongs here: parsers (pure functions of bytes), the ways in (typed, file, simulated, serial, MQTT, Bluetooth, Modbus,
board, posted), the keeper that times, doubts and reconnects, and finding what is there.
May import: ``bench`` and everything inside it. Must never: correct a reading, invent a unit, show a lost probe's last
value, know a screen or a book.
"""
