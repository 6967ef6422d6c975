"""Stage: a question is answered by solving the same model again, with something changed."""
