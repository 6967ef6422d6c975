"""Questions that need several answers: the model is solved again with something changed, and the answers are compared."""
