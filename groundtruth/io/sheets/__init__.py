"""Tables that people keep: turn counts, bench counts, stands, spacings, crops."""
