"""What stops when a fuse opens, and where to look when something does not work."""
