"""All that people read: words, tables, JSON documents, maps, report, card, terminal."""
