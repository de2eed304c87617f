"""Run the command line as ``python -m tailrace.cli``."""

from tailrace.cli.main import main

main()
