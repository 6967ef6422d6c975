"""Questions that need a farm solved again, with something changed, and the answers compared."""
