"""Pages in a browser: what people use who know no command line."""
