"""Stage 6: answers into tables, text, JSON and CSV. Nothing here decides anything."""
