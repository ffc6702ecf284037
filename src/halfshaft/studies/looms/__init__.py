"""Where every wire runs, how long it is cut, what each loom looks like and how it is laid on a board."""
