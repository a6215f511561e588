"""``python -m bloomless`` is the command ``bloomless``."""

from bloomless.cli.main import main

if __name__ == "__main__":
    main()
