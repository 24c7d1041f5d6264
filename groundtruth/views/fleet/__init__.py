"""What a fleet answers, as sentences, tables, drawings and a page."""
