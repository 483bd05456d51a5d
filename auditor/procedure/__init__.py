"""The visit: what mends the findings of a card, in which order, and what the card is like after it."""
