"""witnessmark."""
