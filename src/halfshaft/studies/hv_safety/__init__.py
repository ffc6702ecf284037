"""High-voltage safety: what keeps people off live parts, and how one proves it with everything dead."""
