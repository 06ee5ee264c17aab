"""``python -m hosewright``."""

from hosewright.cli import main

if __name__ == "__main__":
    main()
