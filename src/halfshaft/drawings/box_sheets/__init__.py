"""A drawing of each battery box for whoever welds it and whoever fills it."""
