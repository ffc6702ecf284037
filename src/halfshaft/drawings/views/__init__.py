"""The car from the left, from above and from behind, to one scale."""
