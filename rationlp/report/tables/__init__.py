"""Every table of the program, one function a table, the same for screen and file."""
