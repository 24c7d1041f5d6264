"""Values that pass between rooms; no algorithm and no file."""
