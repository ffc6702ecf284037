"""One direct-current network, for 12 V and high voltage alike: what it is made of, and how it is solved."""
