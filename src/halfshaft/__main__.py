"""`python -m halfshaft` is the same as `halfshaft`."""

from halfshaft.cli import main

main()
