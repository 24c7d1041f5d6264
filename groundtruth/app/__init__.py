"""Use cases: typed requests in, results out, shared by every front end."""
