"""The battery as one circuit: its volts and currents, its bars and joints, and the order in which it is joined up."""
