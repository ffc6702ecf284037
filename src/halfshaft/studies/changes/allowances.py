"""What a change takes in minutes. All of these are common practice: allowances to plan with, not measured times."""

from __future__ import annotations

BASIS = "common practice, allowances to plan with; a box by the hours that the settings of the arrangement name for one"

ALTER_BOX = 120.0
MOVE_BOX = 60.0
MODULE = 20.0
PLATE = 30.0
BUSBAR = 45.0
JOINT = 10.0
FOOT = 60.0
MADE_PART = 120.0
DEVICE = 60.0
POINT = 15.0
WIRE = 10.0
CABLE = 45.0
HOSE = 20.0
TUBE = 10.0
WIRE_END = 5.0
SPLICE = 10.0
PEG = 2.0
HOLDER = 10.0
NEW_BOARD = 120.0
LABELS = 15.0
TEST_SHEET = 30.0
BOX_TEST = 60.0
