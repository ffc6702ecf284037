"""Commissioning of the electrics: what to measure before and while the finished car is first switched on, and what a bad reading means."""
