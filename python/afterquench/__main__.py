"""`python -m afterquench` is the command line."""

from ._cli import main

main()
