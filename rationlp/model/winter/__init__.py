"""The whole winter in one programme: all groups, periods, stores, purchases and outlets. The
entrance is `plan.solve_winter`.
"""
