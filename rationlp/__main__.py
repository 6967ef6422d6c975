"""`python -m rationlp`."""

from rationlp.cli import main

if __name__ == "__main__":
    main()
