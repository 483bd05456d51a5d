"""Rules: the language, its files, and what rules say of a record."""
