"""Lets the program run as ``python -m reporter``."""

from reporter.command_line import main

if __name__ == "__main__":
    main()
