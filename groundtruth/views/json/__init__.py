"""Results as JSON documents."""
