"""Facts: shutdown."""
