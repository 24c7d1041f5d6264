"""Pages with maps, of one run and of a season, that need no network."""
