"""Lets the command run as `python -m api`."""

from api.cli import main

if __name__ == "__main__":
    main()
