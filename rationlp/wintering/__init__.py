"""The winter's plan: every group in every period as one programme, made practical, certified."""
