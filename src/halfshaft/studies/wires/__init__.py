"""Is every wire thick enough, fused, and does it end in a terminal that takes it?"""
