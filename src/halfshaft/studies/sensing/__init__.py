"""Cell sensing: the wires from each module to its sense board, the volts to expect there, and what a filled sheet says."""
