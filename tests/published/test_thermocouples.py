"""Thermocouples through the wiring of a probe, against NIST Monograph 175 / IEC 60584-1 reference tables.

Type T below 0 °C was read in the table on the NIST site; those above 0 °C are recalled
and equal to the reference sheet's four-decimal ones.
"""

import pytest

from bloomless.probes.wiring import Wiring

NIST_mV = {
    ("T", -100): -3.379,
    ("T", -50): -1.819,
    ("T", -40): -1.475,
    ("T", 25): 0.992,
    ("T", 31): 1.2376,
    ("T", 100): 4.279,
    ("K", 25): 1.000,
    ("K", 31): 1.2440,
    ("K", 100): 4.096,
    ("J", 25): 1.277,
    ("J", 31): 1.5887,
    ("J", 100): 5.269,
}


@pytest.mark.parametrize(("point", "millivolt"), NIST_mV.items())
def test_nist_tables(point, millivolt):
    letter, celsius = point
    wiring = Wiring("mV", sensor=f"thermocouple_{letter}", cold_junction_C=0.0)
    # half of the table's last digit at some 40 µV/K, and the error band of NIST's inverse polynomials
    assert wiring.celsius(millivolt) == pytest.approx(celsius, abs=0.05)


def test_a_degree_at_the_terminals_is_a_degree_in_the_reading():
    at_22 = Wiring("mV", sensor="thermocouple_K", cold_junction_C=22.0).celsius(0.365)
    at_23 = Wiring("mV", sensor="thermocouple_K", cold_junction_C=23.0).celsius(0.365)
    assert at_23 - at_22 == pytest.approx(1.0, abs=0.02)
