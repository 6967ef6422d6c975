"""Stage 7, the command line: parse, call, print. Nothing heavy is imported before it is needed."""

from rationlp.cli.app import console, main

__all__ = ["console", "main"]
