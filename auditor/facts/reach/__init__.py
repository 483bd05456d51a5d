"""Reach: who can do what to a card, over which channel, with which proof, from where."""
