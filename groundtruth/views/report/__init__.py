"""The report of a run on one sheet."""
