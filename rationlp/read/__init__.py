"""Stage 1: files in, checked frozen objects out. All errors of one run are raised together."""
