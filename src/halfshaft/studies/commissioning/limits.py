"""Bands of the commissioning sheet: how far a reading may be from what is computed, and on what basis."""

from __future__ import annotations

from halfshaft.model.finding import Basis, published

METER = Basis("from memory", "a hand-held meter and its leads show up to half an ohm too much")
METER_OHM = 0.5
JOINT = published("a gearbox maker's service manual: 5 milliohm a connection")
COPPER = published("copper by length and section at 20 C, IEC 60028")
CATALOGUE = published("the part's data sheet, in parts/*.toml")
OWN_DATA = published("the unit's data sheet, in hv_insulation.csv")
CIRCUIT = published("circuit theory, Ohm's and Kirchhoff's laws, of the car as described")
TRACED = Basis("common practice", "each plug and cover pulled in turn, the loop opens")
# A closed loop has a few ohms; what a controller has between the ends of an open one is hundreds.
LOOP_OPEN_OHM = 100.0
# Of the sum of the data sheets: below it something is damp, dirty or nicked, long before the regulation's limit.
INSULATION_SHARE = 0.5
INSULATION_HALF = Basis("from memory", "half of what the data sheets add up to is looked into, though the regulation asks for less")
OPEN = Basis("common practice", "1 megohm and over on the ohms range of a multimeter is open")
BATTERY_LOW_V, BATTERY_HIGH_V = 12.4, 13.1
BATTERY = Basis("from memory", "lead-acid battery at rest: 12.4 V has three quarters of its charge, 13.1 V has just been charged")
DROP = Basis("common practice", "the shop's greatest voltage drop, voltage_drop_max_percent, and the battery at three quarters")
SLEEP_SHARE = 0.5
SLEEP = Basis("from memory", "sleeping units differ by half of what their data sheets say")
RESISTOR_SHARE, CAPACITOR_SHARE = 0.05, 0.2
RESISTOR = Basis("common practice", "resistors are within 5 % of their mark")
CAPACITOR = Basis("common practice", "resistors are within 5 %, capacitors within 20 % of their marks")
PACK_BAND = published("the module's data sheet, in modules.toml: cells between empty and full")
CONTACT_TIMES = 2.0
CONTACT = Basis("from memory", "a good contact has at most twice the resistance of its data sheet; a hand-held meter resolves 1 mV")
CONVERTER_V = 0.3
CONVERTER = Basis("from memory", "converters hold their volts within 0.3 V")
TABLE = Basis("common practice", "the shop's own table, output_states.csv")
SETTINGS = Basis("common practice", "the shop's own settings, [high_voltage] in conversion.toml")
