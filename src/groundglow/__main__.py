"""``python -m groundglow`` is the command line."""

from groundglow.cli.main import main

if __name__ == "__main__":
    main()
