"""Rule books: what feeds/ says of limits, cautions, spreads and changes, as records."""
