"""The sentences that a person reads, made from kinds and numbers."""
