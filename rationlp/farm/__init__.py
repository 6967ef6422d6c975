"""The farm as checked frozen records: feeds, stores, groups, and the words of their kinds."""
