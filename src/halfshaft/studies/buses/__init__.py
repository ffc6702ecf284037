"""CAN buses: how they lie, how they end, what a meter reads on them, and how much is said on them."""
