"""Stage 4: arithmetic on an answer, no linear programme of its own."""
