"""Stage 4: what a winter's plan risks, and the plan made for the spread of stock and spring."""
