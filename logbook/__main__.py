"""``python -m logbook`` is the same door as the ``logbook`` command."""

from logbook.cli import main

if __name__ == "__main__":
    main()
