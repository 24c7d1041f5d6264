"""Tables of results."""
