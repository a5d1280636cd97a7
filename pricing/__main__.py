"""``python -m pricing``: the command line where the command itself is not on the path."""

from pricing.cli import main

if __name__ == "__main__":
    main(prog_name="pricing")
