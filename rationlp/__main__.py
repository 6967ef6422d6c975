"""`python -m rationlp`."""

from rationlp.cli import console

if __name__ == "__main__":
    console()
