"""The high-voltage chain: how it is joined, pre-charged, switched, discharged, and what a short drives through it."""
