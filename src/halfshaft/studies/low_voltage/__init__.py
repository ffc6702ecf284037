"""The 12 V side in every case: volts, currents, supply, relays, ways back, drains."""
