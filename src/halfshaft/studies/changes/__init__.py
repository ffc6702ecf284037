"""What differs between two descriptions of a car, and what the workshop must do about it, in the order of work."""
